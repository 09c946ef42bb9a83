"""Checks on wires: does the wire meet its ring, and does it pass through bone?"""

import math
from collections.abc import Iterator

from frames.casefile.partial import NotKnown
from frames.casefile.parts import Ring, Wire, wire_height
from frames.casefile.problems import Problem, plain_number
from frames.casefile.references import missing, ring_of
from frames.casefile.ringchecks import in_opening, opening
from frames.casefile.tables import Bone, Tables
from frames.wire_line import Point, bearing_about, meet_circle, side_sign, to_xy, wire_line


def _on_a_ring(tables: Tables, wire: Wire, place: str) -> Iterator[Problem]:
    yield from missing(tables, "ring", wire.ring, f"{place}, ring")


def _through_bone(tables: Tables, wire: Wire, place: str) -> Iterator[Problem]:
    radius = tables.bone.outer_mm / 2
    if abs(wire.offset_mm) >= radius:
        yield Problem(
            f"{place}, offset_mm",
            f"the wire passes beside the bone: its line must run less than {plain_number(radius)} "
            "mm (half of outer_mm in [bone]) from the axis",
            wire.offset_mm,
            f"more than -{plain_number(radius)}, less than {plain_number(radius)}",
        )


def _clamps(tables: Tables, wire: Wire, ring: Ring) -> tuple[Point, Point] | None:
    line = wire_line(side_sign(tables.case.side), wire.bearing_deg, wire.offset_mm)
    centre = to_xy(side_sign(tables.case.side), ring.centre_mm)
    return meet_circle(line, centre, ring.hole_circle_mm / 2)


def _reaches_clamps(tables: Tables, wire: Wire, place: str) -> Iterator[Problem]:
    ring = ring_of(tables, wire.ring)
    clamps = _clamps(tables, wire, ring)
    circle = (
        f'the hole circle of ring "{wire.ring}" (diameter {plain_number(ring.hole_circle_mm)} mm)'
    )
    if clamps is None:
        yield Problem(f"{place}, ring", f"the wire's line does not meet {circle}")
        return
    radius = tables.bone.outer_mm / 2
    for end, clamp in zip(("start", "end"), clamps, strict=True):
        distance = math.hypot(*clamp)
        if distance <= radius:
            yield Problem(
                f"{place}, ring",
                f"its clamp at the {end} would be inside the bone: {circle} is "
                f"{plain_number(distance)} mm from the bone axis there, and the bone's outer "
                f"radius is {plain_number(radius)} mm",
            )


def _clamps_on_ring(tables: Tables, wire: Wire, place: str) -> Iterator[Problem]:
    ring = ring_of(tables, wire.ring)
    sign = side_sign(tables.case.side)
    clamps = _clamps(tables, wire, ring)
    if clamps is None:
        return
    for end, clamp in zip(("start", "end"), clamps, strict=True):
        bearing = bearing_about(sign, to_xy(sign, ring.centre_mm), clamp)
        if in_opening(ring, bearing):
            first, last = opening(ring)
            yield Problem(
                f"{place}, bearing_deg",
                f"its {end} would be clamped at {plain_number(bearing)}° about the ring's centre, "
                f'but ring "{wire.ring}" is open from {plain_number(first)}° to '
                f"{plain_number(last)}°",
                wire.bearing_deg,
            )


def _where_outside(bone: Bone, level: float) -> str | None:
    """In words where a level lies that is in neither fragment; None inside a fragment."""
    half = bone.gap_mm / 2
    if level >= bone.proximal_end_mm:
        return f"past the proximal end of the bone (at {plain_number(bone.proximal_end_mm)} mm)"
    if level <= bone.distal_end_mm:
        return f"past the distal end of the bone (at {plain_number(bone.distal_end_mm)} mm)"
    if abs(level) <= half:
        return f"in the fracture gap ({plain_number(-half)} to {plain_number(half)} mm)"
    return None


def _in_a_fragment(tables: Tables, wire: Wire, place: str) -> Iterator[Problem]:
    ring = ring_of(tables, wire.ring)
    bone = tables.bone
    if not bone.distal_end_mm < -bone.gap_mm / 2 < bone.gap_mm / 2 < bone.proximal_end_mm:
        raise NotKnown("fragments")
    height = wire_height(wire, ring)
    level = ring.level_mm + height
    where = _where_outside(bone, level)
    if where is not None:
        side = "above" if height >= 0 else "below"
        yield Problem(
            place,
            f"it would run at level {plain_number(level)} mm, {where}: ring "
            f'"{wire.ring}" is at {plain_number(ring.level_mm)} mm and the wire '
            f"{plain_number(abs(height))} mm {side} its mid-plane",
        )


WIRE_CHECKS = (_on_a_ring, _through_bone, _reaches_clamps, _clamps_on_ring, _in_a_fragment)
