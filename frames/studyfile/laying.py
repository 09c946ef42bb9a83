"""So many wires on a ring, laid out anew.

The bearings of n wires are spread evenly over a half turn from the bearing of the ring's first
wire: 180°/n from one to the next. They lie on alternate faces, beginning with the first wire's. The
first two lie on the faces; each further one on the same face lies a wire's diameter and
``CLEARANCE_MM`` farther out than the one before, as on washers. All else is the first wire's, and
the ring's wires keep their names as far as they go.
"""

from collections.abc import Mapping
from typing import Any

from frames.casefile import Case, case_from_dict, wire_height

CLEARANCE_MM = 2.0
"""Between wires one above the other on a face; own choice, no source."""

MOST_WIRES = 6


def with_wires(case: Case, counts: Mapping[str, int]) -> Case:
    """The case with so many wires on each of these rings. Raises ``CaseError``."""
    raw = case.model_dump(exclude_unset=True, exclude_none=True)
    taken = {wire.name for wire in case.wire} | {pin.name for pin in case.pin}
    laid: list[dict[str, Any]] = []
    done: set[str] = set()
    for wire, table in zip(case.wire, raw["wire"], strict=True):
        if wire.ring not in counts:
            laid.append(table)
        elif wire.ring not in done:
            done.add(wire.ring)
            laid += _on_ring(case, wire.ring, counts[wire.ring], table, taken)
    raw["wire"] = laid
    return case_from_dict(raw, "design")


def _on_ring(
    case: Case, name: str, count: int, table: dict[str, Any], taken: set[str]
) -> list[dict[str, Any]]:
    """Tables of a ring's wires; table: that of the first one."""
    ring = next(r for r in case.ring if r.name == name)
    own = [wire for wire in case.wire if wire.ring == name]
    first, height = own[0], wire_height(own[0], ring)
    side = -1.0 if height < 0.0 else 1.0
    on_face = (ring.thickness_mm + first.diameter_mm) / 2.0
    step = first.diameter_mm + CLEARANCE_MM
    found = [table]
    for number in range(1, count):
        wire = {key: v for key, v in table.items() if key not in ("face", "height_mm")}
        if number < len(own):
            wire["name"] = own[number].name
        else:
            wire["name"] = _new_name(f"{first.name} no. {number + 1}", taken)
        wire["bearing_deg"] = (first.bearing_deg + 180.0 * number / count) % 360.0
        face = side if number % 2 == 0 else -side
        if number == 1:
            wire["face"] = "proximal" if face > 0.0 else "distal"
        else:
            base = max(abs(height), on_face) if number % 2 == 0 else on_face
            wire["height_mm"] = face * (base + number // 2 * step)
        found.append(wire)
    return found


def _new_name(wanted: str, taken: set[str]) -> str:
    name, again = wanted[-60:], 1
    while name in taken:
        again += 1
        name = f"{wanted[-50:]} ({again})"
    taken.add(name)
    return name
