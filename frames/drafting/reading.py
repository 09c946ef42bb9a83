"""Reading a file of measurements; what is wrong is told in the same words as for a case."""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from frames.casefile import CaseError, Problem
from frames.casefile.explaining import SILENT, explain
from frames.casefile.fields import Part
from frames.casefile.naming import nearest
from frames.casefile.partial import given_keys
from frames.casefile.places import part_place
from frames.drafting.agreeing import together
from frames.drafting.tables import REPEATED, SINGLE, Measurements

REQUIRED = ("leg", "fracture", "girth")


def load_measurements(path: str | Path) -> Measurements:
    """Read a file (TOML). Raises ``CaseError``."""
    where = Path(path).name
    try:
        text = Path(path).read_text(encoding="utf-8-sig")
    except OSError as error:
        reason = error.strerror or str(error)
        raise CaseError([Problem("", f"cannot be read: {reason}")], where) from None
    except UnicodeDecodeError:
        raise CaseError([Problem("", "is not UTF-8 text")], where) from None
    try:
        table = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise CaseError([Problem("", f"not valid TOML: {error}")], where) from None
    return measurements_from_dict(table, where)


def measurements_from_dict(table: Mapping[str, Any], where: str = "measurements") -> Measurements:
    """Check measurements given as dictionaries. Raises ``CaseError``."""
    problems: list[Problem] = []
    for key in table:
        if key not in SINGLE and key not in REPEATED:
            near = nearest(str(key), (*SINGLE, *REPEATED))
            known = ", ".join((*SINGLE, *REPEATED))
            hint = f"did you mean {near}?" if near else f"known: {known}"
            problems.append(Problem(str(key), f"unknown table; {hint}"))
    for kind in REQUIRED:
        if kind not in table:
            problems.append(Problem(kind, "is missing: write this table"))
    for kind, model in SINGLE.items():
        if kind in table:
            _read(model, kind, table[kind], problems)
    for kind, model in REPEATED.items():
        items = table.get(kind, [])
        if not isinstance(items, list):
            problems.append(Problem(kind, f"must be a list of tables, each headed [[{kind}]]"))
            continue
        limits = {type(limit).__name__: limit for limit in Measurements.model_fields[kind].metadata}
        most = limits["MaxLen"].max_length
        if len(items) > most:
            problems.append(Problem(kind, f"there must be at most {most} of them", len(items)))
            items = items[:most]
        for number, item in enumerate(items, start=1):
            name = item.get("name") if isinstance(item, dict) else None
            _read(model, part_place(kind, number, name), item, problems)
    if isinstance(table.get("girth"), list) and len(table["girth"]) < 2:
        problems.append(Problem("girth", "measure the leg at two distances at least"))
    if problems:
        raise CaseError(problems, where)
    found = Measurements.model_validate(dict(table))
    problems = together(found)
    if problems:
        raise CaseError(problems, where)
    return found


def _read(model: type[Part], place: str, item: Any, problems: list[Problem]) -> None:
    if not isinstance(item, dict):
        problems.append(Problem(place, "must be a table", item))
        return
    try:
        model.model_validate(item)
    except ValidationError as error:
        for details in error.errors(include_url=False):
            if details["type"] not in SILENT and details["loc"]:
                problems.append(explain(model, place, details))
        for broken in model.broken_rules(given_keys(item)):
            at = f"{place}, {broken.key}" if broken.key else place
            problems.append(Problem(at, broken.message))
