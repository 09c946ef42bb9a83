"""``tautring effects``."""

from collections.abc import Iterable
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from frames.commandline.answering import give
from frames.commandline.app import NOT_WRITTEN, WRONG_CASE, app
from frames.commandline.options import CsvFile, JsonFile
from frames.commandline.talking import Progress, fail, refuse_same_file, say

if TYPE_CHECKING:  # loaded when used: help has to come at once
    from frames.studytable import Effects


class PictureFormat(StrEnum):
    """Of the pictures."""

    png = "png"
    svg = "svg"
    both = "both"


@app.command()
def effects(
    folder: Annotated[
        Path,
        typer.Argument(
            help="The folder of a finished study; 'tautring study' makes one.", metavar="FOLDER"
        ),
    ],
    json: JsonFile = None,
    csv: CsvFile = None,
    output: Annotated[
        list[str] | None,
        typer.Option(
            "--output", help="Answer for this output only (may be repeated).", metavar="NAME"
        ),
    ] = None,
    more: Annotated[
        list[str] | None,
        typer.Option(
            "--more", help="For the front: more of this output is better.", metavar="NAME"
        ),
    ] = None,
    less: Annotated[
        list[str] | None,
        typer.Option(
            "--less", help="For the front: less of this output is better.", metavar="NAME"
        ),
    ] = None,
    map: Annotated[
        tuple[str, str, str] | None,
        typer.Option(
            "--map",
            help="An output over two parameters: numbers in the files, drawn with --pictures.",
            metavar="PARAMETER PARAMETER OUTPUT",
        ),
    ] = None,
    pictures: Annotated[
        Path | None,
        typer.Option(
            "--pictures", help="Draw charts into this folder, made if need be.", metavar="DIR"
        ),
    ] = None,
    format: Annotated[
        PictureFormat, typer.Option("--format", help="Of the pictures, for print.")
    ] = PictureFormat.png,
) -> None:
    """What the table of a study says: which parameter moves which output, and by how much.

    Effects of every parameter and pairs that interact, ranked by their share of the variance (a
    grid gives exact shares, sampled designs estimates); Sobol indices with bounds for the method
    "saltelli"; the Pareto front of stiffness, wires and mass or of --more and --less. Names are
    the headings of the table. Designs without values are left out and told.

    \b
    Exit status:
      0  the answers are there
      2  the folder is no finished study, or a name or the command is wrong
      4  an output file could not be written
      130  it was stopped (Ctrl-C)
    """
    from frames.studyrun import FolderError, open_study, study_table
    from frames.studytable import AskingError
    from frames.studytable import effects as answer

    for path in (folder / "study.toml", folder / "case.toml", folder / "index.json"):
        refuse_same_file(path, {"--json": json, "--csv": csv})
    try:
        found = answer(
            open_study(folder),
            study_table(folder),
            outputs=output or (),
            more=more or (),
            less=less or (),
            over=map,
        )
    except (AskingError, FolderError) as error:
        fail(str(error), WRONG_CASE)
    give(found, json, csv)
    if pictures is not None:
        forms = ("png", "svg") if format is PictureFormat.both else (format.value,)
        _draw(found, pictures, forms)


def _draw(found: "Effects", folder: Path, forms: Iterable[str]) -> None:
    from frames.picture import PictureError
    from frames.picture.chart_drawing import draw_chart
    from frames.studytable.sheets import sheets_of

    sheets = list(sheets_of(found))
    drawn = 0
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with Progress() as progress:
            for number, (name, sheet) in enumerate(sheets, start=1):
                progress.say(f"drawing {name} ({number} of {len(sheets)})")
                paths = [folder / f"{name}.{form}" for form in forms]
                draw_chart(sheet, *paths)
                drawn += len(paths)
    except PictureError as error:
        say(str(error))
        raise typer.Exit(NOT_WRITTEN) from error
    except OSError as error:
        say(f"cannot make {folder}: {error.strerror or error}.")
        raise typer.Exit(NOT_WRITTEN) from error
    typer.echo(f"Wrote {drawn} pictures to {folder}")
