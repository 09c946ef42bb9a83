"""Callus by week, and what a hand or a load cell would measure of it.

Modulus: straight between the points of the curve in the logarithm,

    log E(t) = log E_i + (log E_{i+1} - log E_i) (t - t_i) / (t_{i+1} - t_i).

With the frame slackened only callus joins the bone ends. A moment M at the gap turns them against
each other by θ = M h / (E I): its bending stiffness is E I / h, with I = π (D⁴ - d⁴) / 64 of its
tube and h its thickness along the bone, the same in every plane.

The published threshold of 15 N·m/deg is 859 N·m/rad; a gap of 3 mm and I = 20,000 mm⁴ reach it at
E = 129 MPa.
"""

from math import exp, log, pi

import numpy as np

from fem.algebra import Array
from frames.casefile import Bone, Case, replace
from frames.casefile.recovery import Healing
from frames.gap import NM_PER_DEG


def modulus(healing: Healing, week: float) -> float:
    """E, MPa, at a week inside the curve."""
    E = np.log(np.asarray(healing.E_MPa, dtype=float))
    return exp(float(np.interp(week, healing.week, E)))


def bound_at(healing: Healing, week: float, width_mm: float) -> float:
    """Movement across the gap, mm, that is not exceeded in a week: the smaller of the bounds of
    movement and of strain."""
    limits = healing.strain_by_week_percent
    strain = healing.strain_at_most_percent
    if limits is not None:
        strain = exp(float(np.interp(week, healing.week, np.log(np.asarray(limits)))))
    return min(healing.movement_at_most_mm, strain / 100.0 * width_mm)


def weeks_of(healing: Healing) -> Array:
    """Weeks at which answers are given, the last of the curve among them."""
    first, last = healing.week[0], healing.week[-1]
    weeks = np.arange(first, last, healing.every_weeks)
    return np.asarray(np.append(weeks, last))


def with_callus(case: Case, E_MPa: float) -> Case:
    """The case with callus of this modulus in its gap, in place of touching faces."""
    own = case.bone.callus
    if own is not None:
        return replace(case, {"bone.callus.E_MPa": E_MPa})
    return replace(case, {"bone.contact": None, "bone.callus": {"E_MPa": E_MPa}})


def callus_bending(bone: Bone) -> float:
    """Bending stiffness of the callus of a bone alone, N·m/deg."""
    assert bone.callus is not None
    outer, inner, thickness = bone.callus_tube
    I = pi * (outer**4 - inner**4) / 64.0  # noqa: E741
    return bone.callus.E_MPa * I / thickness * NM_PER_DEG


def when_reached(weeks: Array, values: Array, threshold: float, *, falling: bool) -> float | None:
    """First week at which values (k,) pass a threshold, their logarithm straight between weeks;
    None when they do not."""
    values = np.maximum(values, 1e-9)  # the logarithm of what there is none of
    over = values <= threshold if falling else values >= threshold
    if not over.any():
        return None
    i = int(np.argmax(over))
    if i == 0 or np.isnan(values[i - 1]):
        return float(weeks[i])
    a, b = log(values[i - 1]), log(values[i])
    share = (log(threshold) - a) / (b - a)
    return float(weeks[i - 1] + share * (weeks[i] - weeks[i - 1]))
