"""``tautring mend``."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from frames.commandline.answering import Say, answered
from frames.commandline.app import NOT_WRITTEN, app
from frames.commandline.options import CaseFile, CsvFile, JsonFile
from frames.commandline.talking import refuse_same_file, say, write

if TYPE_CHECKING:
    from frames.casefile import Case
    from frames.mending import Mending


@app.command()
def mend(
    case: CaseFile,
    write_case: Annotated[
        Path | None,
        typer.Option("--write", help="Write the case with the best change here.", metavar="FILE"),
    ] = None,
    json: JsonFile = None,
    csv: CsvFile = None,
) -> None:
    """What would meet a missed target: single changes of the frame, each solved, best first.

    Tensions, crossing angles, levels and sections of rings, another wire, another size, another
    rod; what does not fit the leg is set apart. Takes ten seconds or so for a frame of four rings.
    """
    from frames.casefile import case_to_toml
    from frames.mending import mend as answer

    refuse_same_file(case, {"--json": json, "--csv": csv, "--write": write_case})

    def mended(of: "Case", tell: Say) -> "Mending":
        return answer(of, tell)

    found: Mending = answered(case, json, csv, mended)  # type: ignore[assignment]
    if write_case is None:
        return
    if found.best is None:
        why = "no change was found that helps and fits" if found.missed else "no target is missed"
        say(f"--write: {why}; nothing was written.")
        raise typer.Exit(NOT_WRITTEN)
    if not write(write_case, case_to_toml(found.best)):
        raise typer.Exit(NOT_WRITTEN)
