"""What every answer of the program offers: text, a dictionary for its file, a flat table.

A command prints ``lines``, writes ``to_dict`` as JSON, and the same dictionary flattened as CSV; a
notebook uses the answer itself.
"""

import csv
import io
from collections.abc import Iterator, Mapping
from json import dumps
from typing import Any, Protocol

from frames.lines import Line


class Answer(Protocol):
    """An answer: frozen data that tells itself."""

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file: plain dictionaries, lists, text, finite numbers, None."""
        ...

    def lines(self) -> Iterator[Line]:
        """As text for a terminal of 80 columns."""
        ...


def to_json(answer: Answer) -> str:
    """Text of its JSON file."""
    return dumps(answer.to_dict(), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def to_csv(answer: Answer) -> str:
    """Every number and verdict of the answer as a row: where it stands, quantity (with its unit),
    value.

    Items of lists are called by their name, load or wire where they have one, else by their number
    from 1: ``loads/standing/windows/axial``.
    """
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(["where", "quantity", "value"])
    for where, quantity, value in _rows(answer.to_dict(), ()):
        shown = str(value).lower() if isinstance(value, bool) else repr(value)
        rows.writerow(["/".join(where), quantity, shown])
    return out.getvalue()


_NAMES = ("name", "load", "wire", "part", "quantity")


def _rows(content: Mapping[str, Any], where: tuple[str, ...]) -> Iterator[tuple[Any, ...]]:
    for key, value in content.items():
        yield from _entry(key, value, where)


def _entry(key: str, value: Any, where: tuple[str, ...]) -> Iterator[tuple[Any, ...]]:
    if isinstance(value, bool | int | float):
        if key != "version":
            yield where, key, value
    elif isinstance(value, Mapping):
        yield from _rows(value, (*where, key))
    elif isinstance(value, list | tuple):
        for number, item in enumerate(value, start=1):
            if isinstance(item, Mapping):
                yield from _rows(item, (*where, key, _called(item, number)))
            else:
                yield from _entry(f"{key}_{number}", item, where)


def _called(item: Mapping[str, Any], number: int) -> str:
    return next((str(item[k]) for k in _NAMES if isinstance(item.get(k), str)), str(number))
