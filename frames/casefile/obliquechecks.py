"""Check that wires and pins keep clear of an oblique fracture.

The fracture plane goes through the middle of the gap and rises with its obliquity γ towards its
bearing β; over a point (x, y) it stands at the level ``tan γ (x, y).(cos β, sign sin β)``. A
fragment begins half the gap above or below that. What holds a fragment has to meet it at every
cortex.
"""

import math
from collections.abc import Iterator

from frames.casefile.bone import Contact
from frames.casefile.lines import named_cortices
from frames.casefile.parts import Pin, Wire
from frames.casefile.problems import Problem, plain_number
from frames.casefile.references import ring_of
from frames.casefile.tables import Tables
from frames.ring_plane import Vector
from frames.wire_line import side_sign, unit_direction


def _level(contact: Contact, sign: float, point: Vector) -> float:
    """Level of the fracture plane over a point, mm."""
    tx, ty = unit_direction(sign, contact.obliquity_bearing_deg)
    return math.tan(math.radians(contact.obliquity_deg)) * (tx * point[0] + ty * point[1])


def _clear_of_fracture(tables: Tables, part: Wire | Pin, place: str) -> Iterator[Problem]:
    contact = tables.bone.contact
    if contact is None or contact.obliquity_deg == 0.0:
        return  # the gap lies across the bone: see `wirechecks`
    half = tables.bone.gap_mm / 2
    sign = side_sign(tables.case.side)
    ring, is_pin = ring_of(tables, part.ring), place.startswith("pin ")
    cortices = named_cortices(part, ring, sign, tables.bone.outer_mm, is_pin=is_pin)
    middle = sum(at[2] for _, at in cortices)
    side = 1.0 if middle > 0 else -1.0
    for called, at in cortices:
        level = _level(contact, sign, at)
        if side * (at[2] - level) <= half:
            fragment = "proximal" if side > 0 else "distal"
            yield Problem(
                place,
                f"its {called} would not be in the {fragment} fragment: it is at level "
                f"{plain_number(at[2])} mm, and the oblique fracture, {plain_number(2 * half)} mm "
                f"wide, has its middle at {plain_number(level)} mm there",
            )


OBLIQUE_CHECKS = (_clear_of_fracture,)
