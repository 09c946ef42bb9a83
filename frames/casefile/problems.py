"""What is wrong with a case file: problems with their places, gathered into one error."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

_LONGEST = 60


def plain_number(value: float) -> str:
    """A number as a reader would write it: 6 significant digits, no trailing zeros."""
    return f"{value:.6g}"


def show_value(value: Any) -> str:
    """A value as it may stand in a message: short, on one line, whatever it is."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        # int to text is limited to some thousand digits; such a number is told by its size
        return str(value) if value.bit_length() < 64 else f"about 2^{value.bit_length() - 1}"
    if isinstance(value, float):
        return repr(float(value)).removesuffix(".0")
    if isinstance(value, str):
        return f'"{one_line(value)}"'
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, (list, tuple)):
        if any(isinstance(item, dict) for item in value):
            return "a list of tables"
        return one_line("[" + ", ".join(_show_item(item) for item in value[:10]) + "]")
    return one_line(str(value)) if _is_time(value) else type(value).__name__


def _show_item(item: Any) -> str:
    return "[…]" if isinstance(item, (list, tuple)) else show_value(item)


def _is_time(value: Any) -> bool:
    """Dates and times: the only other things a TOML file can hold."""
    return type(value).__module__ == "datetime"


def one_line(text: str) -> str:
    """Any text, cut to 60 characters and free of line breaks and other unprintable characters."""
    text = text[: _LONGEST + 1].encode("utf-8", "replace").decode("utf-8")
    text = "".join(c if c.isprintable() else "�" for c in text)
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"


@dataclass(frozen=True)
class Problem:
    """One thing wrong in a case file.

    place : part and key, for instance ``ring "R2", width_mm``; empty for the file as a whole.
    message : what is wrong and, where it is not plain, what to do.
    value : what was found there, None when there is nothing to show.
    allowed : the allowed range or words, empty when there is no such list.
    """

    place: str
    message: str
    value: Any = None
    allowed: str = ""

    def __str__(self) -> str:
        text = f"{self.place}: {self.message}" if self.place else self.message
        return text if self.value is None else f"{text} (got {show_value(self.value)})"


class CaseError(Exception):
    """A case file is wrong. `problems` holds all that was found; str() gives one line for each.

    where : the file's name, or what else the case was read from.
    """

    def __init__(self, problems: Sequence[Problem], where: str = "case") -> None:
        # handed on unchanged, so that the error survives the way back from another process
        super().__init__(problems, where)
        self.problems: list[Problem] = list(problems)
        self.where = where

    def __str__(self) -> str:
        return "\n".join(f"{self.where}: {problem}" for problem in self.problems)
