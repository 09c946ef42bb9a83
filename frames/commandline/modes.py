"""``tautring modes``."""

from frames.commandline.answering import answered
from frames.commandline.app import app
from frames.commandline.options import CaseFile, CsvFile, JsonFile


@app.command()
def modes(
    case: CaseFile,
    json: JsonFile = None,
    csv: CsvFile = None,
) -> None:
    """Natural frequencies of the tensioned construct, and buckling factors of every load."""
    from frames.vibration import modes as answer

    answered(case, json, csv, lambda loaded, _say: answer(loaded))
