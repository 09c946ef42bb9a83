"""``tautring tensioning``."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from frames.commandline.answering import Say, answered
from frames.commandline.app import NOT_WRITTEN, WRONG_CASE, app
from frames.commandline.options import CaseFile, CsvFile, JsonFile
from frames.commandline.talking import fail, refuse_same_file, write

if TYPE_CHECKING:
    from frames.casefile import Case
    from frames.tension_sheet import TensionSheet


@app.command()
def tensioning(
    case: CaseFile,
    best: Annotated[
        bool,
        typer.Option("--best-order", help="Seek the order that leaves the tensions most alike."),
    ] = False,
    within_percent: Annotated[
        float, typer.Option("--within-percent", help="How far off a tension may end.")
    ] = 10.0,
    write_case: Annotated[
        Path | None,
        typer.Option("--write", help="Write the case in the best order here.", metavar="FILE"),
    ] = None,
    json: JsonFile = None,
    csv: CsvFile = None,
) -> None:
    """Tension the wires in order: dials, take-up, tap tones, what to tension once more, winding.

    With pretension = "final" in the case: what to dial so that every wire comes out at its tension.
    With "dialled": what comes out of the tensions as dialled. The search for the best order takes
    about a minute for eight wires.
    """
    from frames.casefile import case_to_toml
    from frames.tension_sheet import in_order, tension_sheet

    if write_case is not None and not best:
        fail("--write: goes with --best-order, which is not given.", WRONG_CASE)
    if not 0.0 < within_percent < 100.0:
        fail(f"--within-percent: must be between 0 and 100 (got {within_percent:g}).", WRONG_CASE)
    refuse_same_file(case, {"--json": json, "--csv": csv, "--write": write_case})
    loaded: list[Case] = []

    def answer(of: "Case", say: Say) -> "TensionSheet":
        loaded.append(of)
        return tension_sheet(of, say, within_percent=within_percent, with_best_order=best)

    found: TensionSheet = answered(case, json, csv, answer)  # type: ignore[assignment]
    if write_case is not None and found.best is not None:
        text = case_to_toml(in_order(loaded[0], found.best))
        if not write(write_case, text):
            raise typer.Exit(NOT_WRITTEN)
