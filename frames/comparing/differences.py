"""What differs between case files: keys of parts with the same name, and parts only some have.

Compared is what a case means: a key that one file leaves to its default is no different where
another writes the same value. Parts of a kind with the same change are told together. Titles are
not compared; parts without a name go by their label, else by their number.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from frames.casefile import Case
from frames.casefile.places import parts_of
from frames.casefile.problems import show_value
from frames.casefile.tables import REPEATED, SINGLE, Tables

Content = dict[str, dict[str, str]]
"""Of one table: for every part its keys and their values as text."""

THERE = "is there"


@dataclass(frozen=True)
class Difference:
    """One key (dotted for a table inside another; "" for the part itself) that differs.

    kind : the table ("wire"). parts : names; empty for a table that occurs once. every : they are
    all parts of the kind that there are. values : one for each case, None where it has none.
    """

    kind: str
    parts: tuple[str, ...]
    every: bool
    key: str
    values: tuple[str | None, ...]


def differences(cases: Sequence[Case]) -> tuple[Difference, ...]:
    """In the order of the format's tables."""
    found: list[Difference] = []
    for kind in Tables.model_fields:
        contents = [_content(case, kind) for case in cases]
        found += _of_kind(kind, contents)
    return tuple(found)


def _of_kind(kind: str, contents: Sequence[Content]) -> list[Difference]:
    names = list(dict.fromkeys(name for content in contents for name in content))
    told: dict[tuple[str, tuple[str | None, ...]], list[str]] = {}
    for name in names:
        parts = [content.get(name) for content in contents]
        if any(part is None for part in parts):
            there = tuple(None if part is None else THERE for part in parts)
            told.setdefault(("", there), []).append(name)
        known = [part for part in parts if part is not None]
        for key in dict.fromkeys(key for part in known for key in part):
            if len({part.get(key) for part in known}) > 1:
                values = tuple(None if part is None else part.get(key) for part in parts)
                told.setdefault((key, values), []).append(name)
    single = kind in SINGLE
    return [
        Difference(kind, () if single else tuple(of), len(of) == len(names), key, values)
        for (key, values), of in told.items()
    ]


def _content(case: Case, kind: str) -> Content:
    content: Content = {}
    for number, part in enumerate(parts_of(case, kind), start=1):
        keys = dict(_flat("", part.model_dump(exclude_none=True)))
        if kind == "case":
            keys.pop("title", None)
        content[_called(part, number, content) if kind in REPEATED else kind] = keys
    return content


def _called(part: Any, number: int, taken: Content) -> str:
    name = getattr(part, "name", None) or getattr(part, "label", None) or str(number)
    again = 2
    called = str(name)
    while called in taken:
        called = f"{name} ({again})"
        again += 1
    return called


def _flat(before: str, table: dict[str, Any]) -> list[tuple[str, str]]:
    rows: list[tuple[str, str]] = []
    for key, value in table.items():
        if isinstance(value, dict):
            rows.append((f"{before}{key}", THERE))
            rows += _flat(f"{before}{key}.", value)
        else:
            rows.append((f"{before}{key}", value if isinstance(value, str) else show_value(value)))
    return rows
