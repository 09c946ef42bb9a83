"""``tautring fit``."""

from typing import TYPE_CHECKING

import typer

from frames.commandline.answering import answered
from frames.commandline.app import MISSED, app
from frames.commandline.options import CaseFile, CsvFile, JsonFile

if TYPE_CHECKING:
    from frames.fitting import Fit


@app.command()
def fit(
    case: CaseFile,
    json: JsonFile = None,
    csv: CsvFile = None,
) -> None:
    """Does the frame fit: room for the leg before and after swelling, parts against each other,
    corridors, crossing angles.

    \b
    Exit status:
      0  nothing was found that does not fit
      1  something does not fit, or was not measured where it has to be
      2  the case file or the command is wrong
    """
    from frames.fitting import fit as answer

    found: Fit = answered(case, json, csv, lambda loaded, _say: answer(loaded))  # type: ignore[assignment]
    if not found.fits:
        raise typer.Exit(MISSED)
