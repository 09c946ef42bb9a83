"""Derivatives by solving the frame anew on both sides: central differences of whole checks.

For frames whose answer is no smooth function by linear equations: wires that grip, slip, yield or
are dialled, fracture faces, callus, nuts turned, play. The step is larger than the one of the exact
way, so that rounding of the solver stays small; an answer at a kink is a mean of both sides.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from fem import FemError
from fem.algebra import Array
from frames.casefile import Case, CaseError
from frames.checking import check
from frames.mending.parameters import Parameter, moved
from frames.result import quantity

WIDER = 4.0
"""Step of whole checks over the step of the parameter."""

Asked = tuple[str, str | None]
"""Quantity, and load or None."""


def resolved(
    case: Case, weights: Mapping[Parameter, float], asked: Sequence[Asked]
) -> Array | None:
    """(k,) slopes of the quantities asked for along a direction: numbers that change together,
    each with its weight; None where a step is not allowed or cannot be solved."""
    h = WIDER * min(p.step / abs(w) for p, w in weights.items())
    values = []
    for way in (1.0, -1.0):
        try:
            result = check(moved(case, {p: way * h * w for p, w in weights.items()}))
        except (CaseError, FemError):
            return None
        values.append(np.array([quantity(result, *a) for a in asked]))
    return np.asarray((values[0] - values[1]) / (2.0 * h))
