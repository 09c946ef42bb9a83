"""Equilibrium under the load cases, in one step where the way does not matter, else in several.

Friction (wires in the bone, fracture faces), slip of clamps and yield of wires remember: every load
case starts from the unloaded frame and is raised in equal steps, so that the answer is that of a
first loading. An elastic frame is solved for its loads at once.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from fem import Law, Solution, solve
from fem.algebra import Array
from fem.stepping import Step, follow
from fem.system import Response
from frames.casefile import Case
from frames.loading import LoadVector
from frames.pretension import Pretensioned
from frames.wire_answers import span_tensions


@dataclass(frozen=True)
class State:
    """One solved state of one load case.

    level λ; u (n,); slackest_leg (w,) N, of the two legs of each wire; spans (w, 3) N, see
    ``frames.wire_answers``; peak_stress (w,) MPa; slid (w, 2) mm of wire through the cortices,
    slipped (w, 2) mm through the clamps since there was no load, all ways counted; opening (p,) mm
    of the points of the fracture faces, negative where they press, None for a case without; law:
    that of what follows.
    """

    level: float
    u: Array
    slackest_leg: Array
    spans: Array
    peak_stress: Array
    slid: Array
    slipped: Array
    opening: Array | None
    law: Law


@dataclass(frozen=True)
class LoadStates:
    """solution of all load cases at their full load; levels (k,) and steps on the way there (none
    when it was one step); laws: for each case, what holds from its full load on.
    """

    solution: Solution
    levels: tuple[float, ...]
    steps: tuple[Step, ...]
    laws: tuple[Law, ...]


def way_matters(case: Case) -> bool:
    """Whether the answer to a load depends on what came before."""
    return (
        case.model.wire_steel == "elastic-plastic"
        or any(w.grip_N > 0.0 or w.slip < inf for w in case.wire)
        or (case.bone.contact is not None and case.bone.contact.friction > 0.0)
    )


def solve_loads(pre: Pretensioned, vectors: Sequence[LoadVector]) -> LoadStates:
    """All load cases from the unloaded frame; at least one."""
    case = pre.parts.construct.case
    forces = np.array([v.force for v in vectors])
    words = [f"load {v.name!r}" for v in vectors]
    start = np.repeat(pre.u[None], len(vectors), axis=0)
    held = np.array([v.held for v in vectors])
    if not way_matters(case):
        solution = solve(pre.system, forces, pre.law, start, words, held=held)
        return LoadStates(solution, (), (), (pre.law,) * len(vectors))
    n = case.model.load_steps
    levels = tuple(k / n for k in range(1, n + 1))
    ways = np.array([level * forces for level in levels])
    steps = follow(pre.system, ways, pre.law, start, words, held=held)
    laws = tuple(steps[-1].law.one(i) for i in range(len(vectors)))
    return LoadStates(steps[-1].solution, levels, tuple(steps), laws)


def state_at(
    level: float,
    u: Array,
    response: Response,
    case: int | None,
    peak: Array,
    law: Law,
    below: State | None = None,
) -> State:
    """The state of one row of a response (None: it has no axis of cases); peak (w,); below: the
    state from which it was reached.
    """
    row = () if case is None else case
    spans = span_tensions(response)[row]
    opening = None if response.contacts is None else response.contacts.gap[row]
    slid = np.zeros((len(spans), 2)) if below is None else below.slid
    slipped = np.zeros((len(spans), 2)) if below is None else below.slipped
    if response.held_wires is not None:
        slid = slid + np.abs(response.held_wires.slip[row])
        slipped = slipped + np.abs(response.held_wires.clamp_slip[row])
    slackest = spans[:, [0, -1]].min(axis=-1)
    return State(level, u, slackest, spans, peak, slid, slipped, opening, law)
