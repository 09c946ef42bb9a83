"""The command ``tautring``: thin; every answer comes from the functions that a notebook calls too.

Exit status of ``check``: 0 targets met (or none set), 1 a target missed, 2 the case file or the
command line is wrong, 3 the model cannot be solved; 4 an output file could not be written; 130 it
was stopped.
"""

import os
import signal
import sys
from collections.abc import Callable, Iterable
from json import dumps
from pathlib import Path
from typing import Annotated, Any, Protocol, TypeVar

import typer

MISSED, WRONG_CASE, UNSOLVED, NOT_WRITTEN, STOPPED = 1, 2, 3, 4, 130

CaseFile = Annotated[
    Path, typer.Argument(help="The case file (TOML); 'tautring new' writes one.", metavar="CASE")
]
JsonFile = Annotated[
    Path | None,
    typer.Option("--json", help="Write all results to this JSON file.", metavar="FILE"),
]

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
    rich_markup_mode=None,
)

_ABOUT = """Stiffness of a ring-and-wire frame at the fracture gap.

\b
Start with the demo and look at what comes out:
    tautring new my_frame.toml
    tautring check my_frame.toml --picture my_frame.png

Then change my_frame.toml (every key is explained in it) and check again.

A calculation aid for trained people: it advises, the licensed clinician in charge decides; local
rules come first."""


@app.callback(help=_ABOUT)
def _tautring() -> None:
    pass


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
        _fail(f"--example: there is no {example!r}; there are {', '.join(EXAMPLES)}.", WRONG_CASE)

    if file.exists() and not force:
        _fail(
            f"{file} exists already; choose another name, or replace it with --force.", WRONG_CASE
        )
    try:
        write_whole(file, demo_text(example))
    except OSError as error:
        _fail(f"cannot write {file}: {error.strerror or error}.", NOT_WRITTEN)
    typer.echo(f"Wrote {file}. Check it with: tautring check {file}")


