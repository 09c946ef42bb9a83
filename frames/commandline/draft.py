"""``tautring draft``."""

from pathlib import Path
from typing import Annotated

import typer

from frames.commandline.answering import give
from frames.commandline.app import NOT_WRITTEN, UNSOLVED, WRONG_CASE, app
from frames.commandline.options import CsvFile, JsonFile
from frames.commandline.talking import Progress, fail, refuse_same_file, write


@app.command()
def draft(
    measurements: Annotated[
        Path,
        typer.Argument(
            help="Measurements (TOML); 'tautring new FILE --example measurements' writes some.",
            metavar="MEASUREMENTS",
        ),
    ],
    case: Annotated[Path, typer.Argument(help="Where to write the case file.", metavar="CASE")],
    force: Annotated[bool, typer.Option("--force", help="Replace the file if it exists.")] = False,
    json: JsonFile = None,
    csv: CsvFile = None,
) -> None:
    """A first frame from measurements of the leg: rings, levels, wires, rods; a case to go on from.

    It can be checked as it stands, and is meant to be changed.
    """
    from fem import FemError
    from frames.casefile import CaseError
    from frames.drafting import draft as answer
    from frames.drafting import load_measurements

    outputs = {"CASE": case, "--json": json, "--csv": csv}
    for option, path in outputs.items():
        if path is not None and path.resolve() == measurements.resolve():
            fail(f"{option} {path}: these are the measurements; name another.", WRONG_CASE)
    refuse_same_file(measurements, outputs)
    if case.exists() and not force:
        fail(f"{case} exists already; choose another name, or replace it with --force.", WRONG_CASE)
    try:
        measured = load_measurements(measurements)
        with Progress() as progress:
            found = answer(measured, progress.say)
    except CaseError as error:
        fail(str(CaseError(error.problems, measurements.name)), WRONG_CASE)
    except FemError as error:
        fail(str(error), UNSOLVED)
    give(found, json, csv)
    if not write(case, found.to_toml()):
        raise typer.Exit(NOT_WRITTEN)
