"""Checks on rings: do they go round the bone, and is there room for each?"""

import math
from collections.abc import Iterator

from frames.casefile.partial import NotKnown
from frames.casefile.parts import Ring
from frames.casefile.places import part_place
from frames.casefile.problems import Problem, plain_number
from frames.casefile.tables import Tables

EDGE_DEG = 1e-9  # an attachment at the very end of an open ring still has metal under it


def opening(ring: Ring) -> tuple[float, float]:
    """First and last bearing (degrees, about the ring's centre) of an open ring's opening."""
    half = (360.0 - ring.arc_deg) / 2
    return ring.opening_bearing_deg - half, ring.opening_bearing_deg + half


def in_opening(ring: Ring, bearing_deg: float) -> bool:
    """Whether a bearing about the ring's centre falls in its opening."""
    half = (360.0 - ring.arc_deg) / 2
    return abs(turn(bearing_deg, ring.opening_bearing_deg)) < half - EDGE_DEG


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


def _halves_go_round(tables: Tables, ring: Ring, place: str) -> Iterator[Problem]:
    if ring.halves is not None and ring.arc_deg < 360.0:
        yield Problem(
            f"{place}, halves",
            f"two halves make a full ring, and this one is open (arc_deg = "
            f"{plain_number(ring.arc_deg)}): take out one of the two",
        )


RING_CHECKS = (_holes_in_ring, _goes_round_bone, _own_level, _halves_go_round)
