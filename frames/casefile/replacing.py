"""A case with some values changed: the basis of studies.

A change is a path and a value. Paths are "bone.gap_mm" for a table that occurs once,
"bone.callus.E_MPa" for a table inside one, and "wire.W1.tension_N" for one that occurs many
times: its kind, the part (a name, a label of a rod, target or history, a number counted from 1,
or * for all), the key.
"""

from collections.abc import Mapping
from typing import Any

from frames.casefile.case import Case
from frames.casefile.explaining import unknown_key
from frames.casefile.fields import OneOf, Part
from frames.casefile.naming import suggestion
from frames.casefile.parts import Elastic, Ring, Wire
from frames.casefile.places import parts_of
from frames.casefile.problems import CaseError, Problem, one_line
from frames.casefile.reading import case_from_dict
from frames.casefile.tables import NESTED, REPEATED, SINGLE

_MODELS = SINGLE | REPEATED
_FORM = 'must read like "bone.gap_mm", "wire.W1.tension_N" or "ring.*.level_mm"'


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
    raw = case.model_dump(exclude_unset=True, exclude_none=True)
    problems: list[Problem] = []
    moved: set[int] = set()
    held: set[int] = set()
    for path, value in changes.items():
        try:
            kind, numbers, inner, key = _resolve(case, path)
        except _PathError as error:
            problems.append(Problem(one_line(str(path)), str(error)))
            continue
        value = value.tolist() if hasattr(value, "tolist") else value
        for number in numbers:
            part = parts_of(case, kind)[number]
            table = raw.setdefault(kind, {}) if kind in SINGLE else raw[kind][number]
            _set(part, table, inner, key, value)
        if kind == "ring" and key == "hole_circle_mm":
            held.update(numbers)
        elif kind == "ring" and key in ("inner_diameter_mm", "width_mm"):
            moved.update(numbers)
    if problems:
        raise CaseError(problems, where)
    for number in moved - held:
        _take_holes_along(case.ring[number], raw["ring"][number])
    return case_from_dict(raw, where)


class _PathError(Exception):
    """A path that leads nowhere; the text says why."""


def _resolve(case: Case, path: str) -> tuple[str, list[int], str, str]:
    """Kind, part numbers (counted from 0), table inside ("" for none) and key of a path."""
    if not isinstance(path, str):
        raise _PathError(_FORM)
    kind, dot, rest = path.partition(".")
    if kind not in _MODELS:
        raise _PathError(f'there is no table "{one_line(kind)}"{suggestion(kind, _MODELS)}')
    selector, dot, key = rest.rpartition(".")
    if not key or (kind in REPEATED and not dot):
        raise _PathError(_FORM)
    model, inner = _MODELS[kind], ""
    if kind in SINGLE and dot:
        inside = NESTED.get(model, {})
        if selector not in inside:
            raise _PathError(_FORM)
        model, inner = inside[selector], selector
    if key not in model.model_fields:
        raise _PathError(unknown_key(model, key))
    return kind, [0] if kind in SINGLE else _select(case, kind, selector), inner, key


def _select(case: Case, kind: str, selector: str) -> list[int]:
    parts = parts_of(case, kind)
    if selector == "*":
        if not parts:
            raise _PathError(f"there is no {kind} in this case")
        return list(range(len(parts)))
    names = [getattr(part, "name", None) or part.label for part in parts]
    found = [number for number, name in enumerate(names) if name == selector]
    if found:
        return found
    if selector.isdecimal() and len(selector) < 6 and 1 <= int(selector) <= len(parts):
        return [int(selector) - 1]
    raise _PathError(f'there is no {kind} "{one_line(selector)}"{suggestion(selector, names)}')


def _set(part: Part, table: dict[str, Any], inner: str, key: str, value: Any) -> None:
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
    for rule in part.rules:
        if isinstance(rule, OneOf) and any(key in group for group in rule.groups):
            for group in rule.groups:
                if key not in group:
                    for other in group:
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
