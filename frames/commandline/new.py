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
            "--example",
            help="Which one: four_rings, hybrid, measurements, study or sampled-study.",
            metavar="NAME",
        ),
    ] = "four_rings",
) -> None:
    """Write a case file to start from: an invented frame of four rings and eight wires.

    Every key of a case file is explained in it. The example "hybrid" has wires above and half-pins
    below, olives, posts, an oblique fracture whose ends touch, nut turns and a history of loads.
    "measurements" is no case but what tautring draft makes one from. "study" and "sampled-study"
    are study files, of every combination of some values and of drawn ones; the case they start
    from, four_rings.toml, is written beside them unless a file of that name is there already.
    """
    from frames.atomic import write_whole
    from frames.demo import EXAMPLES, MEASUREMENTS, STUDIES, STUDY_CASE, demo_text

    known = (*EXAMPLES, MEASUREMENTS, *STUDIES)
    if example not in known:
        fail(f"--example: there is no {example!r}; there are {', '.join(known)}.", WRONG_CASE)
    case = file.parent / f"{STUDY_CASE}.toml" if example in STUDIES else None
    if case is not None and case.resolve() == file.resolve():
        fail(
            f"{file} is the name of the case that the study starts from; choose another.",
            WRONG_CASE,
        )
    if file.exists() and not force:
        fail(f"{file} exists already; choose another name, or replace it with --force.", WRONG_CASE)

    def put(path: Path, name: str) -> None:
        try:
            write_whole(path, demo_text(name))
        except OSError as error:
            fail(f"cannot write {path}: {error.strerror or error}.", NOT_WRITTEN)

    if case is not None and not case.exists():
        put(case, STUDY_CASE)
        typer.echo(f"Wrote {case}, the case that the study starts from.")
    put(file, STUDIES.get(example, example))
    then = f"Check it with: tautring check {file}"
    if example == MEASUREMENTS:
        then = f"Draft a frame from it with: tautring draft {file} my_draft.toml"
    elif example in STUDIES:
        then = f"Run it with: tautring study {file}"
    typer.echo(f"Wrote {file}. {then}")
