"""The tensioning of a frame in order: what to dial at each wire, or what comes out of what is
dialled.

With ``pretension = "final"`` the tensions of the case are wanted in the end, and the dials that
lead there are sought; with ``"dialled"`` they are the dials, and what comes out is told.
"""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from fem import MechanismError, make_system
from frames.built import built
from frames.casefile import Case, CaseError, Problem, replace
from frames.caution import CAUTION
from frames.dials import dials_for
from frames.discretise import POINTS, Discretised
from frames.freedom import explained
from frames.holding import wire_pulls
from frames.lines import Line, heading, table, wrapped
from frames.result_parts import StageResult, StageWire
from frames.stage_results import stage_results
from frames.staging import Tensioned, loose, tension_in_turn


@dataclass(frozen=True)
class Tensioning:
    """sought: whether the dials were sought for wanted tensions; stages in order; wanted_N of the
    legs at start and end of every wire, None where a leg follows from the rest."""

    title: str
    sought: bool
    stages: tuple[StageResult, ...]
    wanted_N: tuple[tuple[float | None, float | None], ...]

    @property
    def left(self) -> tuple[StageWire, ...]:
        """Wires after the last stage."""
        return self.stages[-1].left

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file."""
        return {"format": "tautring tensioning", "version": 1, **asdict(self), "caution": CAUTION}

    def lines(self) -> Iterator[Line]:
        """As text: one line per wire in order, then what every wire is left with."""
        yield from tensioning_lines(self)
        yield Line("")
        yield from wrapped(CAUTION, "", "faint")


def tensioning(case: Case) -> Tensioning:
    """Stages, dials, take-up and tones. Raises ``CaseError`` for a case without wires, ``FemError``
    when the frame cannot be solved."""
    if not case.wire:
        raise CaseError([Problem("wire", "the frame has no wires: there is nothing to tension")])
    sought = case.model.pretension == "final"
    parts = built(replace(case, {"model.pretension": "dialled"}))
    try:
        done = _tensioned(parts, sought=sought)
    except MechanismError as error:
        raise explained(error, parts) from error
    asked = tuple((_or_none(s), _or_none(e)) for s, e in wire_pulls(case).tolist())
    return Tensioning(case.case.title, sought, stage_results(parts.construct, done.stages), asked)


def _tensioned(parts: Discretised, *, sought: bool) -> Tensioned:
    system = make_system(parts.model, keep=[parts.point_node[p] for p in POINTS])
    law, u = loose(parts, system)
    if sought:
        return dials_for(parts, system, law, u)[1]
    return tension_in_turn(parts, system, law, u)


def _or_none(value: float) -> float | None:
    return None if np.isnan(value) else value


def tensioning_lines(answer: Tensioning) -> Iterator[Line]:
    """As text: one line per wire in order, then what every wire is left with."""
    yield from wrapped(answer.title, "", "heading")
    said = (
        "What to dial so that every wire comes out at its tension, in this order:"
        if answer.sought
        else "What comes out of the tensions dialled, in this order:"
    )
    yield from heading(said)
    rows = [
        ["stage", "wire", "dial", "take-up", "stretch", "ring", "tone", "then left"],
        ["", "", "N", "mm", "mm", "mm", "Hz", "N"],
    ]
    for number, stage in enumerate(answer.stages, start=1):
        left = {w.name: w for w in stage.left}
        pulled = {w.name: w for w in stage.pulled}
        for wire, dial, taken in zip(stage.tensioned, stage.dial_N, stage.take_up, strict=True):
            rows.append(
                [
                    str(number),
                    wire,
                    _ends(dial, "{:.0f}"),
                    f"{taken.start_mm + taken.end_mm:.2f}",
                    f"{taken.stretch_mm:.2f}",
                    f"{taken.closing_mm:.2f}",
                    _ends(pulled[wire].tone_Hz, "{:.0f}"),
                    _ends(left[wire].legs_N, "{:.0f}"),
                ]
            )
    yield from table(rows, header=2)
    yield from heading("After the last stage")
    rows = [["wire", "tension", "tone"], ["", "N", "Hz"]]
    for w in answer.left:
        rows.append([w.name, _ends(w.legs_N, "{:.0f}"), _ends(w.tone_Hz, "{:.0f}")])
    yield from table(rows, header=2)
    yield Line("  Two numbers: leg at the start, leg at the end (clamp to bone).", "faint")


def _ends(values: tuple[float | None, float | None], how: str) -> str:
    shown = ["-" if v is None else how.format(v) for v in values]
    if "-" in shown:
        return next((s for s in shown if s != "-"), "-")
    return shown[0] if shown[0] == shown[1] else "/".join(shown)
