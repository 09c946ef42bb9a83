"""The tables of a study file, each checked by itself; what is wrong is told as for a case."""

from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from frames.casefile import CaseError, Problem
from frames.casefile.explaining import SILENT, explain, key_text
from frames.casefile.fields import Part
from frames.casefile.finding import long_enough
from frames.casefile.naming import nearest
from frames.casefile.partial import given_keys
from frames.casefile.places import part_place
from frames.studyfile.tables import REPEATED, ParameterTable, RingSize, StudyInfo, StudyTables

_HEADINGS = {"study": "[study]"} | {kind: f"[[{kind}]]" for kind in REPEATED}


def study_tables(table: Mapping[str, Any], where: str) -> StudyTables:
    """The tables. Raises ``CaseError`` with all that is wrong."""
    if not isinstance(table, Mapping):
        raise CaseError([Problem("", "must be a table of tables", table)], where)
    try:
        return StudyTables.model_validate(dict(table))
    except ValidationError:
        raise CaseError(_problems(table), where) from None


def _problems(table: Mapping[Any, Any]) -> list[Problem]:
    problems: list[Problem] = []
    for key in table:
        if key not in _HEADINGS:
            near = nearest(key, _HEADINGS) if isinstance(key, str) else None
            hint = f"did you mean {_HEADINGS[near]}?" if near else _known()
            problems.append(Problem(key_text(key), f"unknown table; {hint}"))
    if "study" not in table:
        problems.append(Problem("study", "is missing: write a table [study]"))
    else:
        _read(StudyInfo, "study", table["study"], problems)
    for kind, model in REPEATED.items():
        items = table.get(kind, ())
        if not isinstance(items, list | tuple):
            said = f"must be a list of tables, each headed {_HEADINGS[kind]}"
            problems.append(Problem(kind, said, items))
            continue
        limits = {type(m).__name__: m for m in StudyTables.model_fields[kind].metadata}
        if "MinLen" in limits and not items:
            problems.append(Problem(kind, f"write at least one {_HEADINGS[kind]}"))
        most = limits["MaxLen"].max_length
        if len(items) > most:
            problems.append(Problem(kind, f"there must be at most {most} of them", len(items)))
        for number, item in enumerate(items[:most], start=1):
            name = item.get("name") if isinstance(item, dict) else None
            _read(model, part_place(kind, number, name), item, problems)
    return problems


def _known() -> str:
    return f"known: {', '.join(_HEADINGS.values())}"


def _read(model: type[Part], place: str, item: Any, problems: list[Problem]) -> None:
    if not isinstance(item, dict):
        headed = "" if model is RingSize else f", headed {_HEADINGS[place.split()[0]]}"
        problems.append(Problem(place, f"must be a table{headed}", item))
        return
    try:
        model.model_validate(item)
    except ValidationError as error:
        misspelt = {
            nearest(str(k), model.model_fields) for k in item if k not in model.model_fields
        }
        for details in error.errors(include_url=False):
            loc = details["loc"]
            missing = details["type"] == "missing" and len(loc) == 1
            if details["type"] in SILENT or not loc or (missing and loc[0] in misspelt):
                continue
            if long_enough(details) or (model is ParameterTable and loc[0] == "sizes" and loc[1:]):
                continue  # the wrong items are told
            problems.append(explain(model, place, details))
        for broken in model.broken_rules(given_keys(item)):
            at = f"{place}, {broken.key}" if broken.key else place
            problems.append(Problem(at, broken.message))
        sizes = item.get("sizes") if model is ParameterTable else None
        for number, size in enumerate(sizes if isinstance(sizes, list | tuple) else (), start=1):
            _read(RingSize, f"{place}, sizes, item {number}", size, problems)
