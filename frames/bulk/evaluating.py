"""Numbers of many designs: one row each.

Designs of one topology are solved together, ``TOGETHER`` at a time (``frames.bulk.group``); frames
that go in no group (wires that grip, slip or yield, bone ends that touch, nuts turned) one by one.
What fails in a group is solved once more by itself, so that its reason is the one that ``check``
gives.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

from fem import FemError
from frames.bulk.asked import needs_solving, pared, solved_outputs
from frames.bulk.group import BY_ITSELF, Values, group_key, ready, solve_group
from frames.bulk.single import single_row
from frames.casefile import Case
from frames.construct import Construct, construct
from frames.discretise import LaidOut
from frames.judging import judge
from frames.outputs import OF_DESIGN, OF_TARGETS, Output, of_design, of_targets

TOGETHER = 48
"""Designs solved side by side: more would save little time and need more memory."""


@dataclass(frozen=True)
class Row:
    """values in the order of the outputs, None where a design has none; reason: why it has none,
    in one sentence, None for a design with all its values."""

    values: tuple[float | None, ...]
    reason: str | None = None


def evaluate(cases: Sequence[Case], outputs: Sequence[Output]) -> list[Row]:
    """The outputs of every case, in order. A frame that cannot be solved has its reason in place of
    values."""
    rows: list[Row] = []
    for start in range(0, len(cases), TOGETHER):
        rows += _chunk(cases[start : start + TOGETHER], outputs)
    return rows


def _chunk(cases: Sequence[Case], outputs: Sequence[Output]) -> list[Row]:
    rows: list[Row | None] = [None] * len(cases)
    groups: dict[Hashable, list[tuple[int, LaidOut]]] = {}
    if needs_solving(outputs):
        for number, case in enumerate(cases):
            laid = _laid_out(pared(case, outputs), outputs)
            if laid is not None:
                groups.setdefault(group_key(laid), []).append((number, laid))
    for members in groups.values():
        group = [laid for _, laid in members]
        wanted = solved_outputs(group[0].construct.case, outputs)
        for (number, laid), values in zip(members, _solved(group, wanted), strict=True):
            if values is not None:
                rows[number] = Row(_row(laid.construct, outputs, values))
    return [row or _by_itself(case, outputs) for row, case in zip(rows, cases, strict=True)]


def _laid_out(case: Case, outputs: Sequence[Output]) -> LaidOut | None:
    """For a group, None when the case goes in none."""
    wanted = solved_outputs(case, outputs)
    if any(o.quantity in BY_ITSELF for o in wanted):
        return None
    try:
        return ready(case)
    except FemError:
        return None


def _solved(group: Sequence[LaidOut], wanted: Sequence[Output]) -> Sequence[Values | None]:
    try:
        return solve_group(group, wanted)
    except FemError:  # one that cannot even be put together: each by itself
        return [None] * len(group)


def _row(place: Construct, outputs: Sequence[Output], values: Values) -> tuple[float | None, ...]:
    out: list[float | None] = []
    for o in outputs:
        if o.quantity in OF_DESIGN:
            out.append(of_design(o.quantity, place))
        elif o.quantity in OF_TARGETS:
            judged = [(t, values[Output(t.quantity, t.load)]) for t in place.case.target]
            results = [judge(t, v) for t, v in judged if v is not None]
            out.append(of_targets(o.quantity, results))
        else:
            out.append(values[o])
    return tuple(out)


def _by_itself(case: Case, outputs: Sequence[Output]) -> Row:
    if not needs_solving(outputs):
        place = construct(case)
        return Row(tuple(of_design(o.quantity, place) for o in outputs))
    try:
        return Row(single_row(pared(case, outputs), outputs))
    except FemError as error:
        return Row((None,) * len(outputs), " ".join(str(error).split()))
