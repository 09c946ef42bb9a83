"""Checks of the tolerances: do their paths lead to numbers that may vary?"""

from collections.abc import Iterator

from frames.casefile.numbers import Numbers, is_measure, unit_of, value_at
from frames.casefile.paths import PathError, Slot, slots_of
from frames.casefile.places import name_of, part_place, parts_of
from frames.casefile.problems import Problem
from frames.casefile.tables import SINGLE, Tables
from frames.casefile.tolerance import Tolerance

VARYING = ("case", "bone", "ring", "rod", "wire", "pin", "model", "nut_turn", "load")
"""Tables that a frame is reckoned from."""


def _paths_lead_to_numbers(tables: Tables, tolerance: Tolerance, place: str) -> Iterator[Problem]:
    where = f"{place}, {'paths' if tolerance.path is None else 'path'}"
    for path in tolerance.all_paths:
        kind = path.partition(".")[0]
        if kind in VARYING:
            getattr(tables, kind)  # not known when wrong itself: then nothing can be said
        try:
            slots = slots_of(tables, path)
        except PathError as error:
            yield Problem(where, str(error), path)
            continue
        if slots[0].kind not in VARYING:
            known = ", ".join(VARYING)
            yield Problem(where, "leads to nothing that a frame is reckoned from", path, known)
        elif not is_measure(slots[0]):
            yield Problem(where, f"{slots[0].key} is no measure that could vary", path)
        else:
            found: dict[str, list[str]] = {}
            for slot in slots:
                why = _why_not(tolerance, slot, value_at(tables, slot))
                if why is not None:
                    found.setdefault(why, []).append(_called(tables, slot))
            for why, parts in found.items():
                more = f" and {len(parts) - 1} more" if len(parts) > 1 else ""
                yield Problem(where, f"{parts[0]}{more}: {why}", path)


def _one_unit(tables: Tables, tolerance: Tolerance, place: str) -> Iterator[Problem]:
    if tolerance.plus_minus is None:
        return
    units = dict.fromkeys(unit_of(p.rpartition(".")[2]) or "none" for p in tolerance.all_paths)
    if len(units) > 1:
        yield Problem(
            f"{place}, plus_minus",
            f"is one number for keys with several units ({', '.join(units)}): "
            "write a table for each unit",
            tolerance.plus_minus,
        )


def _why_not(tolerance: Tolerance, slot: Slot, value: float | Numbers | None) -> str | None:
    """Why a number with this value cannot vary; None when it can."""
    if value is None:
        return f"no {slot.key} is given there that could vary"
    if slot.key == "grip_N" and value == 0.0:
        return (
            "without a grip_N a wire slides in the bone without friction, and stays such an ideal "
            "wire; give it one, or name the wires that have one"
        )
    nothing = not any(value) if isinstance(value, tuple) else value == 0.0
    if tolerance.plus_minus_percent is not None and nothing:
        return f"{slot.key} is 0, and a percentage of it as well; use plus_minus"
    return None


def _called(tables: Tables, slot: Slot) -> str:
    if slot.kind in SINGLE:
        return f"[{slot.kind}{'.' if slot.inner else ''}{slot.inner}]"
    return part_place(slot.kind, slot.number + 1, name_of(parts_of(tables, slot.kind)[slot.number]))


TOLERANCE_CHECKS = (_paths_lead_to_numbers, _one_unit)
