"""``tautring compare``."""

from pathlib import Path
from typing import Annotated

import typer

from frames.commandline.answering import give
from frames.commandline.app import UNSOLVED, WRONG_CASE, app
from frames.commandline.options import CsvFile, JsonFile
from frames.commandline.talking import Progress, fail, refuse_same_file


@app.command()
def compare(
    cases: Annotated[
        list[Path], typer.Argument(help="Two case files or more.", metavar="CASE CASE…")
    ],
    json: JsonFile = None,
    csv: CsvFile = None,
) -> None:
    """Two frames or more side by side: stiffness, movement, targets, what differs.

    \b
    Exit status:
      0  at least one frame was solved
      2  a case file or the command is wrong
      3  no frame can be solved
    """
    from frames.casefile import CaseError, load_case
    from frames.comparing import compare as answer

    for case in cases:
        refuse_same_file(case, {"--json": json, "--csv": csv})
    try:
        loaded = [load_case(case) for case in cases]
        with Progress() as progress:
            found = answer(loaded, [case.name for case in cases], progress.say)
    except CaseError as error:
        fail(str(error), WRONG_CASE)
    give(found, json, csv)
    if not found.solved:
        raise typer.Exit(UNSOLVED)
