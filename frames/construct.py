"""From case file to points in space: where every part attaches.

Axes: x anterior, y towards the patient's left, z proximal; origin at the centre of the gap on the
bone axis; mm.  Wires and pins: ``frames.hold_places``; a ring's nodes: ``frames.ring_nodes``. Rods
go from hole to hole: one through three rings whose holes are not in line is bent there.
"""

from dataclasses import dataclass

import numpy as np

from frames.casefile import Case
from frames.casefile.lines import plane_of
from frames.casefile.parts import Ring, Rod
from frames.hold_places import FRAGMENTS as FRAGMENTS
from frames.hold_places import STATIONS as STATIONS
from frames.hold_places import (
    Array,
    PinPlace,
    PostPlace,
    WirePlace,
    attachment,
    pin_place,
    wire_place,
)
from frames.ring_nodes import SHARED_SECTION_MM, RingPlace, own_angle, ring_place
from frames.ring_plane import RingPlane, hole
from frames.wire_line import side_sign


@dataclass(frozen=True)
class RodPlace:
    """A rod in space: its rings from distal to proximal and a point (3,) on each."""

    rod: Rod
    rings: tuple[str, ...]
    points: Array


@dataclass(frozen=True)
class Construct:
    """All places of a case.  ``sign``: +1 when medial is +y (right leg), -1 on a left leg."""

    case: Case
    sign: float
    wires: tuple[WirePlace, ...]
    rods: tuple[RodPlace, ...]
    rings: tuple[RingPlace, ...]
    pins: tuple[PinPlace, ...] = ()

    @property
    def holders(self) -> tuple[WirePlace | PinPlace, ...]:
        """What holds the bone: wires, then pins."""
        return (*self.wires, *self.pins)

    @property
    def posts(self) -> tuple[PostPlace, ...]:
        """All posts."""
        return tuple(post for h in self.holders for post in h.posts)

    def ring(self, name: str) -> RingPlace:
        """The place of a ring."""
        return next(r for r in self.rings if r.ring.name == name)


def construct(case: Case) -> Construct:
    """Lay out a checked case."""
    sign = side_sign(case.case.side)
    rings = {r.name: r for r in case.ring}
    planes = {r.name: plane_of(r, sign) for r in case.ring}
    wires = tuple(wire_place(case, w, rings[w.ring], planes[w.ring], sign) for w in case.wire)
    pins = tuple(pin_place(case, p, rings[p.ring], planes[p.ring], sign) for p in case.pin)
    rods = tuple(_rod_place(r, rings, planes, sign) for r in case.rod)
    places = tuple(
        ring_place(r, planes[r.name], sign, _attached(r, planes[r.name], (*wires, *pins), rods))
        for r in case.ring
    )
    return Construct(case, sign, wires, rods, places, pins)


def _rod_place(
    rod: Rod, rings: dict[str, Ring], planes: dict[str, RingPlane], sign: float
) -> RodPlace:
    order = tuple(sorted(rod.rings, key=lambda n: rings[n].level_mm))
    points = [hole(planes[n], sign, rod.bearing_in(n), rings[n].hole_circle_mm) for n in order]
    return RodPlace(rod, order, np.array(points))


def _attached(
    ring: Ring,
    plane: RingPlane,
    holders: tuple[WirePlace | PinPlace, ...],
    rods: tuple[RodPlace, ...],
) -> list[tuple[float, str]]:
    """Angle and name of everything on a ring."""
    found: list[tuple[float, str]] = []
    for h in holders:
        if h.part.ring == ring.name:
            found += [(own_angle(plane, at), name) for name, at in h.clamps.items()]
    for i, r in enumerate(rods):
        for name, point in zip(r.rings, r.points, strict=True):
            if name == ring.name:
                found.append((own_angle(plane, point), attachment(rod_name(i, r), f"in {name}")))
    return found


def rod_name(number: int, place: RodPlace) -> str:
    """A rod's name, unique also when two rods without a name lie alike."""
    return place.rod.name or f"{place.rod.label} ({number + 1})"


def bone_levels(place: Construct, fragment: str) -> tuple[Array, dict[str, int]]:
    """Levels (k,) of a fragment's nodes from gap to end, and name of wire or pin → number of its
    node."""
    bone = place.case.bone
    up = 1.0 if fragment == FRAGMENTS[1] else -1.0
    face, end = bone.gap_mm / 2.0, abs(bone.proximal_end_mm if up > 0 else bone.distal_end_mm)
    own = sorted((up * h.level, h.part.name) for h in place.holders if h.fragment == fragment)
    levels, node_of = [face], {}
    for level, name in own:
        if level - levels[-1] >= SHARED_SECTION_MM:
            levels.append(level)
        node_of[name] = len(levels) - 1
    if end - levels[-1] >= SHARED_SECTION_MM or len(levels) == 1:
        levels.append(end)
    return up * np.array(levels), node_of
