"""``tautring tensioning``."""

from frames.commandline.answering import answered
from frames.commandline.app import app
from frames.commandline.options import CaseFile, CsvFile, JsonFile


@app.command()
def tensioning(
    case: CaseFile,
    json: JsonFile = None,
    csv: CsvFile = None,
) -> None:
    """Tension the wires in order: dials, take-up at the tensioner, tap tones, what is left.

    With pretension = "final" in the case: what to dial so that every wire comes out at its tension.
    With "dialled": what comes out of the tensions as dialled.
    """
    from frames.dialling import tensioning as answer

    answered(case, json, csv, lambda loaded, _say: answer(loaded))
