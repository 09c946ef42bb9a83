"""Checks on wires and pins: do they meet their ring, and do they pass through bone?

A wire has two clamps, a pin one, at its start. In plan a wire or pin that leaves the plane of a
square ring looks like one that does not: its line, clamps and cortices lie over the same points.
"""

import math
from collections.abc import Iterator

from frames.casefile.bone import Bone
from frames.casefile.partial import NotKnown
from frames.casefile.parts import ENDS, Pin, Ring, Wire, wire_height
from frames.casefile.problems import Problem, plain_number
from frames.casefile.references import missing, ring_of
from frames.casefile.ringchecks import in_opening, opening
from frames.casefile.tables import Tables
from frames.wire_line import Point, bearing_about, meet_circle, side_sign, to_xy, wire_line

Held = Wire | Pin


def _kind(place: str) -> str:
    """ "wire" or "pin", as the part's place begins."""
    return place.partition(" ")[0]


def _on_a_ring(tables: Tables, part: Held, place: str) -> Iterator[Problem]:
    yield from missing(tables, "ring", part.ring, f"{place}, ring")


def _through_bone(tables: Tables, part: Held, place: str) -> Iterator[Problem]:
    radius = tables.bone.outer_mm / 2
    if abs(part.offset_mm) >= radius:
        yield Problem(
            f"{place}, offset_mm",
            f"the {_kind(place)} passes beside the bone: its line must run less than "
            f"{plain_number(radius)} mm (half of outer_mm in [bone]) from the axis",
            part.offset_mm,
            f"more than -{plain_number(radius)}, less than {plain_number(radius)}",
        )


def _square_ring(tables: Tables, part: Held) -> Ring:
    """The ring of a wire or pin; not known when it is tilted: see `tiltchecks`."""
    ring = ring_of(tables, part.ring)
    if ring.tilt_deg != 0.0:
        raise NotKnown("tilt_deg")
    return ring


def _meets(tables: Tables, part: Held, ring: Ring) -> tuple[Point, Point] | None:
    """Where its line meets the hole circle."""
    line = wire_line(side_sign(tables.case.side), part.bearing_deg, part.offset_mm)
    centre = to_xy(side_sign(tables.case.side), ring.centre_mm)
    return meet_circle(line, centre, ring.hole_circle_mm / 2)


def _clamps(place: str, met: tuple[Point, Point]) -> list[tuple[str | None, Point]]:
    """Its clamps, each with the end it is at; a pin has one only."""
    return [(None, met[0])] if _kind(place) == "pin" else list(zip(ENDS, met, strict=True))


def _reaches_clamps(tables: Tables, part: Held, place: str) -> Iterator[Problem]:
    ring = _square_ring(tables, part)
    met = _meets(tables, part, ring)
    circle = (
        f'the hole circle of ring "{part.ring}" (diameter {plain_number(ring.hole_circle_mm)} mm)'
    )
    if met is None:
        said = f"the {_kind(place)}'s line does not meet {circle}"
        yield Problem(f"{place}, ring", said)
        return
    radius = tables.bone.outer_mm / 2
    for end, clamp in _clamps(place, met):
        distance = math.hypot(*clamp)
        if distance <= radius:
            yield Problem(
                f"{place}, ring",
                f"its clamp{f' at the {end}' if end else ''} would be inside the bone: {circle} is "
                f"{plain_number(distance)} mm from the bone axis there, and the bone's outer "
                f"radius is {plain_number(radius)} mm",
            )


def _clamps_on_ring(tables: Tables, part: Held, place: str) -> Iterator[Problem]:
    ring = _square_ring(tables, part)
    sign = side_sign(tables.case.side)
    met = _meets(tables, part, ring)
    if met is None:
        return
    for end, clamp in _clamps(place, met):
        bearing = bearing_about(sign, to_xy(sign, ring.centre_mm), clamp)
        if in_opening(ring, bearing):
            first, last = opening(ring)
            yield Problem(
                f"{place}, bearing_deg",
                f"{f'its {end}' if end else 'it'} would be clamped at {plain_number(bearing)}° "
                f"about the ring's centre, "
                f'but ring "{part.ring}" is open from {plain_number(first)}° to '
                f"{plain_number(last)}°",
                part.bearing_deg,
            )


def where_outside(bone: Bone, level: float) -> str | None:
    """In words where a level lies that is in neither fragment; None inside a fragment."""
    half = bone.gap_mm / 2
    if level >= bone.proximal_end_mm:
        return f"past the proximal end of the bone (at {plain_number(bone.proximal_end_mm)} mm)"
    if level <= bone.distal_end_mm:
        return f"past the distal end of the bone (at {plain_number(bone.distal_end_mm)} mm)"
    if abs(level) <= half:
        return f"in the fracture gap ({plain_number(-half)} to {plain_number(half)} mm)"
    return None


def _in_a_fragment(tables: Tables, part: Held, place: str) -> Iterator[Problem]:
    ring = _square_ring(tables, part)
    bone = tables.bone
    if part.tilt_deg != 0.0:
        raise NotKnown("tilt_deg")  # see `tiltchecks`
    if not bone.distal_end_mm < -bone.gap_mm / 2 < bone.gap_mm / 2 < bone.proximal_end_mm:
        raise NotKnown("fragments")
    height = wire_height(part, ring)
    level = ring.level_mm + height
    where = where_outside(bone, level)
    if where is not None:
        side = "above" if height >= 0 else "below"
        yield Problem(
            place,
            f"it would run at level {plain_number(level)} mm, {where}: ring "
            f'"{part.ring}" is at {plain_number(ring.level_mm)} mm and the {_kind(place)} '
            f"{plain_number(abs(height))} mm {side} its mid-plane",
        )


def _thinner_than_bone(tables: Tables, pin: Pin, place: str) -> Iterator[Problem]:
    outer = tables.bone.outer_mm
    if pin.diameter_mm >= outer:
        yield Problem(
            f"{place}, diameter_mm",
            f"must be less than the bone's outer diameter ({plain_number(outer)})",
            pin.diameter_mm,
            f"less than {plain_number(outer)}",
        )


WIRE_CHECKS = (_on_a_ring, _through_bone, _reaches_clamps, _clamps_on_ring, _in_a_fragment)
PIN_CHECKS = (*WIRE_CHECKS, _thinner_than_bone)
