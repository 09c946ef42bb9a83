"""``tautring search``."""

import signal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from frames.commandline.answering import Say, answered
from frames.commandline.app import MISSED, NOT_WRITTEN, STOPPED, UNSOLVED, app
from frames.commandline.options import CaseFile, CsvFile, JsonFile
from frames.commandline.talking import refuse_same_file, say, write

if TYPE_CHECKING:
    from frames.casefile import Case
    from frames.searching import Found


@app.command()
def search(
    case: CaseFile,
    write_case: Annotated[
        Path | None,
        typer.Option("--write", help="Write the case with the best frame here.", metavar="FILE"),
    ] = None,
    runners_up: Annotated[
        int, typer.Option("--runners-up", min=0, max=20, help="How many others to tell of.")
    ] = 2,
    seed: Annotated[
        int,
        typer.Option(
            "--seed", min=0, help="Of what is left to chance where the grid is too large."
        ),
    ] = 0,
    json: JsonFile = None,
    csv: CsvFile = None,
) -> None:
    """The fewest wires that meet all targets, and the frame that does so with the highest smallest
    margin, inside corridors and room.

    Rings, rods and half-pins stay as they are; the wires are laid anew, two on a ring at most.
    [search] in the case file says what may be chosen. Takes some minutes for a frame of four rings.

    \b
    Exit status:
      0  a frame was found that meets all targets and fits
      1  none was found: the best is told, and by how much it falls short
      2  the case file or the command is wrong
      3  no frame can be solved
      4  an output file could not be written
      130  it was stopped (Ctrl-C): the best until then is told
    """
    from frames.casefile import case_to_toml
    from frames.searching import search as answer

    refuse_same_file(case, {"--json": json, "--csv": csv, "--write": write_case})

    def found_in(of: "Case", tell: Say) -> "Found":
        before = signal.signal(signal.SIGINT, signal.default_int_handler)
        try:
            return answer(of, runners_up, seed, tell)
        finally:
            signal.signal(signal.SIGINT, before)

    found: Found = answered(case, json, csv, found_in)  # type: ignore[assignment]
    written = True
    if write_case is not None:
        if found.best is None:
            say("--write: no frame was solved; nothing was written.")
            written = False
        else:
            written = write(write_case, case_to_toml(found.best.case))
    _end(found, written)


def _end(found: "Found", written: bool) -> None:
    if found.stopped:
        raise typer.Exit(STOPPED)
    if not written:
        raise typer.Exit(NOT_WRITTEN)
    if found.best is None:
        raise typer.Exit(UNSOLVED)
    if not found.good:
        raise typer.Exit(MISSED)
