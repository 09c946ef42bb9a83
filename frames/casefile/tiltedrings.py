"""Checks on tilted rings and on the rods between them: room for the bone and for each other.

The bore of a ring is a cylinder about its own axis; a bone that goes through it aslant meets the
two faces of the ring in ellipses. Rings are compared at points round their inner edge, outer edge
and the middle between, every two degrees.
"""

import itertools
import math
from collections.abc import Iterator

from frames.casefile.lines import plane_of
from frames.casefile.partial import NotKnown
from frames.casefile.parts import Ring, Rod
from frames.casefile.places import part_place
from frames.casefile.problems import Problem, plain_number
from frames.casefile.references import ring_of
from frames.casefile.tables import Tables
from frames.ring_plane import Vector, apart, dot, hole
from frames.wire_line import side_sign

_STEPS = 180
_ROUND = [2.0 * math.pi * k / _STEPS for k in range(_STEPS)]


def _lets_bone_through(tables: Tables, ring: Ring, place: str) -> Iterator[Problem]:
    bone, inner = tables.bone.outer_mm / 2, ring.inner_diameter_mm / 2
    if ring.tilt_deg == 0.0 or inner - math.hypot(*ring.centre_mm) <= bone:
        return  # square, or told already
    plane = plane_of(ring, side_sign(tables.case.side))
    farthest = 0.0
    for face in (-ring.thickness_mm / 2, ring.thickness_mm / 2):
        for angle in _ROUND:
            x, y = bone * math.cos(angle), bone * math.sin(angle)
            # where this line of the bone's surface pierces the face
            lift = dot(plane.normal, apart((x, y, 0.0), plane.centre)) + face
            own = plane.own((x, y, lift / plane.normal[2]))
            farthest = max(farthest, math.hypot(own[0], own[1]))
    if farthest >= inner:
        yield Problem(
            f"{place}, tilt_deg",
            f"the tilted ring does not go round the bone: aslant, the bone reaches "
            f"{plain_number(farthest)} mm from the ring's axis, and the ring's inner radius is "
            f"{plain_number(inner)} mm",
            ring.tilt_deg,
        )


def _clear_of_others(tables: Tables, ring: Ring, place: str) -> Iterator[Problem]:
    """A tilted ring runs into no other."""
    sign = side_sign(tables.case.side)
    for number, other in enumerate(tables.ring, start=1):
        if other is ring:
            return
        try:
            square = ring.tilt_deg == 0.0 and other.tilt_deg == 0.0
            called = part_place("ring", number, other.name)
            if square or abs(other.level_mm - ring.level_mm) == 0:
                continue  # see `ringchecks`
            if abs(other.level_mm - ring.level_mm) < (other.thickness_mm + ring.thickness_mm) / 2:
                continue
            touch = _touch(ring, other, sign) or _touch(other, ring, sign)
        except NotKnown:
            continue
        if touch:
            yield Problem(
                f"{place}, tilt_deg" if ring.tilt_deg != 0.0 else f"{place}, level_mm",
                f"{called} is in the way of it: tilted as they are, the two rings run into each "
                "other",
                ring.tilt_deg if ring.tilt_deg != 0.0 else ring.level_mm,
            )


def _touch(ring: Ring, other: Ring, sign: float) -> bool:
    """Whether a point of a ring's mid-plane comes nearer to another than half of both
    thicknesses."""
    plane, beside = plane_of(ring, sign), plane_of(other, sign)
    inner = ring.inner_diameter_mm / 2
    bore, rim = other.inner_diameter_mm / 2, other.inner_diameter_mm / 2 + other.width_mm
    needed = (other.thickness_mm + ring.thickness_mm / dot(plane.normal, beside.normal)) / 2
    for radius in (inner, inner + ring.width_mm / 2, inner + ring.width_mm):
        for angle in _ROUND:
            point = plane.in_space(radius * math.cos(angle), radius * math.sin(angle))
            x, y, height = beside.own(point)
            if bore <= math.hypot(x, y) <= rim and abs(height) < needed:
                return True
    return False


def _leaves_rings(tables: Tables, rod: Rod, place: str) -> Iterator[Problem]:
    """A rod between tilted rings goes up from the lower one and comes to the upper one from
    below."""
    names = list(dict.fromkeys(rod.rings))
    rings = [ring_of(tables, name) for name in names]
    if rod.bearings_deg is not None and len(rod.bearings_deg) != len(rod.rings):
        raise NotKnown("bearings_deg")
    if all(r.tilt_deg == 0.0 for r in rings):
        return
    sign = side_sign(tables.case.side)
    order = sorted(zip(names, rings, strict=True), key=lambda pair: pair[1].level_mm)
    for (a, lower), (b, upper) in itertools.pairwise(order):
        if lower.level_mm == upper.level_mm:
            continue  # told already
        way = apart(_hole(rod, a, lower, sign), _hole(rod, b, upper, sign))
        rise = [dot(way, plane_of(r, sign).normal) for r in (lower, upper)]
        if min(rise) <= (lower.thickness_mm + upper.thickness_mm) / 2:
            yield Problem(
                f"{place}, rings",
                f'between its holes in rings "{a}" and "{b}" the rod would rise by '
                f"{plain_number(min(rise))} mm only, measured along a ring's axis: tilted as they "
                "are, there is no room for it",
            )


def _hole(rod: Rod, name: str, ring: Ring, sign: float) -> Vector:
    bearing = rod.bearing_in(name) if rod.bearings_deg is not None else rod.bearing_deg
    if bearing is None:
        raise NotKnown("bearing_deg")
    return hole(plane_of(ring, sign), sign, bearing, ring.hole_circle_mm)


TILTED_RING_CHECKS = (_lets_bone_through, _clear_of_others)
TILTED_ROD_CHECKS = (_leaves_rings,)
