"""A load that comes and goes, as in the first days of walking: what is left of the tensions, and
what movement of the gap stays.

Each cycle raises the load from rest in the case's ``load_steps`` and takes it off again in as many.
Wires that yielded, slipped through a clamp or slid in the bone do not come back; after some cycles
nothing changes any more (shakedown), or every cycle goes on changing (ratchetting) until the cycles
asked for are done. Settled means: in a whole cycle no tension without load changed by more than
``SETTLED_N`` nor the gap by more than ``SETTLED_MM``.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from fem import Law, respond
from fem.algebra import Array
from fem.stepping import follow
from fem.system import Response
from frames.casefile import Case
from frames.casefile.adjusting import History
from frames.gap import gap_compliance, gap_directions, named_stiffnesses
from frames.load_results import named_movement, wire_results
from frames.load_states import way_matters
from frames.loading import LoadVector
from frames.pretension import Pretensioned
from frames.resting import respond_at_rest
from frames.result import plain
from frames.result_parts import HistoryResult
from frames.supports import held_at_ankle
from frames.wire_answers import span_tensions

SETTLED_N = 0.05
SETTLED_MM = 1e-4


@dataclass(frozen=True)
class _Rest:
    """The unloaded frame between cycles."""

    u: Array
    law: Law
    response: Response


def follow_histories(
    pre: Pretensioned,
    histories: Sequence[History],
    vectors: Sequence[LoadVector],
    peak: Callable[[Response], Array],
    say: Callable[[str], None],
) -> tuple[HistoryResult, ...]:
    """All histories of the case, one after the other, each from where the last one ended; ``say``
    is told of every cycle."""
    by_name = {v.name: v for v in vectors}
    out = []
    rest = _Rest(pre.u, pre.law, pre.response)
    for history in histories:
        rest, result = _follow(pre, rest, history, by_name[history.load], peak, say)
        out.append(result)
    return tuple(out)


def _follow(
    pre: Pretensioned,
    rest: _Rest,
    history: History,
    vector: LoadVector,
    peak: Callable[[Response], Array],
    say: Callable[[str], None],
) -> tuple[_Rest, HistoryResult]:
    case: Case = pre.parts.construct.case
    D = gap_directions(pre.parts, pre.system)
    lost: list[float] = []
    settled = False
    for cycle in range(1, history.cycles + 1):
        say(f"history of {history.load!r}: cycle {cycle} of at most {history.cycles}")
        before = rest
        rest, spent = _cycle(pre, rest, vector, case.model.load_steps, f"cycle {cycle}")
        lost.append(spent)
        tension = np.abs(span_tensions(rest.response) - span_tensions(before.response))
        shift = np.abs(D.T @ (rest.u - before.u))[:3]
        settled = tension.max(initial=0.0) < SETTLED_N and shift.max() < SETTLED_MM
        if settled or not way_matters(case):
            break
    held = held_at_ankle(pre.parts, pre.system)
    state = f"frame after {history.load!r}"
    C = gap_compliance(pre.parts, pre.system, rest.response.tangent, state, held)
    many = respond(pre.system, rest.u[None], rest.law, with_tangent=False)
    return rest, HistoryResult(
        load=history.load,
        cycles=len(lost),
        settled=bool(settled),
        wires=wire_results(pre.parts, many, peak(many), 0),
        gap_set=named_movement(D.T @ (rest.u - pre.u)),
        stiffness={k: plain(v) for k, v in named_stiffnesses(C).items()},
        lost_Nmm=(lost[0], lost[-1]),
    )


def _cycle(
    pre: Pretensioned, rest: _Rest, vector: LoadVector, steps: int, words: str
) -> tuple[_Rest, float]:
    """Load and unload once; energy lost."""
    up = np.arange(1, steps + 1) / steps
    levels = np.concatenate([up, up[-2::-1], [0.0]])
    ways = levels[:, None, None] * vector.force
    state = f"{vector.name!r}, {words}"
    done = follow(pre.system, ways, rest.law, rest.u[None], [state], held=vector.held)
    u, law = done[-1].solution.u[0], done[-1].law.one(0)
    lost = sum(float(step.dissipated[0]) for step in done)
    return _Rest(u, law, respond_at_rest(pre.system, u, law)), lost
