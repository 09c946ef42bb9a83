"""All problems of a case that was refused.

Every table is checked by itself, so that each problem can be told with the name of its part; the
checks between parts then run on what is right in them. This path is taken for wrong cases only.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import ValidationError

from frames.casefile.crosschecks import cross_problems
from frames.casefile.explaining import SILENT, explain, key_text
from frames.casefile.fields import Part
from frames.casefile.naming import nearest
from frames.casefile.partial import Partial, given_keys, right_fields
from frames.casefile.places import part_place
from frames.casefile.problems import Problem
from frames.casefile.tables import NESTED, REPEATED, SINGLE, Tables

_HEADINGS = {kind: f"[{kind}]" for kind in SINGLE} | {kind: f"[[{kind}]]" for kind in REPEATED}
_INNER_HEADINGS = {
    f"{kind}.{key}": f"[{kind}.{key}]" for kind in SINGLE for key in NESTED.get(SINGLE[kind], {})
}


def find_problems(raw: Mapping[str, Any]) -> list[Problem]:
    """Every problem of a case given as a dictionary, in the order of the format's tables."""
    problems = list(_unknown_tables(raw))
    found: dict[str, Any] = {}
    for kind, model in SINGLE.items():
        if kind in raw:
            found[kind] = _read(model, kind, raw[kind], problems)
        elif Tables.model_fields[kind].is_required():
            problems.append(Problem(kind, f"is missing: write a table {_HEADINGS[kind]}"))
        else:
            found[kind] = Tables.model_fields[kind].get_default()
    for kind, model in REPEATED.items():
        if kind not in raw and Tables.model_fields[kind].is_required():
            problems.append(Problem(kind, f"is missing: write at least one {_HEADINGS[kind]}"))
        elif kind not in raw or isinstance(raw[kind], (list, tuple)):
            found[kind] = _read_all(model, kind, raw.get(kind, ()), problems)
        else:
            message = f"must be a list of tables, each headed {_HEADINGS[kind]}"
            problems.append(Problem(kind, message, raw[kind]))
    problems.extend(cross_problems(Partial(found)))  # type: ignore[arg-type]
    return _without_repeats(problems)


def _unknown_tables(raw: Mapping[Any, Any]) -> Iterator[Problem]:
    for key in raw:
        if not isinstance(key, str):
            yield Problem(key_text(key), "a table's name must be text")
        elif key not in _HEADINGS:
            headings = _HEADINGS | _INNER_HEADINGS
            near = nearest(key, headings)
            known = ", ".join(_HEADINGS.values())
            hint = f"did you mean {headings[near]}?" if near else f"known: {known}"
            yield Problem(key_text(key), f"unknown table; {hint}")


def _read_all(model: type[Part], kind: str, items: Any, problems: list[Problem]) -> tuple[Any, ...]:
    limits = {type(m).__name__: m for m in Tables.model_fields[kind].metadata}
    most = limits["MaxLen"].max_length
    if "MinLen" in limits and not items:
        problems.append(Problem(kind, f"write at least one {_HEADINGS[kind]}"))
    if len(items) > most:
        problems.append(Problem(kind, f"there must be at most {most} of them", len(items)))
    parts = []
    for number, item in enumerate(items[:most], start=1):
        name = item.get("name") if isinstance(item, dict) else None
        parts.append(_read(model, part_place(kind, number, name), item, problems))
    return tuple(parts)


def _read(model: type[Part], place: str, item: Any, problems: list[Problem]) -> Any:
    """The part, or what is right of it; what is wrong goes to `problems`."""
    try:
        return model.model_validate(item)
    except ValidationError as error:
        if not isinstance(item, dict):
            heading = (_HEADINGS | _INNER_HEADINGS)[place.split()[0]]
            problems.append(Problem(place, f"must be a table, headed {heading}", item))
            return Partial({})
        nested = NESTED.get(model, {})
        misspelt = {nearest(key, model.model_fields) for key in _unknown_keys(model, item)}
        for details in error.errors(include_url=False):
            key_missing = details["type"] == "missing" and len(details["loc"]) == 1
            if details["type"] in SILENT or details["loc"][0] in nested or long_enough(details):
                continue
            if key_missing and details["loc"][0] in misspelt:
                continue
            problems.append(explain(model, place, details))
        for broken in model.broken_rules(given_keys(item)):
            where = f"{place}, {broken.key}" if broken.key else place
            problems.append(Problem(where, broken.message))
        inner = {
            key: _read(nested[key], f"{place}.{key}", item[key], problems)
            for key in nested
            if item.get(key) is not None
        }
        return right_fields(model, item, error, inner)


def long_enough(details: Mapping[str, Any]) -> bool:
    """A list that is short of right items only: the wrong ones are told."""
    given = details["input"]
    return (
        details["type"] == "too_short"
        and isinstance(given, (list, tuple))
        and len(given) >= details["ctx"]["min_length"]
    )


def _unknown_keys(model: type[Part], table: Mapping[Any, Any]) -> list[str]:
    return [key for key in table if isinstance(key, str) and key not in model.model_fields]


def _without_repeats(problems: list[Problem]) -> list[Problem]:
    """A list too short by two items is refused twice, in the same words."""
    seen: set[str] = set()
    kept = []
    for problem in problems:
        text = str(problem)
        if text not in seen:
            kept.append(problem)
            seen.add(text)
    return kept
