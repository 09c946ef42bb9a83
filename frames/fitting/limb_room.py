"""Room between the leg and the rings, wire ends and rods, before and after swelling.

A ring's inner edge runs at half its inner diameter about its centre, over its thickness, in its own
plane (tilted rings, open ones); it is sampled every three degrees on both faces and between them. A
direction is the quarter of the leg to either side of it, seen from the bone axis. Rods and posts
are sampled along their axes: a calf may bulge between two rings.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from fem.algebra import Array
from frames.casefile import Case
from frames.construct import Construct
from frames.fitting.bars import Bar
from frames.fitting.skin import polar, skin_gap
from frames.fracture import SIDES
from frames.limb_outline import Outline, outline_of
from frames.ring_nodes import RingPlace
from frames.wire_line import unit_direction

STEP_DEG = 3.0
STEPS_ALONG = 16
"""Pieces into which a rod or a post is divided."""


@dataclass(frozen=True)
class RingRoom:
    """Smallest gap between a ring and the leg in one direction, mm, as measured and swollen; asked:
    for the swollen leg; bearing and level of the narrowest place of the swollen leg. None where the
    leg was not measured there, or where an open ring has no part there. measured: everywhere in
    this direction."""

    ring: str
    direction: str
    now_mm: float | None
    swollen_mm: float | None
    asked_mm: float
    bearing_deg: float | None
    level_mm: float | None
    measured: bool


@dataclass(frozen=True)
class EndRoom:
    """Gap between the leg and a clamp of a wire or pin, mm; None where it was not measured."""

    part: str
    end: str
    now_mm: float | None
    swollen_mm: float | None
    asked_mm: float


@dataclass(frozen=True)
class BarRoom:
    """Smallest gap between the leg and a rod or post where the leg was measured, mm; where."""

    part: str
    direction: str
    now_mm: float
    swollen_mm: float
    asked_mm: float
    bearing_deg: float
    level_mm: float


def asked_for(case: Case) -> dict[str, float]:
    """Room asked for between the swollen leg and a ring, by direction, mm."""
    room = case.room
    sides = {"anterior": room.front_mm, "posterior": room.back_mm}
    return {side: sides.get(side, room.side_mm) for side in SIDES}


def inner_edge(place: RingPlace, sign: float) -> Array:
    """(3 k, 3) points of a ring's inner edge: distal face, middle, proximal face."""
    ring = place.ring
    if ring.arc_deg < 360.0:
        start = ring.opening_bearing_deg + 180.0 - ring.arc_deg / 2.0
        bearings = np.linspace(start, start + ring.arc_deg, int(ring.arc_deg / STEP_DEG) + 2)
    else:
        bearings = np.arange(0.0, 360.0, STEP_DEG)
    way = np.array([unit_direction(sign, b) for b in bearings.tolist()])
    flat = np.column_stack([way * ring.inner_diameter_mm / 2.0, np.zeros(len(way))])
    up = np.array([0.0, 0.0, ring.thickness_mm / 2.0])
    # bearings of a tilted ring count in its own axes (e1, sign e2)
    return np.asarray(np.concatenate([flat - up, flat, flat + up]) @ place.axes + place.centre)


def _both(case: Case) -> tuple[Outline, Outline] | None:
    now, swollen = (outline_of(case, swollen=s) for s in (False, True))
    return None if now is None or swollen is None else (now, swollen)


def ring_rooms(place: Construct) -> tuple[RingRoom, ...]:
    """Every ring in every direction; none without a measured leg."""
    legs = _both(place.case)
    if legs is None or not place.rings:
        return ()
    asked = asked_for(place.case)
    edges = [inner_edge(ring, place.sign) for ring in place.rings]
    points, cuts = np.concatenate(edges), np.cumsum([len(e) for e in edges])[:-1]
    gaps = np.array([skin_gap(leg, points, place.sign) for leg in legs])
    return tuple(
        room
        for ring, edge, own in zip(place.rings, edges, np.split(gaps, cuts, axis=1), strict=True)
        for room in _of_ring(ring, polar(edge, place.sign), own, asked)
    )


def _of_ring(
    ring: RingPlace, at: tuple[Array, Array, Array], gaps: Array, asked: dict[str, float]
) -> Iterator[RingRoom]:
    _, bearing, level = at
    now, swollen = gaps
    for side, middle in SIDES.items():
        here = np.flatnonzero(_off(bearing, middle) <= 45.0 + 1e-9)
        known = here[np.isfinite(swollen[here])]
        measured = len(known) == len(here)
        name = ring.ring.name
        if not len(known):
            yield RingRoom(name, side, None, None, asked[side], None, None, measured)
            continue
        worst = known[swollen[known].argmin()]
        yield RingRoom(
            name,
            side,
            float(now[known].min()),
            float(swollen[worst]),
            asked[side],
            float(bearing[worst]),
            float(level[worst]),
            measured,
        )


def _off(bearing: Array, middle: float) -> Array:
    return np.asarray(np.abs((bearing - middle + 180.0) % 360.0 - 180.0))


def end_rooms(place: Construct) -> tuple[EndRoom, ...]:
    """Both clamps of every wire, the clamp of every pin; none without a measured leg."""
    legs = _both(place.case)
    if legs is None:
        return ()
    names = [
        (w.wire.name, end, w.stations[k])
        for w in place.wires
        for end, k in (("start", 0), ("end", -1))
    ]
    names += [(p.pin.name, "clamp", p.stations[0]) for p in place.pins]
    points = np.array([at for _, _, at in names]).reshape(-1, 3)
    before, after = (skin_gap(leg, points, place.sign).tolist() for leg in legs)
    return tuple(
        EndRoom(part, end, _known(a), _known(b), place.case.room.wire_end_mm)
        for (part, end, _), a, b in zip(names, before, after, strict=True)
    )


def bar_rooms(place: Construct, bars: list[Bar]) -> tuple[BarRoom, ...]:
    """Rods and posts, each at its narrowest place, the narrowest first; none without a measured
    leg or beyond it. A piece of a rod that goes through several rings counts with its rod."""
    legs, own = _both(place.case), [b for b in bars if b.kind in ("rod", "post")]
    if legs is None or not own:
        return ()
    asked = asked_for(place.case)
    t = np.linspace(0.0, 1.0, STEPS_ALONG + 1)[:, None]
    points = np.concatenate([b.start + t * (b.end - b.start) for b in own])
    radius = np.repeat([b.radius for b in own], len(t))
    now, swollen = (skin_gap(leg, points, place.sign) - radius for leg in legs)
    _, bearing, level = polar(points, place.sign)
    nearest: dict[str, BarRoom] = {}
    for i in np.flatnonzero(np.isfinite(swollen)):
        name = own[i // len(t)].label
        if name not in nearest or swollen[i] < nearest[name].swollen_mm:
            side = min(SIDES, key=lambda s: float(_off(bearing[i], SIDES[s])))
            nearest[name] = BarRoom(
                part=name,
                direction=side,
                now_mm=float(now[i]),
                swollen_mm=float(swollen[i]),
                asked_mm=asked[side],
                bearing_deg=float(bearing[i]),
                level_mm=float(level[i]),
            )
    return tuple(sorted(nearest.values(), key=lambda b: b.swollen_mm))


def _known(value: float) -> float | None:
    return None if np.isnan(value) else value
