"""The chance of meeting a target: counted in a sample, and by slopes and a normal distribution.

First order: q is normal with the planned value as its mean and sd² = Σ (∂q/∂x σ)², so that

    chance = Φ((at_most - q₀)/sd) - Φ((at_least - q₀)/sd)
"""

from math import inf, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from fem.algebra import Array
from frames.casefile import Target
from frames.judging import judge
from frames.spreading.spread_result import Chance
from frames.spreading.wilson import wilson

EXTREMES = {
    "wire_tension_min_N": "the slackest wire",
    "wire_tension_max_N": "the tightest wire",
    "wire_peak_stress_MPa": "the wire with the largest stress",
    "pin_peak_stress_MPa": "the half-pin with the largest stress",
}
"""Quantities of whichever part is worst."""


def meets(target: Target, q: Array) -> NDArray[np.bool_]:
    """(n,) whether each value keeps to the bounds; one that is none (NaN) does not."""
    return np.array([bool(np.isfinite(v)) and judge(target, float(v)).meets for v in q], dtype=bool)


def counted(met: NDArray[np.bool_]) -> Chance:
    """Share of all designs, with its 95 % interval."""
    count = int(met.sum())
    low, high = wilson(count, len(met))
    return Chance(count, count / len(met), low, high)


def by_slopes(target: Target, planned: float, sd: float) -> float:
    """First-order chance."""
    if sd == 0.0:
        return float(judge(target, planned).meets)
    low = -inf if target.at_least is None else target.at_least
    high = inf if target.at_most is None else target.at_most
    a, b = (low - planned) / sd, (high - planned) / sd
    return float(ndtr(-a) - ndtr(-b) if a > 0.0 else ndtr(b) - ndtr(a))


def why_apart(target: Target, planned: float, sd: float, q: Array, failed: int) -> str:
    """Why the two may differ by more than chance; q (n,) of the designs that were solved."""
    said = []
    if failed:
        said.append(f"{failed} designs that cannot be built or solved count as missed")
        others = counted(meets(target, q)) if len(q) else None
        if others is None or others.low <= by_slopes(target, planned, sd) <= others.high:
            return said[0]
    n = len(q)
    if n > 1 and sd > 0.0:
        mean, own = float(q.mean()), float(q.std(ddof=1))
        off = mean - planned
        if abs(off) > max(2.0 * own / sqrt(n), 0.1 * own):
            word = "above" if off > 0.0 else "below"
            who = EXTREMES.get(target.quantity)
            why = ", as it is no straight line over the tolerances"
            if who is not None:
                why = f": {who} is now one, now another (a kink)"
            said.append(f"the mean lies {abs(off) / own:.1f} sd {word} the planned value{why}")
        # the standard deviation of a sd is sd/√2n for a normal distribution
        if abs(own - sd) > max(2.0 * own / sqrt(2.0 * n), 0.05 * own):
            said.append(f"the sd is {own / sd:.2f} times that by slopes: slopes change (curvature)")
    if not said:
        said.append(
            "its distribution is not quite normal, or chance: one interval in twenty misses"
        )
    return "; ".join(said)
