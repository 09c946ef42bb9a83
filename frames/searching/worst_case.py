"""What the tolerances of a case can take from its margins, to the first order.

With numbers p = p₀ + W x that lie within |x_j| ≤ 1 for every draw j (``frames.spreading.plan``; of
a normal one 95 % do), the margin m of a bound is at its worst, where it is nearly straight,

    m(p₀) - Σ_j |∂m/∂x_j|,      ∂m/∂x_j ≈ (m(x_j = 1) - m(x_j = -1)) / 2

all draws at their ends at once, each in the direction that is bad for this bound. The slopes are
taken over the whole width of each draw, the frame solved at both ends. Where one end cannot be
reached (a limit of the case file, no equilibrium), the change to the other end counts.
"""

import numpy as np

from fem.algebra import Array
from frames.casefile import Case, CaseError
from frames.mending.parameters import moved
from frames.searching.margins import Bounds, bounds_of, solved


def taken_by_tolerances(case: Case, bounds: Bounds) -> Array:
    """(b,) share of each bound that [[tolerance]] can take from its margin; nought without any."""
    if not case.tolerance:
        return np.zeros(len(bounds.bound))
    from frames.spreading.plan import plan_of

    plan = plan_of(case, case.tolerance)
    cases, ends = [case], []
    for j, column in enumerate(plan.weights.T):
        for way in (1.0, -1.0):
            try:
                there = moved(
                    case,
                    {
                        n.parameter: way * float(w)
                        for n, w in zip(plan.numbers, column, strict=True)
                        if w
                    },
                )
            except CaseError:
                continue
            cases.append(there)
            ends.append((j, way))
    margins = bounds.margins(solved(cases, bounds))
    low, high = (np.full((plan.weights.shape[1], len(bounds.bound)), np.nan) for _ in range(2))
    for (j, way), row in zip(ends, margins[1:], strict=True):
        (high if way > 0.0 else low)[j] = np.where(np.isfinite(row), row, np.nan)
    both = np.abs(high - low) / 2.0
    one = np.fmax(np.abs(high - margins[0]), np.abs(low - margins[0]))
    return np.asarray(np.nansum(np.where(np.isnan(both), one, both), axis=0))


def worst_case_margin(case: Case) -> float:
    """Smallest margin of all targets (share of the bound), less what the tolerances of the case can
    take from it; -∞ for a frame that cannot be solved."""
    bounds = bounds_of(case.target)
    margins = bounds.margins(solved([case], bounds)[0])
    return float((margins - taken_by_tolerances(case, bounds)).min())
