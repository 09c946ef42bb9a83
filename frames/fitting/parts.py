"""Part against part: rods, posts, wires, pins and rings that come too near to each other.

Rods, posts, wires and pins are round straight bars from fixing to fixing (what rods and wires
stand out beyond it is left out). A threaded rod is as thick as its nominal diameter. Parts that are
fixed to each other are not compared: a rod and its rings, a wire, pin or post and its ring, a post
and what it carries. What two parts on one ring need of its holes is compared instead: their
fixings may not stand nearer to each other than two holes, unless they lie in line along one bolt.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from fem.algebra import Array
from frames.construct import Construct, RodPlace, rod_name
from frames.fitting.findings import FitProblem
from frames.fitting.segments import ring_distance, segment_distance


@dataclass(frozen=True)
class Bar:
    """A round bar: name and kind of its part, names it is fixed to, ends, radius (mm)."""

    name: str
    kind: str
    fixed_to: frozenset[str]
    start: Array
    end: Array
    radius: float


@dataclass(frozen=True)
class PartGap:
    """Two parts that are not fixed to each other, and the room between their surfaces, mm; negative
    where they run through each other."""

    one: str
    other: str
    gap_mm: float


def bars_of(place: Construct) -> list[Bar]:
    """All bars of a frame, a rod's pieces one by one."""
    bars = []
    for i, rod in enumerate(place.rods):
        name, ends = rod_name(i, rod), frozenset(rod.rings)
        for a, b in pairwise(rod.points):
            bars.append(Bar(name, "rod", ends, a, b, _rod_diameter(rod) / 2.0))
    for wire in place.wires:
        own = frozenset({wire.wire.ring, *(p.name for p in wire.posts)})
        start, *_, end = wire.stations
        bars.append(Bar(wire.wire.name, "wire", own, start, end, wire.wire.diameter_mm / 2.0))
    for pin in place.pins:
        own = frozenset({pin.pin.ring, *(p.name for p in pin.posts)})
        start, *_, end = pin.stations
        bars.append(Bar(pin.pin.name, "half-pin", own, start, end, pin.pin.diameter_mm / 2.0))
    for holder in place.holders:
        for post in holder.posts:
            own = frozenset({holder.part.ring, holder.part.name})
            foot, top = post.points
            bars.append(Bar(post.name, "post", own, foot, top, post.diameter_mm / 2.0))
    return bars


def _rod_diameter(rod: RodPlace) -> float:
    thread = rod.rod.thread
    return float(thread[1:]) if thread is not None else rod.rod.effective_diameter_mm


def part_gaps(place: Construct) -> list[PartGap]:
    """Every pair that is not fixed together, the nearest first; a pair of many pieces once."""
    bars = bars_of(place)
    if not bars:
        return []
    start = np.array([b.start for b in bars])
    end = np.array([b.end for b in bars])
    radius = np.array([b.radius for b in bars])
    apart = segment_distance(start[:, None], end[:, None], start[None], end[None])
    apart = apart - radius[:, None] - radius[None]
    nearest: dict[tuple[str, str], float] = {}
    for i, one in enumerate(bars):
        for j in range(i + 1, len(bars)):
            other = bars[j]
            if one.name == other.name or other.name in one.fixed_to or one.name in other.fixed_to:
                continue
            pair = (one.name, other.name)
            nearest[pair] = min(nearest.get(pair, np.inf), float(apart[i, j]))
    for ring in place.rings:
        away = [k for k, b in enumerate(bars) if ring.ring.name not in b.fixed_to]
        if away:
            gaps = ring_distance(ring, start[away], end[away]) - radius[away]
            for k, gap in zip(away, gaps.tolist(), strict=True):
                pair = (bars[k].name, f"ring {ring.ring.name}")
                nearest[pair] = min(nearest.get(pair, np.inf), gap)
    return sorted((PartGap(*pair, gap) for pair, gap in nearest.items()), key=lambda g: g.gap_mm)


def hole_gaps(place: Construct) -> list[PartGap]:
    """Distance between the middles of every two fixings on one ring, in its plane, mm; the nearest
    first."""
    found = []
    for ring in place.rings:
        at: list[tuple[str, float, float]] = []
        for h in place.holders:
            if h.part.ring == ring.ring.name:
                at += [
                    (name, *_own(ring.axes, point - ring.centre))
                    for name, point in h.clamps.items()
                ]
        for i, rod in enumerate(place.rods):
            for name, point in zip(rod.rings, rod.points, strict=True):
                if name == ring.ring.name:
                    at.append((rod_name(i, rod), *_own(ring.axes, point - ring.centre)))
        for i, (one, x, y) in enumerate(at):
            for other, u, v in at[i + 1 :]:
                found.append(PartGap(one, other, float(np.hypot(u - x, v - y))))
    return sorted(found, key=lambda g: g.gap_mm)


def _own(axes: Array, arm: Array) -> tuple[float, float]:
    return float(arm @ axes[0]), float(arm @ axes[1])


def part_problems(
    place: Construct, gaps: list[PartGap], holes: list[PartGap]
) -> Iterator[FitProblem]:
    """Parts too near, in words."""
    room = place.case.room
    for g in gaps:
        if g.gap_mm >= room.parts_mm:
            break
        how = (
            f"run through each other by {-g.gap_mm:.1f} mm"
            if g.gap_mm < 0.0
            else f"are {g.gap_mm:.1f} mm apart, asked for {room.parts_mm:g} mm"
        )
        yield FitProblem(
            "parts too near",
            (g.one, g.other),
            f"{g.one} and {g.other} {how}: move one of them (another hole, face or level).",
        )
    for g in holes:
        if g.gap_mm >= room.hole_spacing_mm:
            break
        yield FitProblem(
            "holes too near",
            (g.one, g.other),
            f"{g.one} and {g.other} stand {g.gap_mm:.1f} mm apart on one ring, nearer than two "
            f"holes ({room.hole_spacing_mm:g} mm): turn one of them.",
        )
