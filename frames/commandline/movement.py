"""``tautring movement``."""

from frames.commandline.answering import answered
from frames.commandline.app import app
from frames.commandline.options import CaseFile, CsvFile, JsonFile


@app.command()
def movement(
    case: CaseFile,
    json: JsonFile = None,
    csv: CsvFile = None,
) -> None:
    """Movement and strain of the bone ends round the cortex under each load, against windows.

    Windows of your own: [[window]] in the case file.
    """
    from frames.moving import movement as answer

    answered(case, json, csv, lambda loaded, _say: answer(loaded))
