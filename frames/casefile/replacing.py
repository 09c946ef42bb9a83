"""A case with some values changed: the basis of studies.

A change is a path (``frames.casefile.paths``) and a value.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from frames.casefile.case import Case
from frames.casefile.fields import Part
from frames.casefile.parts import Elastic, Ring, Wire
from frames.casefile.paths import PathError, Slot, slots_of
from frames.casefile.places import parts_of
from frames.casefile.problems import CaseError, Problem, one_line
from frames.casefile.reading import case_from_dict
from frames.casefile.tables import SINGLE


def replace(case: Case, changes: Mapping[str, Any], where: str = "changed case") -> Case:
    """A new, checked case with the changes made in their order.

    A value that excludes another (tension_N and tension_kgf; face and height_mm; diameter_mm and
    thread; bearing_deg and bearings_deg; slip_N and bolt_torque_Nm; lengthen_mm and turns;
    material and E_MPa with nu; axial_N, body_weight and force_N; the tables contact and callus)
    takes its place. With E_MPa alone, nu stays what it was, and the other way round. A ring whose
    inner diameter or width changes takes its hole circle along, unless that is set too. A table
    inside another comes into being with its first key, or as a dictionary ("bone.contact": {}).
    None takes a key out, so that its default holds. Numbers and arrays of numpy are taken. Raises
    `CaseError`.
    """
    problems: list[Problem] = []
    found: list[tuple[Slot, Any]] = []
    for path, value in changes.items():
        try:
            found += [(slot, value) for slot in slots_of(case, path)]
        except PathError as error:
            problems.append(Problem(one_line(str(path)), str(error)))
    if problems:
        raise CaseError(problems, where)
    return replace_slots(case, found, where)


def replace_slots(
    case: Case, changes: Iterable[tuple[Slot, Any]], where: str = "changed case"
) -> Case:
    """As `replace`, with paths that `slots_of` has read."""
    raw = case.model_dump(exclude_unset=True, exclude_none=True)
    moved: set[int] = set()
    held: set[int] = set()
    for slot, value in changes:
        kind, number, inner, key = slot
        part = parts_of(case, kind)[number]
        table = raw.setdefault(kind, {}) if kind in SINGLE else raw[kind][number]
        set_key(part, table, inner, key, value.tolist() if hasattr(value, "tolist") else value)
        if kind == "ring" and key == "hole_circle_mm":
            held.add(number)
        elif kind == "ring" and key in ("inner_diameter_mm", "width_mm"):
            moved.add(number)
    for number in moved - held:
        _take_holes_along(case.ring[number], raw["ring"][number])
    return case_from_dict(raw, where)


def set_key(part: Part, table: dict[str, Any], inner: str, key: str, value: Any) -> None:
    """Set a key of a part's table, or of the one inside it; None takes it out."""
    if inner:
        _set_inside(part, table, inner, key, value)
        return
    if value is None:
        table.pop(key, None)
        return
    _take_out_excluded(part, table, key)
    if isinstance(part, Elastic) and key in ("E_MPa", "nu"):
        _keep_the_rest(part, table)
    table[key] = dict(value) if isinstance(value, dict) else value


def _set_inside(part: Part, table: dict[str, Any], inner: str, key: str, value: Any) -> None:
    """A key of a table inside the part's own."""
    if value is None and inner not in table:
        return
    _take_out_excluded(part, table, inner)
    within = table.setdefault(inner, {})
    if not isinstance(within, dict):
        return  # set to something else before: the checks that follow say so
    if value is None:
        within.pop(key, None)
    else:
        within[key] = value


def _take_out_excluded(part: Part, table: dict[str, Any], key: str) -> None:
    for other in part.excluded_by(key):
        table.pop(other, None)


def _keep_the_rest(part: Elastic, table: dict[str, Any]) -> None:
    """Own elastic constants in place of a named material: start from that material's."""
    E_MPa, nu = part.elastic
    table.setdefault("E_MPa", E_MPa)
    table.setdefault("nu", nu)
    if isinstance(part, Wire):
        table.setdefault("density_kg_per_m3", part.density_kg_per_m3)


def _take_holes_along(ring: Ring, table: dict[str, Any]) -> None:
    """Keep the hole circle's distance from the middle of the ring's width."""
    if "hole_circle_mm" not in table:
        return
    try:
        middle = float(table["inner_diameter_mm"]) + float(table["width_mm"])
    except (TypeError, ValueError, KeyError, OverflowError):
        return  # not numbers: the checks that follow say so
    table["hole_circle_mm"] = ring.hole_circle_mm + (
        middle - ring.inner_diameter_mm - ring.width_mm
    )
