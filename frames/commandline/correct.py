"""``tautring correct``."""

from typing import TYPE_CHECKING, Annotated

import typer

from frames.commandline.answering import answered
from frames.commandline.app import WRONG_CASE, app
from frames.commandline.options import CaseFile, CsvFile, JsonFile
from frames.commandline.talking import fail

if TYPE_CHECKING:
    from frames.casefile import Case


@app.command()
def correct(
    case: CaseFile,
    fragment: Annotated[
        str | None,
        typer.Option("--fragment", help="The fragment to move: proximal or distal."),
    ] = None,
    towards: Annotated[
        str | None,
        typer.Option(
            "--towards", help="anterior, medial, posterior, lateral, or a bearing in degrees."
        ),
    ] = None,
    by: Annotated[float | None, typer.Option("--by", help="How far, mm.")] = None,
    tissue: Annotated[
        float | None,
        typer.Option("--tissue", help="Stiffness with which soft tissue holds it back, N/mm."),
    ] = None,
    json: JsonFile = None,
    csv: CsvFile = None,
) -> None:
    """Draw a fragment across with an olive wire: which wire, from which side, what pull, what
    springs back.

    Without options: the [[correction]] tables of the case.
    """
    from frames.correcting import correction

    table = _table(fragment, towards, by, tissue)
    answered(case, json, csv, lambda loaded, say: correction(_asking(loaded, table), say=say))


def _table(
    fragment: str | None, towards: str | None, by: float | None, tissue: float | None
) -> dict[str, object]:
    """A [[correction]] from the options; nothing when none is given."""
    given = {"--fragment": fragment, "--towards": towards, "--by": by}
    if all(value is None for value in (*given.values(), tissue)):
        return {}
    missing = [option for option, value in given.items() if value is None]
    if towards is None or missing:
        fail(f"{', '.join(missing)}: needed too, to say what is to be moved where.", WRONG_CASE)
    table: dict[str, object] = {"name": "wanted", "fragment": fragment, "by_mm": by}
    if tissue is not None:
        table["soft_tissue_N_per_mm"] = tissue
    try:
        table["towards_bearing_deg"] = float(towards)
    except ValueError:
        table["towards"] = towards
    return table


def _asking(case: "Case", table: dict[str, object]) -> "Case":
    """The case with the correction of the options in place of its own."""
    if not table:
        return case
    from frames.casefile import case_from_dict

    raw = case.model_dump(exclude_unset=True, exclude_none=True)
    return case_from_dict({**raw, "correction": [table]}, "command line")
