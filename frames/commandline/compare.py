"""``tautring compare``."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from frames.commandline.app import NOT_WRITTEN, UNSOLVED, WRONG_CASE, app
from frames.commandline.options import CsvFile, JsonFile
from frames.commandline.talking import Progress, fail, refuse_same_file, say, show, write

if TYPE_CHECKING:  # loaded when used: help has to come at once
    from frames.comparing import Comparison


@app.command()
def compare(
    cases: Annotated[
        list[Path],
        typer.Argument(
            help="Two case files or more; percent are against the first.", metavar="CASE CASE…"
        ),
    ],
    json: JsonFile = None,
    csv: CsvFile = None,
    picture: Annotated[
        Path | None,
        typer.Option(
            "--picture", help="Draw the numbers as bars to this PNG file.", metavar="FILE"
        ),
    ] = None,
) -> None:
    """Two frames or more side by side: stiffness, movement, targets, what differs.

    A frame that cannot be solved keeps its place and says why.

    \b
    Exit status:
      0  at least one frame can be solved, whatever its targets
      2  a case file or the command is wrong
      3  no frame can be solved
      4  an output file could not be written
      130  it was stopped (Ctrl-C)
    """
    from frames.answering import to_csv, to_json
    from frames.casefile import CaseError, load_case
    from frames.comparing import compare as answer

    if len(cases) < 2:
        fail("compare needs two case files or more; name another.", WRONG_CASE)
    for case in cases:
        refuse_same_file(case, {"--json": json, "--csv": csv, "--picture": picture})
    try:
        loaded = [load_case(case) for case in cases]
        with Progress() as progress:
            found = answer(loaded, [case.name for case in cases], progress.say)
    except CaseError as error:
        fail(str(error), WRONG_CASE)
    show(found.lines())
    written = True
    for path, text in ((json, to_json), (csv, to_csv)):
        written = (path is None or write(path, text(found))) and written
    if not found.solved:
        fail("none of these frames can be solved.", UNSOLVED)
    if picture is not None:
        written = _draw(found, picture) and written
    if not written:
        raise typer.Exit(NOT_WRITTEN)


def _draw(found: "Comparison", path: Path) -> bool:
    from frames.comparing.bars import bar_sheet
    from frames.picture import PictureError
    from frames.picture.bars import draw_bars

    try:
        draw_bars(bar_sheet(found), path)
    except PictureError as error:
        say(str(error))
        return False
    typer.echo(f"Wrote {path}")
    return True
