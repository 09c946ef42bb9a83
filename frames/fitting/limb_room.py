"""Room between the leg and the rings and wire ends, in each direction, before and after swelling.

A ring's inner edge runs at half its inner diameter about its centre, over its thickness, in its own
plane (tilted rings, open ones); it is sampled every two degrees on both faces. A direction is the
quarter of the leg to either side of it, seen from the bone axis.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from fem.algebra import Array
from frames.casefile import Case
from frames.construct import Construct
from frames.fitting.findings import FitProblem
from frames.fitting.skin import polar, skin_gap
from frames.fracture import SIDES
from frames.limb_outline import Outline, outline_of
from frames.ring_nodes import RingPlace
from frames.wire_line import unit_direction

STEP_DEG = 2.0


@dataclass(frozen=True)
class RingRoom:
    """Smallest gap between a ring and the leg in one direction, mm, as measured and swollen; asked:
    for the swollen leg; bearing and level of the narrowest place of the swollen leg. None where the
    leg was not measured there, or where an open ring has no part there."""

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


def asked_for(case: Case) -> dict[str, float]:
    """Room asked for between the swollen leg and a ring, by direction, mm."""
    room = case.room
    sides = {"anterior": room.front_mm, "posterior": room.back_mm}
    return {side: sides.get(side, room.side_mm) for side in SIDES}


def inner_edge(place: RingPlace, sign: float) -> Array:
    """(2 k, 3) points of a ring's inner edge, distal face first."""
    ring = place.ring
    if ring.arc_deg < 360.0:
        half = ring.arc_deg / 2.0
        start = ring.opening_bearing_deg + 180.0 - half
        bearings = np.linspace(start, start + ring.arc_deg, int(ring.arc_deg / STEP_DEG) + 1)
    else:
        bearings = np.arange(0.0, 360.0, STEP_DEG)
    way = np.array([unit_direction(sign, b) for b in bearings.tolist()])
    flat = np.column_stack([way * ring.inner_diameter_mm / 2.0, np.zeros(len(way))])
    up = np.array([0.0, 0.0, ring.thickness_mm / 2.0])
    faces = [flat - up, flat + up]
    return np.asarray(np.concatenate(faces) @ place.axes + place.centre)


def ring_rooms(place: Construct) -> tuple[RingRoom, ...]:
    """Every ring in every direction; none without a measured leg."""
    now, swollen = (outline_of(place.case, swollen=s) for s in (False, True))
    if now is None or swollen is None:
        return ()
    asked = asked_for(place.case)
    return tuple(
        room for ring in place.rings for room in _of_ring(ring, place.sign, now, swollen, asked)
    )


def _of_ring(
    ring: RingPlace, sign: float, now: Outline, swollen: Outline, asked: dict[str, float]
) -> Iterator[RingRoom]:
    edge = inner_edge(ring, sign)
    _, bearing, level = polar(edge, sign)
    gaps = skin_gap(now, edge, sign), skin_gap(swollen, edge, sign)
    for side, middle in SIDES.items():
        off = np.abs((bearing - middle + 180.0) % 360.0 - 180.0)
        here = np.flatnonzero(off <= 45.0)
        known = here[np.isfinite(gaps[1][here])]
        measured = len(known) == len(here)
        if not len(known):
            yield RingRoom(ring.ring.name, side, None, None, asked[side], None, None, measured)
            continue
        worst = known[gaps[1][known].argmin()]
        yield RingRoom(
            ring.ring.name,
            side,
            float(gaps[0][known].min()),
            float(gaps[1][worst]),
            asked[side],
            float(bearing[worst]),
            float(level[worst]),
            measured,
        )


def end_rooms(place: Construct) -> tuple[EndRoom, ...]:
    """Both clamps of every wire, the clamp of every pin; none without a measured leg."""
    now, swollen = (outline_of(place.case, swollen=s) for s in (False, True))
    if now is None or swollen is None:
        return ()
    asked = place.case.room.wire_end_mm
    names = [
        (w.wire.name, end, w.stations[k])
        for w in place.wires
        for end, k in (("start", 0), ("end", -1))
    ]
    names += [(p.pin.name, "clamp", p.stations[0]) for p in place.pins]
    points = np.array([at for _, _, at in names]).reshape(-1, 3)
    before = skin_gap(now, points, place.sign).tolist()
    after = skin_gap(swollen, points, place.sign).tolist()
    return tuple(
        EndRoom(part, end, _known(a), _known(b), asked)
        for (part, end, _), a, b in zip(names, before, after, strict=True)
    )


def _known(value: float) -> float | None:
    return None if np.isnan(value) else value


def room_problems(rings: tuple[RingRoom, ...], ends: tuple[EndRoom, ...]) -> Iterator[FitProblem]:
    """Too little room, in words."""
    for r in rings:
        if not r.measured:
            yield FitProblem(
                "leg not measured",
                (r.ring, r.direction),
                f'ring "{r.ring}", {r.direction}: the leg was not measured at its level; add a '
                "[[limb]] there.",
            )
        if r.swollen_mm is not None and r.swollen_mm < r.asked_mm:
            yield FitProblem(
                "ring near the leg",
                (r.ring, r.direction),
                f'ring "{r.ring}", {r.direction}: {_room(r.swollen_mm)} from the swollen leg '
                f"(now {r.now_mm:.0f} mm), asked for {r.asked_mm:g} mm. A larger ring, or its "
                "centre moved that way (centre_mm), makes room.",
            )
    for e in ends:
        if e.swollen_mm is None:
            yield FitProblem(
                "leg not measured",
                (e.part, e.end),
                f'"{e.part}", {e.end}: the leg was not measured at its level; add a [[limb]].',
            )
        elif e.swollen_mm < e.asked_mm:
            yield FitProblem(
                "clamp near the leg",
                (e.part, e.end),
                f'"{e.part}", {e.end}: its clamp is {_room(e.swollen_mm)} from the swollen leg, '
                f"asked for {e.asked_mm:g} mm.",
            )


def _room(gap: float) -> str:
    return f"{gap:.0f} mm" if gap >= 0.0 else f"{-gap:.0f} mm inside, not clear"
