"""``tautring strength``."""

from frames.commandline.answering import answered
from frames.commandline.app import app
from frames.commandline.options import CaseFile, CsvFile, JsonFile


@app.command()
def strength(
    case: CaseFile,
    json: JsonFile = None,
    csv: CsvFile = None,
) -> None:
    """Stress of every part against yield, cycles, clamps, bearing on the bone, buckling.

    The part nearest to its limit comes first. Limits of materials of your own: [[endurance]]. Exit
    status 0 also where a part passes its limit: the words say so.
    """
    from frames.stressing import strength as answer

    answered(case, json, csv, answer)
