"""What is said on the terminal, and files written."""

import os
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any, NoReturn

import typer

from frames.commandline.app import WRONG_CASE

_MOODS: dict[str, dict[str, object]] = {
    "heading": {"bold": True},
    "good": {"fg": "green"},
    "bad": {"fg": "red", "bold": True},
    "warning": {"fg": "yellow"},
    "faint": {"dim": True},
}


def show(lines: Iterable[Any]) -> None:
    colour = None if "NO_COLOR" not in os.environ else False  # None: only on a terminal
    for line in lines:
        styled = typer.style(line.text, **_MOODS[line.mood]) if line.mood else line.text  # type: ignore[arg-type]
        typer.echo(styled, color=colour)


def write(path: Path, text: str) -> bool:
    from frames.atomic import write_whole

    try:
        write_whole(path, text)
    except OSError as error:
        say(f"cannot write {path}: {error.strerror or error}.")
        return False
    typer.echo(f"Wrote {path}")
    return True


def refuse_same_file(
    case: Path, outputs: dict[str, Path | None], what: str = "the case file"
) -> None:
    """Nothing is written over the file that is read, and no two outputs into one file."""
    taken = {case.resolve(): what}
    for option, path in outputs.items():
        if path is None:
            continue
        if path.resolve() in taken:
            fail(f"{option} {path}: this is {taken[path.resolve()]}; name another.", WRONG_CASE)
        taken[path.resolve()] = f"the file of {option}"


class Progress:
    """One line on the terminal that tells how far the work has come; silent when it is none."""

    def __enter__(self) -> "Progress":
        self._shown = sys.stderr.isatty()
        return self

    def say(self, words: str) -> None:
        if self._shown:
            typer.echo(f"\r\033[K{words} …", err=True, nl=False)

    def __exit__(self, *_: object) -> None:
        if self._shown:
            typer.echo("\r\033[K", err=True, nl=False)


def say(message: str) -> None:
    typer.echo(f"tautring: {message}", err=True)


def fail(message: str, status: int) -> NoReturn:
    """Say what is wrong and end with this status."""
    say(message)
    raise typer.Exit(status)
