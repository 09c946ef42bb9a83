"""From which frames of the grid to go on: good ones that are not the same frame over again."""

from itertools import pairwise

from frames.searching.coarse import Solved, Stage
from frames.searching.layout import Layout, turn_deg

ALIKE_DEG = 2.0
"""Frames whose bearings differ by no more count as the same."""


def arrangement(layout: Layout) -> tuple[object, ...]:
    """What a small turn of wires does not change: their rings and faces and, of two on a ring,
    which way the second is turned from the first."""
    found: list[object] = [w.slot for w in layout]
    for one, other in pairwise(layout):
        if one.ring == other.ring:
            found.append(turn_deg(one.bearing_deg, other.bearing_deg) > 0.0)
    return tuple(found)


def apart_deg(one: Layout, other: Layout) -> float:
    """The largest angle between wires of two frames that lie in the same place; infinite when they
    have other places."""
    if [w.slot for w in one] != [w.slot for w in other]:
        return float("inf")
    pairs = zip(one, other, strict=True)
    return max((abs(turn_deg(a.bearing_deg, b.bearing_deg)) for a, b in pairs), default=0.0)


def same(one: Layout, other: Layout) -> bool:
    """Hardly a different frame."""
    return apart_deg(one, other) <= ALIKE_DEG


def starts_of(stage: Stage, count: int, apart: float) -> list[Solved]:
    """The best of each arrangement, best first; where there are too few, others at least so many
    degrees apart from all of these."""
    chosen: dict[object, Solved] = {}
    for one in stage.best:
        chosen.setdefault(arrangement(one.layout), one)
    starts = list(chosen.values())[:count]
    for one in stage.best:
        if len(starts) >= count:
            break
        if all(apart_deg(one.layout, s.layout) >= apart for s in starts):
            starts.append(one)
    return starts
