"""``tautring tone``."""

from typing import Annotated

import typer

from frames.commandline.answering import Say, answered
from frames.commandline.app import WRONG_CASE, app
from frames.commandline.options import CaseFile, CsvFile, JsonFile
from frames.commandline.talking import fail


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
    csv: CsvFile = None,
) -> None:
    """The tension of a wire from the tone of a tap on one of its legs, with its uncertainty."""
    from frames.casefile import Case
    from frames.heard_tone import ToneAnswer, tone_answer
    from frames.tone_tension import ToneError

    def answer(loaded: Case, _say: Say) -> ToneAnswer:
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
            fail(str(error), WRONG_CASE)

    answered(case, json, csv, answer)
