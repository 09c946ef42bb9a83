"""``tautring study``."""

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from frames.commandline.app import NOT_WRITTEN, STOPPED, UNSOLVED, WRONG_CASE, app
from frames.commandline.talking import Progress, fail, refuse_same_file, say, show

if TYPE_CHECKING:  # loaded when used: help has to come at once
    from frames.studyfile import Study
    from frames.studyrun import Summary


@app.command()
def study(
    file: Annotated[
        Path,
        typer.Argument(
            help="A study file (TOML), or the folder of a study to go on with.", metavar="STUDY"
        ),
    ],
    output: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--output",
            help="Folder that keeps the rows; by default named like the study file, beside it.",
            metavar="FOLDER",
        ),
    ] = None,
    workers: Annotated[
        int | None,
        typer.Option(
            "--workers", min=1, help="Processes at work; by default one for each core.", metavar="N"
        ),
    ] = None,
    cluster: Annotated[
        str | None,
        typer.Option(
            "--cluster",
            help="Work on a dask cluster: address of its scheduler, such as tcp://host:8786; or "
            "local:N for one of N processes made here.",
            metavar="ADDRESS",
        ),
    ] = None,
    csv: Annotated[
        Path | None,
        typer.Option("--csv", help="Write the finished table to this CSV file.", metavar="FILE"),
    ] = None,
    parquet: Annotated[
        Path | None,
        typer.Option(
            "--parquet", help="Write the finished table to this Parquet file.", metavar="FILE"
        ),
    ] = None,
) -> None:
    """Solve all designs of a study: a row of numbers for each, kept in a folder as they come.

    A design that cannot be built or solved has the reason in its row. Stopped, killed or out of
    disk space, the study goes on where it was when the same command is run again, and the table
    comes out the same. The folder can be read from Python (frames.study_table) while there is
    more to come; "tautring study FOLDER" goes on with a folder alone.

    \b
    Exit status:
      0  all rows are there, be it with a reason in place of numbers
      2  the study file, its case file or the command is wrong
      3  no design could be solved
      4  the folder is refused or could not be written, or an output file
      130  it was stopped (Ctrl-C)
    """
    from frames.studyrun import FolderError, StudyRunError, run_study

    if cluster is not None and workers is not None:
        fail("--workers and --cluster exclude each other; leave one out.", WRONG_CASE)
    if file.is_dir() and output is not None:
        fail(f"{file} is a folder already: leave -o out to go on with it.", WRONG_CASE)
    outputs = {"--csv": csv, "--parquet": parquet}
    refuse_same_file(file, {"-o": output, **outputs}, "the study")
    try:
        loaded = _load(file)
        refuse_same_file(file.parent / loaded.case_name, outputs)
        folder = file if file.is_dir() else output or _folder_of(file)
        with _ctrl_c(folder), Progress() as progress:
            found = run_study(loaded, folder, workers=workers, cluster=cluster, say=progress.say)
    except FolderError as error:
        fail(str(error), NOT_WRITTEN)
    except StudyRunError as error:
        fail(str(error), WRONG_CASE)
    show(found.lines())
    typer.echo(f"Wrote {folder}")
    _export(found, outputs)
    if not found.solved:
        fail("no design of this study could be solved.", UNSOLVED)


def _load(file: Path) -> "Study":
    from frames.casefile import CaseError
    from frames.studyfile import load_study
    from frames.studyrun import open_study

    try:
        return open_study(file) if file.is_dir() else load_study(file)
    except CaseError as error:
        fail(str(error), WRONG_CASE)


def _folder_of(file: Path) -> Path:
    if not file.suffix:
        fail(f"{file}: name a folder for its rows with -o.", WRONG_CASE)
    return file.with_suffix("")


@contextmanager
def _ctrl_c(folder: Path) -> Iterator[None]:
    """Ctrl-C ends the run in order: finished rows are kept, workers stopped."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        yield
    except KeyboardInterrupt:
        fail(f"stopped; finished rows are kept. Go on with: tautring study {folder}", STOPPED)
    finally:
        signal.signal(signal.SIGINT, before)


def _export(found: "Summary", outputs: dict[str, Path | None]) -> None:
    from frames.studyrun import FolderError, write_csv, write_parquet

    writers: dict[str, Callable[[Path, Path], None]] = {
        "--csv": write_csv,
        "--parquet": write_parquet,
    }
    written = True
    for option, path in outputs.items():
        if path is None:
            continue
        try:
            writers[option](found.folder, path)
        except FolderError as error:
            say(str(error))
            written = False
        except OSError as error:
            say(f"cannot write {path}: {error.strerror or error}.")
            written = False
        else:
            typer.echo(f"Wrote {path}")
    if not written:
        raise typer.Exit(NOT_WRITTEN)
