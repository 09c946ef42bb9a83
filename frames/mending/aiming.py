"""How far to go along a group of numbers so that a target is just met, and trying it.

The derivative gives the first guess; a whole check tells what comes of it. Where that falls short
or goes too far, one step of the secant between the frame as it is and the one tried follows. Both
stay within the limits of the group.
"""

from collections.abc import Callable, Iterator

from frames.casefile import Case, CaseError
from frames.mending.groups import Group
from frames.mending.parameters import moved
from frames.mending.trials import Bench, Trial
from frames.result import Result
from frames.result_parts import TargetResult

BEYOND = 1.002
"""So much further than just met, that rounding and what bends leave it met."""

LEAST_GAIN = 0.02
"""Moves that by their derivative close less of the gap than this are not tried."""

Solved = Callable[[Case], Result | None]


def aimed(
    bench: Bench, number: int, group: Group, slope: float, also: Callable[[Trial], bool]
) -> Trial | None:
    """The trial of a group aimed at a missed target, given the slope of its value along the group;
    None where it does not help, is not allowed or cannot be solved. also: whether a trial is good
    enough without the secant step."""
    target = bench.result.targets[number]
    wanted = _bound(target) - target.value
    wanted *= BEYOND if abs(wanted) > 0.0 else 1.0
    if slope == 0.0 or wanted == 0.0:
        return None
    way = _clipped(group, wanted / slope)
    if way * slope / wanted < LEAST_GAIN:
        return None
    first = _tried(bench, group, way)
    if first is None:
        return None
    trial, gained = first[0], first[1].targets[number].value - target.value
    if also(trial) or gained == 0.0 or gained / wanted < LEAST_GAIN / 10.0:
        return trial
    again = _clipped(group, way * wanted / gained)
    if abs(again - way) < 1e-3 * abs(way):
        return trial
    second = _tried(bench, group, again)
    if second is None:
        return trial
    return max((trial, second[0]), key=lambda t: t.told.gain)


def _bound(target: TargetResult) -> float:
    low, high = target.at_least, target.at_most
    if low is not None and target.value < low:
        return low
    assert high is not None
    return high


def _clipped(group: Group, way: float) -> float:
    return min(max(way, group.low - group.start), group.high - group.start)


def _tried(bench: Bench, group: Group, way: float) -> tuple[Trial, Result] | None:
    if way == 0.0:
        return None
    try:
        case = moved(bench.case, {p: way * w for p, w in group.weights.items()})
    except CaseError:
        return None
    result = bench.result_of(case)
    if result is None:
        return None
    words = group.change, group.shown(group.start), group.shown(group.start + way)
    return bench.trial(words, "continuous", case, result), result


def missed(result: Result) -> Iterator[int]:
    """Numbers of the targets that are missed."""
    return (i for i, t in enumerate(result.targets) if not t.meets)
