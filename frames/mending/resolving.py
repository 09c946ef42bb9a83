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
from frames.mending.answers import Asked, values
from frames.mending.parameters import Parameter, moved

WIDER = 4.0
"""Step of whole checks over the step of the parameter."""


def resolved(
    case: Case, weights: Mapping[Parameter, float], asked: Sequence[Asked]
) -> Array | None:
    """(k,) slopes of the quantities asked for along a direction: numbers that change together,
    each with its weight; None where a step is not allowed or cannot be solved."""
    h = WIDER * min(p.step / abs(w) for p, w in weights.items())
    found = []
    for way in (1.0, -1.0):
        try:
            there = moved(case, {p: way * h * w for p, w in weights.items()})
            found.append(np.array(values(there, asked)))
        except (CaseError, FemError):
            return None
    return np.asarray((found[0] - found[1]) / (2.0 * h))
