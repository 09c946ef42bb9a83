"""Are a parameter's values right for what it changes?

A value that a key can never take (text for a number, a tension beyond the limits of a case file) is
an error of the study file. One that only some designs cannot take is found when they are built.
"""

from collections.abc import Iterator
from typing import Any

from pydantic import ValidationError

from frames.casefile import Case
from frames.casefile.explaining import SILENT, explain
from frames.casefile.paths import Slot
from frames.casefile.places import name_of, part_place, parts_of
from frames.casefile.problems import Problem
from frames.casefile.replacing import set_key
from frames.casefile.tables import NESTED, SINGLE
from frames.studyfile.distributions import Draw, Levels
from frames.studyfile.laying import MOST_WIRES
from frames.studyfile.settings import CountSetting, CrossingSetting, KeySetting, Setting


def value_problems(case: Case, setting: Setting, draw: Draw, place: str) -> Iterator[Problem]:
    """What is wrong with the values; one problem for each value."""
    probes = draw.probes()
    if isinstance(setting, CountSetting):
        yield from _counts(draw, place)
        return
    numbers = [v for v in probes if not isinstance(v, bool | str)]
    relative = isinstance(setting, KeySetting) and setting.bases is not None
    if isinstance(setting, CrossingSetting) or relative:
        for value in probes:
            if isinstance(value, bool | str):
                yield Problem(place, "must have numbers for values", value)
                return
    if isinstance(setting, CrossingSetting):
        for value in numbers:
            if not 0.0 < value < 180.0:
                said = "an angle of crossing must be more than 0 and less than 180"
                yield Problem(place, said, value, "more than 0, less than 180")
        return
    if relative:
        probes = (min(numbers), max(numbers))
    for value in dict.fromkeys(probes):
        problem = _key_problem(case, setting, value, place)
        if problem is not None:
            yield problem


def _counts(draw: Draw, place: str) -> Iterator[Problem]:
    if not isinstance(draw, Levels):
        said = "a number of wires is whole: write values = [...] in place of a distribution"
        yield Problem(f"{place}, distribution", said)
        return
    for value in draw.values:
        if isinstance(value, bool) or value not in range(1, MOST_WIRES + 1):
            said = f"wires on a ring must be a whole number from 1 to {MOST_WIRES}"
            yield Problem(place, said, value, f"1 to {MOST_WIRES}")


def _key_problem(case: Case, setting: Setting, value: Any, place: str) -> Problem | None:
    """The first key that cannot take the value."""
    seen = set()
    relative = isinstance(setting, KeySetting) and setting.bases is not None
    for slot, new in setting.changes(value):
        alike = (slot.kind, slot.inner, slot.key, slot.number if relative else 0)
        if alike in seen or new is None:
            continue
        seen.add(alike)
        problem = slot_problem(case, slot, new)
        if problem is not None:
            said = f"{problem.place}: {problem.message}"
            return Problem(place, said, problem.value, problem.allowed)
    return None


def slot_problem(case: Case, slot: Slot, value: Any) -> Problem | None:
    """Why a key can never take a value, None when it can."""
    part = parts_of(case, slot.kind)[slot.number]
    table = part.model_dump(exclude_unset=True, exclude_none=True)
    set_key(part, table, slot.inner, slot.key, value)
    model, loc = type(part), (slot.inner, slot.key) if slot.inner else (slot.key,)
    try:
        model.model_validate(table)
    except ValidationError as error:
        for details in error.errors(include_url=False):
            if details["loc"][: len(loc)] == loc and details["type"] not in SILENT:
                where = slot.kind
                if slot.kind not in SINGLE:
                    where = part_place(slot.kind, slot.number + 1, name_of(part))
                if slot.inner:
                    model, where = NESTED[model][slot.inner], f"{where}.{slot.inner}"
                    details = {**details, "loc": details["loc"][1:]}
                return explain(model, where, details)
    return None
