"""Part against part: rods, posts, wires, pins and rings that come too near to each other.

Parts are round bars (``frames.fitting.bars``) and rings. Those fixed to each other are not
compared: a rod and its rings, a wire, pin or post and its ring, a post and what it carries. Two
wires whose lines meet in the bone run through each other like any other two parts. What two parts
on one ring need of its holes is compared besides: the middles of their fixings, in the ring's
plane, may not stand nearer to each other than two holes, on whichever face they sit, since a bolt
or a rod fills its hole.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from fem.algebra import Array
from frames.construct import Construct, rod_name
from frames.fitting.bars import Bar, called
from frames.fitting.findings import FitProblem
from frames.fitting.segments import (
    ring_at_least,
    ring_nearest,
    rings_nearest,
    segment_nearest,
)
from frames.fitting.skin import polar


@dataclass(frozen=True)
class PartGap:
    """Two parts that are not fixed to each other, the room between their surfaces (mm, negative
    where they run through each other), level and bearing of the place, whether it lies within the
    bone's outer diameter."""

    one: str
    other: str
    gap_mm: float
    bearing_deg: float
    level_mm: float
    in_bone: bool


@dataclass(frozen=True)
class HoleGap:
    """Two fixings on one ring and the distance between their middles, mm."""

    ring: str
    one: str
    other: str
    apart_mm: float


def part_gaps(place: Construct, bars: list[Bar], nearer_than: float = np.inf) -> list[PartGap]:
    """Every pair that is not fixed together and nearer than so many mm, the nearest first; a pair
    of many pieces once. With a limit, what is plainly farther apart is not looked at closely."""
    nearest: dict[tuple[str, str], tuple[float, Array]] = {}
    for one, other, gap, at in (
        *_bars(bars, nearer_than),
        *_bars_rings(place, bars, nearer_than),
        *_rings(place, nearer_than),
    ):
        if gap < nearest.get((one, other), (nearer_than, at))[0]:
            nearest[one, other] = gap, at
    gaps = []
    outer = place.case.bone.outer_mm / 2.0
    for pair, (gap, at) in nearest.items():
        rho, bearing, level = polar(at, place.sign)
        gaps.append(PartGap(*pair, gap, float(bearing), float(level), bool(rho < outer)))
    return sorted(gaps, key=lambda g: g.gap_mm)


_Near = tuple[str, str, float, Array]


def _bars(bars: list[Bar], nearer_than: float) -> Iterator[_Near]:
    pairs = [
        (i, j)
        for (i, one), (j, other) in combinations(enumerate(bars), 2)
        if one.name != other.name
        and other.name not in one.fixed_to
        and one.name not in other.fixed_to
    ]
    if not pairs:
        return
    i, j = np.array(pairs).T
    start, end = (np.array([getattr(b, k) for b in bars]) for k in ("start", "end"))
    radius = np.array([b.radius for b in bars])
    apart, at = segment_nearest(start[i], end[i], start[j], end[j])
    gaps = apart - radius[i] - radius[j]
    for k in np.flatnonzero(gaps < nearer_than).tolist():
        yield bars[i[k]].label, bars[j[k]].label, float(gaps[k]), at[k]


def _bars_rings(place: Construct, bars: list[Bar], nearer_than: float) -> Iterator[_Near]:
    start, end = (np.array([getattr(b, k) for b in bars]) for k in ("start", "end"))
    radius = np.array([b.radius for b in bars])
    for ring in place.rings:
        away = np.array([ring.ring.name not in b.fixed_to for b in bars], dtype=bool)
        if nearer_than < np.inf:
            away &= ring_at_least(ring, start, end) - radius < nearer_than
        near = np.flatnonzero(away)
        if len(near):
            gaps, at = ring_nearest(ring, start[near], end[near])
            for k, n in enumerate(near.tolist()):
                gap = float(gaps[k] - radius[n])
                yield bars[n].label, f"ring {ring.ring.name}", gap, at[k]


def _rings(place: Construct, nearer_than: float) -> Iterator[_Near]:
    if nearer_than <= 0.0:
        return  # the distance of rings that meet is 0
    for one, other in combinations(place.rings, 2):
        gap, at = rings_nearest(one, other)
        yield f"ring {one.ring.name}", f"ring {other.ring.name}", gap, at


def hole_gaps(place: Construct) -> list[HoleGap]:
    """Every two fixings on one ring, the nearest first."""
    found = []
    for ring in place.rings:
        at: list[tuple[str, Array]] = []
        for h in place.holders:
            if h.part.ring == ring.ring.name:
                at += [
                    (name, ring.axes @ (point - ring.centre)) for name, point in h.clamps.items()
                ]
        for i, rod in enumerate(place.rods):
            for name, point in zip(rod.rings, rod.points, strict=True):
                if name == ring.ring.name:
                    at.append((called("rod", rod_name(i, rod)), ring.axes @ (point - ring.centre)))
        for (one, p), (other, q) in combinations(at, 2):
            found.append(HoleGap(ring.ring.name, one, other, float(np.hypot(*(p - q)[:2]))))
    return sorted(found, key=lambda g: g.apart_mm)


def part_problems(
    place: Construct, gaps: list[PartGap], holes: list[HoleGap]
) -> Iterator[FitProblem]:
    """Parts too near, in words."""
    room = place.case.room
    for g in gaps:
        if g.gap_mm >= room.parts_mm:
            break
        if g.gap_mm < 0.0:
            how = f"run through each other by {-g.gap_mm:.1f} mm"
        elif g.gap_mm < 0.05:
            how = f"touch, asked for {room.parts_mm:g} mm"
        else:
            how = f"are {g.gap_mm:.1f} mm apart, asked for {room.parts_mm:g} mm"
        where = "in the bone" if g.in_bone else f"at {g.bearing_deg:.0f}°"
        yield FitProblem(
            "parts too near",
            (g.one, g.other),
            f"{g.one} and {g.other} {how} ({where}, level {g.level_mm:.0f} mm): move one of them "
            "(another hole, face or level).",
        )
    for h in holes:
        if h.apart_mm >= room.hole_spacing_mm:
            break
        yield FitProblem(
            "holes too near",
            (h.ring, h.one, h.other),
            f'ring "{h.ring}": {h.one} and {h.other} stand {h.apart_mm:.1f} mm apart, nearer than '
            f"two holes ({room.hole_spacing_mm:g} mm): turn one of them.",
        )
