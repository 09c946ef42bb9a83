"""``tautring spread``."""

from typing import TYPE_CHECKING, Annotated

import typer

from frames.commandline.answering import Say, answered
from frames.commandline.app import NOT_WRITTEN, app
from frames.commandline.options import CaseFile, CsvFile, JsonFile
from frames.commandline.talking import fail

if TYPE_CHECKING:
    from frames.casefile import Case
    from frames.spreading import Spread


@app.command()
def spread(
    case: CaseFile,
    designs: Annotated[
        int, typer.Option("--designs", help="How many frames are drawn.", metavar="NUMBER")
    ] = 1000,
    seed: Annotated[
        int,
        typer.Option(
            "--seed",
            help="Start of the random numbers: the same, the same frames.",
            metavar="NUMBER",
        ),
    ] = 0,
    workers: Annotated[
        int, typer.Option("--workers", min=1, help="Processes at work.", metavar="NUMBER")
    ] = 1,
    json: JsonFile = None,
    csv: CsvFile = None,
) -> None:
    """The chance of meeting the targets when the frame is built within tolerances.

    Draws frames within the tolerances of the case file ([[tolerance]]; without any, tension 5 %,
    bearing 3 degrees, level 1 mm, bone 20 %, listed in the answer), solves each, and says how the
    answers spread and which tolerance matters most.

    \b
    Exit status:
      0  answered, whatever the chances
      2  the case file or the command is wrong
      3  the frame as planned cannot be solved
      4  an output file could not be written
      130  it was stopped (Ctrl-C)
    """
    from frames.spreading import spread as answer
    from frames.studyrun import ClusterError

    def spreading(of: "Case", tell: Say) -> "Spread":
        return answer(of, designs, seed, workers, tell)

    try:
        answered(case, json, csv, spreading)
    except ClusterError as error:
        fail(str(error), NOT_WRITTEN)
