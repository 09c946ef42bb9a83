"""What an answer took for granted because the case file does not say it, with its source.

Every default with a source carries it in its field (``frames.casefile.fields.between``); this
module only gathers those that a case leaves to the default, parts with the same default together.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from frames.casefile import Case
from frames.casefile.fields import SOURCE, Part
from frames.casefile.places import parts_of
from frames.casefile.problems import show_value
from frames.casefile.tables import NESTED
from frames.lines import Line, heading, wrapped


@dataclass(frozen=True)
class Assumption:
    """One thing taken without being told: key of the case file (``wire.yield_MPa``) that changes
    it, or words where there is none; value as text; source; how many parts it is about."""

    key: str
    value: str
    source: str
    parts: int = 1


def assumed(case: Case, *tables: str) -> tuple[Assumption, ...]:
    """Defaults with a source that the named tables of a case ("wire", "bone", …) leave as they are.

    Tables inside others come with them. A table that the case does not have counts as left to its
    defaults where it is a single one with defaults.
    """
    found: dict[tuple[str, str, str], int] = {}
    for kind in tables:
        for part in parts_of(case, kind):
            if part is None:
                continue
            for entry in _left(part, kind):
                found[entry] = found.get(entry, 0) + 1
    return tuple(Assumption(*entry, parts=count) for entry, count in found.items())


def _left(part: Part, where: str) -> Iterator[tuple[str, str, str]]:
    for key, field in type(part).model_fields.items():
        extra: Any = field.json_schema_extra
        if isinstance(extra, dict) and SOURCE in extra and key not in part.model_fields_set:
            value = getattr(part, key)
            if value is not None:
                yield f"{where}.{key}", show_value(value), str(extra[SOURCE])
    for key in NESTED.get(type(part), {}):
        inner = getattr(part, key)
        if inner is not None:
            yield from _left(inner, f"{where}.{key}")


def assumption_lines(
    assumptions: Iterable[Assumption], told_by: str = "the case file does"
) -> Iterator[Line]:
    """As text, nothing when there is none. told_by : what does not say otherwise."""
    listed = tuple(assumptions)
    if not listed:
        return
    yield from heading(f"Taken because {told_by} not say otherwise")
    for a in listed:
        count = f" (for {a.parts} parts)" if a.parts > 1 else ""
        yield from wrapped(f"{a.key} = {a.value}{count}: {a.source}.", "    ", "faint", first="  ")
