"""Reading a case: from a file, from TOML text, from a dictionary."""

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from frames.casefile.case import Case
from frames.casefile.finding import find_problems
from frames.casefile.problems import CaseError, Problem

MAX_BYTES = 1_000_000
"""Largest case file: a thousand times a usual one."""

_POSITION = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_DECIMAL_COMMA = re.compile(r"=\s*[+-]?\d+,\d")


def load_case(path: str | Path) -> Case:
    """Read a case file (TOML, UTF-8, at most 1 MB). Raises `CaseError`."""
    return case_from_text(read_text(path), Path(path).name or str(path))


def read_text(path: str | Path, what: str = "case file") -> str:
    """Text of a file (UTF-8, at most 1 MB). Raises `CaseError`."""
    where = Path(path).name or str(path)
    try:
        with open(path, "rb") as file:
            content = file.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise CaseError([Problem("", f"there is no such file: {path}")], where) from None
    except IsADirectoryError:
        raise CaseError([Problem("", f"is a folder, not a file: {path}")], where) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise CaseError([Problem("", f"cannot be read: {reason}")], where) from None
    try:
        return content[: MAX_BYTES + 1].decode("utf-8-sig")
    except UnicodeDecodeError as error:
        if len(content) > MAX_BYTES:
            raise _too_long(where, what) from None
        line = content[: error.start].count(b"\n") + 1
        problem = Problem(f"line {line}", "is not UTF-8 text: save the file in that encoding")
        raise CaseError([problem], where) from None


def case_from_text(toml_text: str, where: str = "case") -> Case:
    """Read a case from TOML text. `where` names it in errors. Raises `CaseError`."""
    return case_from_dict(toml_table(toml_text, where), where)


def toml_table(toml_text: str, where: str, what: str = "case file") -> dict[str, Any]:
    """TOML text as nested dictionaries, at most 1 MB. Raises `CaseError`."""
    if len(toml_text.encode("utf-8", "replace")) > MAX_BYTES:
        raise _too_long(where, what)
    try:
        return tomllib.loads(toml_text)
    except RecursionError:
        problem = Problem("", f"is not a {what}: lists or tables inside each other too deep")
        raise CaseError([problem], where) from None
    except ValueError as error:  # TOMLDecodeError, or a whole number too long to convert
        raise CaseError([_syntax_problem(str(error), toml_text)], where) from None


def case_from_dict(table: Mapping[str, Any], where: str = "case") -> Case:
    """Check a case given as nested dictionaries, as a TOML file reads. Raises `CaseError`."""
    if not isinstance(table, Mapping):
        raise CaseError([Problem("", "must be a table of tables", table)], where)
    try:
        return Case.model_validate(dict(table))
    except ValidationError:
        raise CaseError(find_problems(table), where) from None


def _too_long(where: str, what: str) -> CaseError:
    return CaseError([Problem("", f"is longer than 1 MB: this cannot be a {what}")], where)


def _syntax_problem(message: str, text: str) -> Problem:
    """tomllib's message, with the line it is about and a hint at the commonest slip."""
    position = _POSITION.search(message)
    what = message[: position.start()] if position else message
    what = f"not valid TOML: {what[:1].lower()}{what[1:]}"
    if "cannot overwrite" in what:
        what += " (a key or table is given twice)"
    if position is None:
        return Problem("", what)
    if position[1] is None:
        return Problem("end of file", what)
    line = text.split("\n")[int(position[1]) - 1].strip()
    if _DECIMAL_COMMA.search(line):
        what += "; decimals are written with a point"
    return Problem(f"line {position[1]}, column {position[2]}", what, line)