@app.command()
def check(
    case: CaseFile,
    json: JsonFile = None,
    csv: Annotated[
        Path | None,
        typer.Option("--csv", help="Write all numbers to this CSV table.", metavar="FILE"),
    ] = None,
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

    _refuse_same_file(case, {"--json": json, "--csv": csv, "--picture": picture})
    try:
        loaded = load_case(case)
        if picture_load is not None and picture_load not in [load.name for load in loaded.load]:
            names = ", ".join(repr(load.name) for load in loaded.load) or "none"
            _fail(
                f"--picture-load: no load is called {picture_load!r}; the case has {names}.",
                WRONG_CASE,
            )
        with _Progress() as progress:
            checked = check_with_states(loaded, progress.say)
        result = named_after(checked.result, case)
    except CaseError as error:
        _fail(str(error), WRONG_CASE)
    except FemError as error:
        _fail(str(error), UNSOLVED)
    _print(printout(result))
    written = True
    for path, text in ((json, result.to_json), (csv, result.to_csv)):
        written = _write(path, text()) and written if path is not None else written
    if picture is not None:
        written = _draw(checked, picture, picture_load) and written
    if not written:
        raise typer.Exit(NOT_WRITTEN)
    if not result.meets:
        raise typer.Exit(MISSED)


@app.command()
def tensioning(
    case: CaseFile,
    json: JsonFile = None,
) -> None:
    """Tension the wires in order: dials, take-up at the tensioner, tap tones, what is left.

    With pretension = "final" in the case: what to dial so that every wire comes out at its tension.
    With "dialled": what comes out of the tensions as dialled.
    """
    from frames.dialling import tensioning as answer
    from frames.dialling import tensioning_lines

    _answer(case, json, answer, tensioning_lines)


@app.command()
def modes(
    case: CaseFile,
    json: JsonFile = None,
) -> None:
    """Natural frequencies of the tensioned construct, and buckling factors of every load."""
    from frames.vibration import modes as answer
    from frames.vibration import modes_lines

    _answer(case, json, answer, modes_lines)


@app.command()
def tone(
    case: CaseFile,
    wire: Annotated[str, typer.Option("--wire", help="Name of the wire.")],
    heard: Annotated[float, typer.Option("--heard", help="The tone heard, Hz.")],
    leg: Annotated[
        str, typer.Option("--leg", help="The leg that was tapped: start or end.")
    ] = "start",
    within: Annotated[
        float, typer.Option("--within", help="How far off the tone may be heard, Hz.")
    ] = 3.2,
    free_share: Annotated[
        float | None,
        typer.Option("--free-share", help="Share of the leg, from the clamp, free to sound."),
    ] = None,
    other_leg: Annotated[
        float | None,
        typer.Option("--other-leg", help="Tension of the other leg, N, where it differs."),
    ] = None,
    json: JsonFile = None,
) -> None:
    """The tension of a wire from the tone of a tap on one of its legs, with its uncertainty."""
    from frames.casefile import Case
    from frames.heard_tone import ToneAnswer, tone_answer
    from frames.tone_tension import ToneError

    def answer(loaded: Case) -> ToneAnswer:
        try:
            return tone_answer(
                loaded,
                wire,
                leg,
                heard,
                listening_error_Hz=within,
                free_share=free_share,
                other_leg_N=other_leg,
            )
        except ToneError as error:
            _fail(str(error), WRONG_CASE)
            raise

    _answer(case, json, answer, ToneAnswer.lines)


class _Answer(Protocol):
    def to_dict(self) -> dict[str, Any]: ...


_A = TypeVar("_A", bound=_Answer)


def _answer(
    case: Path,
    json: Path | None,
    answer: Callable[[Any], _A],
    lines: Callable[[_A], Iterable[Any]],
) -> None:
    """Load, answer, print, write."""
    from fem import FemError
    from frames.casefile import CaseError, load_case

    _refuse_same_file(case, {"--json": json})
    try:
        found = answer(load_case(case))
    except CaseError as error:
        _fail(str(error), WRONG_CASE)
    except FemError as error:
        _fail(str(error), UNSOLVED)
    _print(lines(found))
    if json is not None:
        text = dumps(found.to_dict(), indent=2, ensure_ascii=False, allow_nan=False) + "\n"
        if not _write(json, text):
            raise typer.Exit(NOT_WRITTEN)


def _refuse_same_file(case: Path, outputs: dict[str, Path | None]) -> None:
    """Nothing is written over the case file, and no two outputs into one file."""
    taken = {case.resolve(): "the case file"}
    for option, path in outputs.items():
        if path is None:
            continue
        if path.resolve() in taken:
            _fail(f"{option} {path}: this is {taken[path.resolve()]}; name another.", WRONG_CASE)
        taken[path.resolve()] = f"the file of {option}"


_MOODS: dict[str, dict[str, object]] = {
    "heading": {"bold": True},
    "good": {"fg": "green"},
    "bad": {"fg": "red", "bold": True},
    "warning": {"fg": "yellow"},
    "faint": {"dim": True},
}


def _print(lines: Iterable[Any]) -> None:
    colour = None if "NO_COLOR" not in os.environ else False  # None: only on a terminal
    for line in lines:
        styled = typer.style(line.text, **_MOODS[line.mood]) if line.mood else line.text  # type: ignore[arg-type]
        typer.echo(styled, color=colour)


def _write(path: Path, text: str) -> bool:
    from frames.atomic import write_whole

    try:
        write_whole(path, text)
    except OSError as error:
        _say(f"cannot write {path}: {error.strerror or error}.")
        return False
    typer.echo(f"Wrote {path}")
    return True


def _draw(checked: object, path: Path, load: str | None) -> bool:
    from frames.checking import Checked
    from frames.picture import PictureError, draw
    from frames.scene_of import frame_scene

    assert isinstance(checked, Checked)
    try:
        drawn = draw(frame_scene(checked, load), path)
    except PictureError as error:
        _say(str(error))
        return False
    how = f" (drawn by {drawn.engine}: {drawn.reason})" if drawn.reason else ""
    typer.echo(f"Wrote {path}{how}")
    return True


class _Progress:
    """One line on the terminal that tells how far the work has come; silent when it is none."""

    def __enter__(self) -> "_Progress":
        self._shown = sys.stderr.isatty()
        return self

    def say(self, words: str) -> None:
        if self._shown:
            typer.echo(f"\r\033[K{words} …", err=True, nl=False)

    def __exit__(self, *_: object) -> None:
        if self._shown:
            typer.echo("\r\033[K", err=True, nl=False)


def _say(message: str) -> None:
    typer.echo(f"tautring: {message}", err=True)


def _fail(message: str, status: int) -> None:
    _say(message)
    raise typer.Exit(status)


def _stopped(_signal: int, _frame: object) -> None:
    """Ctrl-C: no traceback, and not the status of a missed target."""
    _say("stopped; no file was written.")
    raise SystemExit(STOPPED)


def main() -> None:
    """Entry point of the command."""
    # the matrices are small: threads of the linear algebra library only get in each other's way
    for library in ("OPENBLAS", "OMP", "MKL"):
        os.environ.setdefault(f"{library}_NUM_THREADS", "1")
    signal.signal(signal.SIGINT, _stopped)
    # output of this program is UTF-8 also where the system's habit is another
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    app()
