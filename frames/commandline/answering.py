"""How every command but ``check`` runs: load, answer, print, write."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from frames.commandline.app import NOT_WRITTEN, UNSOLVED, WRONG_CASE
from frames.commandline.talking import Progress, fail, refuse_same_file, show, write

if TYPE_CHECKING:  # loaded when used: help has to come at once
    from frames.answering import Answer
    from frames.casefile import Case

Say = Callable[[str], None]
"""Told how far long work has come."""


def answered(
    case: Path,
    json: Path | None,
    csv: Path | None,
    answer: "Callable[[Case, Say], Answer]",
) -> "Answer":
    """Load the case, answer, print, write the files asked for."""
    from fem import FemError
    from frames.casefile import CaseError, load_case

    refuse_same_file(case, {"--json": json, "--csv": csv})
    try:
        loaded = load_case(case)
        with Progress() as progress:
            found = answer(loaded, progress.say)
    except CaseError as error:
        fail(str(error), WRONG_CASE)
    except FemError as error:
        fail(str(error), UNSOLVED)
    give(found, json, csv)
    return found


def give(found: "Answer", json: Path | None, csv: Path | None) -> None:
    """Print an answer and write its files; ends with ``NOT_WRITTEN`` when one cannot be."""
    from frames.answering import to_csv, to_json

    show(found.lines())
    written = True
    for path, text in ((json, to_json), (csv, to_csv)):
        written = (path is None or write(path, text(found))) and written
    if not written:
        raise typer.Exit(NOT_WRITTEN)
