"""The largest load along the bone under which the movement at the cortex stays in bounds.

The largest movement across the fracture plane round the cortex, w(F), grows with the load F. With
m the bound, w(F) = m is sought by the secant through the last load and no load at first (w is
nearly straight), then by the secant inside the bracket, kept off its ends, to 0.1 % of m. A
load that the frame cannot carry (it would tilt away) counts as too large.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fem import FemError

TOLERANCE = 1e-3
MOST_TRIALS = 30


@dataclass(frozen=True)
class Allowed:
    """load_N; capped: the bound is not reached at the largest load tried; limited: not by movement
    but because more load has no equilibrium; movement_mm there."""

    load_N: float
    movement_mm: float
    capped: bool
    limited: bool


def allowed_load(
    movement_at: Callable[[float], float], bound_mm: float, largest_N: float, guess_N: float
) -> Allowed:
    """movement_at: load (N) to movement (mm); raises ``FemError`` where there is no equilibrium."""
    low, w_low = 0.0, -bound_mm
    high: float | None = None
    w_high, limited = 0.0, False
    load = min(guess_N, largest_N)
    for _ in range(MOST_TRIALS):
        try:
            over = movement_at(load) - bound_mm
        except FemError:
            limited, high, w_high = True, load, np.nan
            load = (low + load) / 2.0
            if load - low < TOLERANCE * load:
                break
            continue
        if abs(over) <= TOLERANCE * bound_mm:
            return Allowed(load, over + bound_mm, capped=False, limited=False)
        if over > 0.0:
            high, w_high, limited = load, over, False
        else:
            low, w_low = load, over
            if load >= largest_N:
                return Allowed(load, over + bound_mm, capped=True, limited=False)
        if high is None:  # by the secant from no load on, a little beyond
            load = min(load * 1.02 * bound_mm / (over + bound_mm), 4.0 * load, largest_N)
        elif np.isnan(w_high):
            load = (low + high) / 2.0
            if high - low < TOLERANCE * high:
                break
        else:
            load = low - w_low * (high - low) / (w_high - w_low)
            inside = 0.02 * (high - low)
            load = min(max(load, low + inside), high - inside)
    return Allowed(low, w_low + bound_mm, capped=False, limited=limited)
