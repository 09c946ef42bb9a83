"""``tautring new``."""

from pathlib import Path
from typing import Annotated

import typer

from frames.commandline.app import NOT_WRITTEN, WRONG_CASE, app
from frames.commandline.talking import fail


@app.command()
def new(
    file: Annotated[Path, typer.Argument(help="Where to write it, for example my_frame.toml.")],
    force: Annotated[bool, typer.Option("--force", help="Replace the file if it exists.")] = False,
    example: Annotated[
        str,
        typer.Option(
            "--example", help="Which one: four_rings, hybrid or measurements.", metavar="NAME"
        ),
    ] = "four_rings",
) -> None:
    """Write a case file to start from: an invented frame of four rings and eight wires.

    Every key of a case file is explained in it. The example "hybrid" has wires above and half-pins
    below, olives, posts, an oblique fracture whose ends touch, nut turns and a history of loads.
    "measurements" is no case but what tautring draft makes one from.
    """
    from frames.atomic import write_whole
    from frames.demo import EXAMPLES, MEASUREMENTS, demo_text

    known = (*EXAMPLES, MEASUREMENTS)
    if example not in known:
        fail(f"--example: there is no {example!r}; there are {', '.join(known)}.", WRONG_CASE)

    if file.exists() and not force:
        fail(f"{file} exists already; choose another name, or replace it with --force.", WRONG_CASE)
    try:
        write_whole(file, demo_text(example))
    except OSError as error:
        fail(f"cannot write {file}: {error.strerror or error}.", NOT_WRITTEN)
    then = f"Check it with: tautring check {file}"
    if example == MEASUREMENTS:
        then = f"Draft a frame from it with: tautring draft {file} my_draft.toml"
    typer.echo(f"Wrote {file}. {then}")
