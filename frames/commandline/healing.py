"""``tautring healing``."""

from frames.commandline.answering import answered
from frames.commandline.app import app
from frames.commandline.options import CaseFile, CsvFile, JsonFile


@app.command()
def healing(
    case: CaseFile,
    json: JsonFile = None,
    csv: CsvFile = None,
) -> None:
    """Week by week while callus stiffens: the load that keeps movement in bounds, the frame's
    share, what would be measured.

    The curve of callus, the bounds and the activities stand in [healing] and [[activity]].
    """
    from frames.healing_course import healing as answer

    answered(case, json, csv, answer)
