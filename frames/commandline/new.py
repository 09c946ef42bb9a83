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
        typer.Option("--example", help="Which one: four_rings or hybrid.", metavar="NAME"),
    ] = "four_rings",
) -> None:
    """Write a case file to start from: an invented frame of four rings and eight wires.

    Every key of a case file is explained in it. The example "hybrid" has wires above and half-pins
    below, olives, posts, an oblique fracture whose ends touch, nut turns and a history of loads.
    """
    from frames.atomic import write_whole
    from frames.demo import EXAMPLES, demo_text

    if example not in EXAMPLES:
        fail(f"--example: there is no {example!r}; there are {', '.join(EXAMPLES)}.", WRONG_CASE)

    if file.exists() and not force:
        fail(f"{file} exists already; choose another name, or replace it with --force.", WRONG_CASE)
    try:
        write_whole(file, demo_text(example))
    except OSError as error:
        fail(f"cannot write {file}: {error.strerror or error}.", NOT_WRITTEN)
    typer.echo(f"Wrote {file}. Check it with: tautring check {file}")
