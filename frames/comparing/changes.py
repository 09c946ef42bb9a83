"""What differs between two case files, part by part."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from frames.casefile import Case
from frames.casefile.places import parts_of
from frames.casefile.problems import show_value
from frames.casefile.tables import REPEATED, SINGLE


@dataclass(frozen=True)
class Change:
    """where: ``wire W1, tension_N``; the values as text, "-" where there is none."""

    where: str
    first: str
    other: str


def changes(first: Case, other: Case) -> tuple[Change, ...]:
    """Keys that differ and parts that only one of them has; parts are matched by name, those
    without one by their number. The title is left out."""
    return tuple(_changes(first, other))


def _changes(first: Case, other: Case) -> Iterator[Change]:
    for kind in (*SINGLE, *REPEATED):
        one, two = _named(first, kind), _named(other, kind)
        for name in dict.fromkeys((*one, *two)):
            label = kind if kind in SINGLE else f"{kind} {name}"
            if name not in one or name not in two:
                yield Change(label, _there(name in one), _there(name in two))
                continue
            yield from _keys(label, one[name], two[name])


def _keys(label: str, one: dict[str, Any], two: dict[str, Any]) -> Iterator[Change]:
    for key in dict.fromkeys((*one, *two)):
        a, b = one.get(key), two.get(key)
        if a == b or (label == "case" and key == "title"):
            continue
        if isinstance(a, dict) and isinstance(b, dict):
            yield from _keys(f"{label}.{key}", a, b)
        else:
            yield Change(f"{label}, {key}", _shown(a), _shown(b))


def _named(case: Case, kind: str) -> dict[str, dict[str, Any]]:
    found: dict[str, dict[str, Any]] = {}
    for number, part in enumerate(parts_of(case, kind), start=1):
        name = getattr(part, "name", None) or getattr(part, "label", None) or str(number)
        key = name if name not in found else f"{name} ({number})"
        found[key] = part.model_dump(exclude_none=True)
    return found


def _there(there: bool) -> str:
    return "there" if there else "-"


def _shown(value: Any) -> str:
    return "-" if value is None else show_value(value)
