"""``tautring check``."""

from pathlib import Path
from typing import Annotated

import typer

from frames.commandline.app import MISSED, NOT_WRITTEN, UNSOLVED, WRONG_CASE, app
from frames.commandline.options import CaseFile, CsvFile, JsonFile
from frames.commandline.talking import Progress, fail, refuse_same_file, say, show, write


@app.command()
def check(
    case: CaseFile,
    json: JsonFile = None,
    csv: CsvFile = None,
    picture: Annotated[
        Path | None,
        typer.Option("--picture", help="Draw the frame to this PNG file.", metavar="FILE"),
    ] = None,
    picture_load: Annotated[
        str | None,
        typer.Option(
            "--picture-load",
            help="Name of the load to draw; default: the largest one that leaves the gap open.",
            metavar="NAME",
        ),
    ] = None,
) -> None:
    """Check a frame: stiffness at the gap, movement and wires under each load, targets, warnings.

    \b
    Exit status:
      0  all targets are met, or none is set
      1  a target is missed
      2  the case file or the command is wrong (every mistake is listed)
      3  the frame cannot be solved, for example a fragment is free to move
      4  an output file could not be written
      130  it was stopped (Ctrl-C)
    """
    from fem import FemError
    from frames.casefile import CaseError, load_case
    from frames.checking import check_with_states, named_after
    from frames.printout import printout

    refuse_same_file(case, {"--json": json, "--csv": csv, "--picture": picture})
    try:
        loaded = load_case(case)
        if picture_load is not None and picture_load not in [load.name for load in loaded.load]:
            names = ", ".join(repr(load.name) for load in loaded.load) or "none"
            fail(
                f"--picture-load: no load is called {picture_load!r}; the case has {names}.",
                WRONG_CASE,
            )
        with Progress() as progress:
            checked = check_with_states(loaded, progress.say)
        result = named_after(checked.result, case)
    except CaseError as error:
        fail(str(error), WRONG_CASE)
    except FemError as error:
        fail(str(error), UNSOLVED)
    show(printout(result))
    written = True
    for path, text in ((json, result.to_json), (csv, result.to_csv)):
        written = write(path, text()) and written if path is not None else written
    if picture is not None:
        written = _draw(checked, picture, picture_load) and written
    if not written:
        raise typer.Exit(NOT_WRITTEN)
    if not result.meets:
        raise typer.Exit(MISSED)


def _draw(checked: object, path: Path, load: str | None) -> bool:
    from frames.checking import Checked
    from frames.picture import PictureError, draw
    from frames.scene_of import frame_scene

    assert isinstance(checked, Checked)
    try:
        drawn = draw(frame_scene(checked, load), path)
    except PictureError as error:
        say(str(error))
        return False
    how = f" (drawn by {drawn.engine}: {drawn.reason})" if drawn.reason else ""
    typer.echo(f"Wrote {path}{how}")
    return True
