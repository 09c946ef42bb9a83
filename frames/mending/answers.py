"""The values that targets ask for, by the same steps as a check, without what no target asks for:
loads of no target, histories, loads at which limits are passed.
"""

from collections.abc import Sequence

import numpy as np

from fem import MechanismError
from frames.built import built
from frames.casefile import Case, Target
from frames.discretise import Discretised
from frames.freedom import explained
from frames.gap import gap_compliance, named_stiffnesses
from frames.judging import judge
from frames.load_results import load_result
from frames.load_states import solve_loads
from frames.loading import load_vector
from frames.pretension import pretension
from frames.result import Result, plain, quantity
from frames.result_parts import LoadResult, TargetResult
from frames.supports import held_at_ankle
from frames.wire_answers import wire_peak_stress

Asked = tuple[str, str | None]
"""Quantity, and load or None."""


def asked_of(targets: Sequence[Target]) -> tuple[Asked, ...]:
    """Quantity and load of every target, each once."""
    return tuple(dict.fromkeys((t.quantity, t.load) for t in targets))


def values(case: Case, asked: Sequence[Asked]) -> tuple[float, ...]:
    """Value of each quantity asked for. Raises ``FemError``."""
    parts = built(case)
    try:
        result = _solved(parts, {load for _, load in asked})
    except MechanismError as error:
        raise explained(error, parts) from error
    return tuple(quantity(result, *a) for a in asked)


def _solved(parts: Discretised, wanted: set[str | None]) -> Result:
    case = parts.construct.case
    pre = pretension(parts)
    stiffness: dict[str, float] = {}
    if None in wanted:
        held = held_at_ankle(parts, pre.system)
        C = gap_compliance(parts, pre.system, pre.response.tangent, "pretension", held)
        stiffness = {k: plain(v) for k, v in named_stiffnesses(C).items()}
    vectors = [load_vector(o, parts, pre.system) for o in case.load if o.name in wanted]
    loads: tuple[LoadResult, ...] = ()
    if vectors:
        states = solve_loads(pre, vectors)
        stress = wire_peak_stress(parts)(states.solution.response)
        loads = tuple(load_result(pre, v, states, stress, i) for i, v in enumerate(vectors))
    return Result(
        case.case.title, case.case.side, "", stiffness, np.zeros((6, 6)), loads, (), (), ()
    )


def judged(case: Case) -> tuple[TargetResult, ...]:
    """Every target against its bounds, as a check judges it. Raises ``FemError``."""
    asked = asked_of(case.target)
    found = dict(zip(asked, values(case, asked), strict=True))
    return tuple(judge(t, found[t.quantity, t.load]) for t in case.target)
