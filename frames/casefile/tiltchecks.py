"""Checks on what does not lie across the bone: wires and pins of tilted rings, tilted wires and
pins, and pins in the wall of the bone.

Wires and pins that lie across the bone: `wirechecks`. A tilted one on a square ring looks the same
in plan, so that its clamps are checked there.
"""

from collections.abc import Iterator

from frames.casefile.bone import Bone
from frames.casefile.lines import named_cortices, places_of, plane_of, wall_mm
from frames.casefile.partial import NotKnown
from frames.casefile.parts import ENDS, Pin, Ring, Wire
from frames.casefile.problems import Problem, plain_number
from frames.casefile.references import ring_of
from frames.casefile.ringchecks import in_opening, opening
from frames.casefile.tables import Tables
from frames.casefile.wirechecks import where_outside
from frames.ring_plane import Vector, apart, dot
from frames.space_line import LinePlaces
from frames.wire_line import bearing_about, side_sign

Held = Wire | Pin


def _kind(place: str) -> str:
    """ "wire" or "pin", as the part's place begins."""
    return place.partition(" ")[0]


def _tilted_ring(tables: Tables, part: Held) -> Ring:
    """Its ring; not known when that is square."""
    ring = ring_of(tables, part.ring)
    if ring.tilt_deg == 0.0:
        raise NotKnown("tilt_deg")
    return ring


def _places(tables: Tables, part: Held, ring: Ring) -> LinePlaces:
    return places_of(part, ring, side_sign(tables.case.side), tables.bone.outer_mm)


def _clamps(place: str, places: LinePlaces) -> list[tuple[str, Vector, int]]:
    """Its clamps, each with what it is called and its number; a pin has one only."""
    if places.clamps is None:
        return []
    if _kind(place) == "pin":
        return [("its clamp", places.clamps[0], 0)]
    return [(f"its clamp at the {end}", places.clamps[k], k) for k, end in enumerate(ENDS)]


def _meets_tilted_ring(tables: Tables, part: Held, place: str) -> Iterator[Problem]:
    ring = _tilted_ring(tables, part)
    if abs(part.offset_mm) >= tables.bone.outer_mm / 2:
        raise NotKnown("offset_mm")  # told already
    places = _places(tables, part, ring)
    if places.cortices is None:  # only where the tilts of ring and line make up a right angle
        yield Problem(
            f"{place}, tilt_deg",
            f'its line runs along the bone and does not go through it: ring "{part.ring}" is '
            f"tilted by {plain_number(ring.tilt_deg)}° already",
            part.tilt_deg,
        )
        return
    circle = (
        f'the hole circle of tilted ring "{part.ring}" (diameter '
        f"{plain_number(ring.hole_circle_mm)} mm)"
    )
    if places.clamps is None:
        said = f"the {_kind(place)}'s line does not meet {circle}"
        yield Problem(f"{place}, ring", said)
    for called, clamp, k in _clamps(place, places):
        outward = dot(apart(places.cortices[k], clamp), places.line.direction)
        reach = outward if k == 0 else -outward
        if reach <= 0.0:
            yield Problem(
                f"{place}, ring",
                f"{called} would be inside the bone: {circle} lies "
                f"{plain_number(-reach)} mm behind the bone's surface there",
            )


def _clamps_on_tilted_ring(tables: Tables, part: Held, place: str) -> Iterator[Problem]:
    ring = _tilted_ring(tables, part)
    sign = side_sign(tables.case.side)
    plane = plane_of(ring, sign)
    for called, clamp, _ in _clamps(place, _places(tables, part, ring)):
        x, y, _z = plane.own(clamp)
        bearing = bearing_about(sign, (0.0, 0.0), (x, y))
        if in_opening(ring, bearing):
            first, last = opening(ring)
            yield Problem(
                f"{place}, bearing_deg",
                f"{called} would be at {plain_number(bearing)}° about the ring's centre, but ring "
                f'"{part.ring}" is open from {plain_number(first)}° to {plain_number(last)}°',
                part.bearing_deg,
            )


def _fragments(bone: Bone) -> None:
    if not bone.distal_end_mm < -bone.gap_mm / 2 < bone.gap_mm / 2 < bone.proximal_end_mm:
        raise NotKnown("fragments")


def _cortices_in_a_fragment(tables: Tables, part: Held, place: str) -> Iterator[Problem]:
    ring, bone = ring_of(tables, part.ring), tables.bone
    if ring.tilt_deg == 0.0 and part.tilt_deg == 0.0:
        return
    _fragments(bone)
    sign = side_sign(tables.case.side)
    is_pin = _kind(place) == "pin"
    cortices = named_cortices(part, ring, sign, bone.outer_mm, is_pin=is_pin)
    outside = False
    for called, at in cortices:
        where = where_outside(bone, at[2])
        if where is not None:
            outside = True
            yield Problem(
                place, f"its {called} would be at level {plain_number(at[2])} mm, {where}"
            )
    levels = [at[2] for _, at in cortices]
    if not outside and levels and min(levels) < 0.0 < max(levels):
        first, last = (plain_number(level) for level in levels)
        yield Problem(
            place,
            f"its cortices would lie in two fragments, at levels {first} and {last} mm: it would "
            "cross the fracture; tilt it less or move it along the bone",
        )


def _in_the_wall(tables: Tables, pin: Pin, place: str) -> Iterator[Problem]:
    """A pin reaches the middle of the near cortex's wall, or it would only graze the bone."""
    ring, bone = ring_of(tables, pin.ring), tables.bone
    if bone.inner_mm >= bone.outer_mm or abs(pin.offset_mm) >= bone.outer_mm / 2:
        return  # told already
    sign = side_sign(tables.case.side)
    if places_of(pin, ring, sign, bone.outer_mm).cortices is None:
        return
    middle = bone.outer_mm - wall_mm(bone)
    if places_of(pin, ring, sign, middle).cortices is None:
        limit = plain_number(middle / 2)
        yield Problem(
            f"{place}, offset_mm",
            "the pin would only graze the bone: its line must run less than "
            f"{limit} mm (the middle of the cortex's wall) from the axis",
            pin.offset_mm,
            f"more than -{limit}, less than {limit}",
        )


TILT_CHECKS = (_meets_tilted_ring, _clamps_on_tilted_ring, _cortices_in_a_fragment)
PIN_TILT_CHECKS = (*TILT_CHECKS, _in_the_wall)
