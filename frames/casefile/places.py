"""How a part is called in a message: by its name, or by its number counted from 1."""

from collections.abc import Iterator
from typing import Any

from frames.casefile.partial import NotKnown
from frames.casefile.problems import one_line
from frames.casefile.tables import SINGLE, Tables


def part_place(kind: str, number: int, name: object) -> str:
    """``ring "R2"``, or ``ring 2`` when there is no name."""
    return f'{kind} "{one_line(name)}"' if isinstance(name, str) and name else f"{kind} {number}"


def parts_of(tables: Tables, kind: str) -> list[Any]:
    """The parts of one kind; none when that table is not known."""
    try:
        found = getattr(tables, kind)
    except NotKnown:
        return []
    return [found] if kind in SINGLE else list(found)


def name_of(part: Any) -> str | None:
    """A part's name, None when it has none or it is not known."""
    try:
        name: str | None = getattr(part, "name", None)
    except NotKnown:
        return None
    return name


def placed(tables: Tables, kind: str) -> Iterator[tuple[str, Any]]:
    """The parts of one kind, each with its place."""
    if kind in SINGLE:
        yield from ((kind, part) for part in parts_of(tables, kind))
        return
    for number, part in enumerate(parts_of(tables, kind), start=1):
        yield part_place(kind, number, name_of(part)), part
