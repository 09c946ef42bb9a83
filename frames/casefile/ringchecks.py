"""Checks on rings (do they go round the bone?) and rods (do they join rings?)."""

import math
from collections.abc import Iterator

from frames.casefile.partial import NotKnown
from frames.casefile.parts import Ring, Rod
from frames.casefile.places import part_place
from frames.casefile.problems import Problem, plain_number
from frames.casefile.references import missing, ring_of
from frames.casefile.tables import Tables

_EDGE_DEG = 1e-9  # an attachment at the very end of an open ring still has metal under it


def opening(ring: Ring) -> tuple[float, float]:
    """First and last bearing (degrees, about the ring's centre) of an open ring's opening."""
    half = (360.0 - ring.arc_deg) / 2
    return ring.opening_bearing_deg - half, ring.opening_bearing_deg + half


def in_opening(ring: Ring, bearing_deg: float) -> bool:
    """Whether a bearing about the ring's centre falls in its opening."""
    half = (360.0 - ring.arc_deg) / 2
    return abs(turn(bearing_deg, ring.opening_bearing_deg)) < half - _EDGE_DEG


def turn(bearing_deg: float, other_deg: float) -> float:
    """Angle from one bearing to another, -180 to 180 degrees."""
    return math.remainder(other_deg - bearing_deg, 360.0)


def _holes_in_ring(tables: Tables, ring: Ring, place: str) -> Iterator[Problem]:
    inner = ring.inner_diameter_mm
    outer = inner + 2 * ring.width_mm
    if not inner <= ring.hole_circle_mm <= outer:
        limits = f"{plain_number(inner)} to {plain_number(outer)}"
        yield Problem(
            f"{place}, hole_circle_mm",
            f"must lie on the ring, between its inner and outer diameter ({limits})",
            ring.hole_circle_mm,
            limits,
        )


def _goes_round_bone(tables: Tables, ring: Ring, place: str) -> Iterator[Problem]:
    off_centre = math.hypot(*ring.centre_mm)
    room, needed = ring.inner_diameter_mm / 2 - off_centre, tables.bone.outer_mm / 2
    if room <= needed:
        yield Problem(
            f"{place}, centre_mm" if off_centre > 0 else f"{place}, inner_diameter_mm",
            f"the ring does not go round the bone: inner radius "
            f"{plain_number(ring.inner_diameter_mm / 2)} mm less {plain_number(off_centre)} mm "
            f"off centre leaves {plain_number(room)} mm, and the bone's outer radius is "
            f"{plain_number(needed)} mm",
        )


def _own_level(tables: Tables, ring: Ring, place: str) -> Iterator[Problem]:
    """No other ring is where this one is (one ring may lie inside another)."""
    for number, other in enumerate(tables.ring, start=1):
        if other is ring:
            return
        try:
            apart = abs(other.level_mm - ring.level_mm)
            called = part_place("ring", number, other.name)
            if apart == 0:
                said = f"{called} is at the same level"
                yield Problem(f"{place}, level_mm", said, ring.level_mm)
                continue
            needed = (other.thickness_mm + ring.thickness_mm) / 2
            nested = _lies_inside(ring, other) or _lies_inside(other, ring)
        except NotKnown:
            continue
        if apart < needed and not nested:
            yield Problem(
                f"{place}, level_mm",
                f"{called} is in the way: their middles are {plain_number(apart)} mm apart, and "
                f"half of both thicknesses is {plain_number(needed)} mm",
                ring.level_mm,
            )


def _lies_inside(small: Ring, large: Ring) -> bool:
    shift = math.dist(small.centre_mm, large.centre_mm)
    return small.inner_diameter_mm / 2 + small.width_mm + shift <= large.inner_diameter_mm / 2


def _joins_rings(tables: Tables, rod: Rod, place: str) -> Iterator[Problem]:
    for name in dict.fromkeys(rod.rings):
        yield from missing(tables, "ring", name, f"{place}, rings")


def _joins_different_rings(tables: Tables, rod: Rod, place: str) -> Iterator[Problem]:
    for name in dict.fromkeys(rod.rings):
        if rod.rings.count(name) > 1:
            yield Problem(f"{place}, rings", f'ring "{name}" is named more than once')


def _has_length(tables: Tables, rod: Rod, place: str) -> Iterator[Problem]:
    names = list(dict.fromkeys(rod.rings))
    for i, name in enumerate(names):
        for other in names[:i]:
            level = ring_of(tables, name).level_mm
            if ring_of(tables, other).level_mm == level:
                yield Problem(
                    f"{place}, rings",
                    f'rings "{other}" and "{name}" are at the same level '
                    f"({plain_number(level)} mm): a rod between them has no length",
                )


def _rod_on_ring(tables: Tables, rod: Rod, place: str) -> Iterator[Problem]:
    for name in dict.fromkeys(rod.rings):
        ring = ring_of(tables, name)
        if in_opening(ring, rod.bearing_deg):
            first, last = opening(ring)
            yield Problem(
                f"{place}, bearing_deg",
                f'there is no hole there: ring "{name}" is open from '
                f"{plain_number(first)}° to {plain_number(last)}°",
                rod.bearing_deg,
            )


def _own_hole(tables: Tables, rod: Rod, place: str) -> Iterator[Problem]:
    for number, other in enumerate(tables.rod, start=1):
        if other is rod:
            return
        try:
            shared = [name for name in rod.rings if name in other.rings]
            same = len(shared) > 1 and abs(turn(rod.bearing_deg, other.bearing_deg)) < _EDGE_DEG
            name = other.name
        except NotKnown:
            continue
        if same:
            yield Problem(
                f"{place}, bearing_deg",
                f"{part_place('rod', number, name)} already joins rings "
                f'"{shared[0]}" and "{shared[1]}" at this bearing',
                rod.bearing_deg,
            )


RING_CHECKS = (_holes_in_ring, _goes_round_bone, _own_level)
ROD_CHECKS = (_joins_rings, _joins_different_rings, _has_length, _rod_on_ring, _own_hole)
