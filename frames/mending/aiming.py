"""How far to go along a group of numbers so that a target is just met, and trying it.

The derivative gives the first guess; the frame solved anew tells what comes of it. Where that falls
short, steps of the secant through the last two frames follow. Each guess is rounded away from where
the frame is to an amount that can be set by hand, and stays within the limits of the group.
"""

from collections.abc import Sequence

from frames.casefile import CaseError
from frames.mending.groups import Group
from frames.mending.parameters import moved
from frames.mending.trials import Bench, Trial
from frames.result_parts import TargetResult

LEAST_GAIN = 0.02
"""Moves that by their derivative close less of what is missing than this are not tried."""

MOST_TRIES = 3


def aimed(bench: Bench, number: int, group: Group, slope: float) -> Trial | None:
    """The best trial of a group aimed at a missed target, given the slope of its value along the
    group; None where it does not help, is not allowed or cannot be solved."""
    target = bench.targets[number]
    wanted = _bound(target) - target.value
    if slope == 0.0 or group.rounded(wanted / slope) * slope / wanted < LEAST_GAIN:
        return None
    best: Trial | None = None
    at, gained = 0.0, 0.0
    for _ in range(MOST_TRIES):
        way = group.rounded(at + (wanted - gained) / slope)
        if abs(way - at) < 1e-9:
            break
        trial = _tried(bench, group, way)
        if trial is None:
            break
        best = trial if best is None or trial.told.gain > best.told.gain else best
        new = trial.told.values[number] - target.value
        if new / wanted >= 1.0 or new == gained:
            break
        slope, at, gained = (new - gained) / (way - at), way, new
        if slope / wanted * (1.0 if way > 0.0 else -1.0) <= 0.0:  # it leads no further that way
            break
    return best


def _bound(target: TargetResult) -> float:
    low, high = target.at_least, target.at_most
    if low is not None and target.value < low:
        return low
    assert high is not None
    return high


def _tried(bench: Bench, group: Group, way: float) -> Trial | None:
    try:
        case = moved(bench.case, {p: way * w for p, w in group.weights.items()})
    except CaseError:
        return None
    words = group.change, group.shown(group.start), group.shown(group.start + way)
    return bench.trial(words, "continuous", case)


def missed(targets: Sequence[TargetResult]) -> tuple[int, ...]:
    """Numbers of the targets that are missed, from 0."""
    return tuple(i for i, t in enumerate(targets) if not t.meets)
