"""Tensions, slips and kinks of held wires at given displacements: one small problem per wire.

With e_i = ℓ_i - L_i - n_i the incremental potential of a wire is (``fem.held_wire``)

    Ψ = max_T min_{s, Δα} { Σ T_i (e_i + s_i - s_{i-1}) + U*(z, α, T) - ½ Σ c_i T_i²
                            + Σ_k g_k |s_k| + ½ H Σ |α|² + Σ_h Φ(T, |Δα_h|) },

T_i between bounds (0 when slack; slip load or yield; both the pull of a tensioner), s_k between the
stops of an olive. It is concave in T and convex in the rest, so that its saddle point is given by

    T_i = clip(T_i + E_i/G_ii),    E_i = e_i + s_i - s_{i-1} + b_i - c_i T_i + Σ ∂Φ/∂T_i,
    s_k = clip(shrink(s_k + γ D_k, γ g_k)),    D_k = T_{k+1} - T_k,
    Δα_h = shrink(Δα_h + γ (M_h - H α_h), γ m),

Φ and m = ∂Φ/∂|Δα| as in ``fem.plastic_hinge``, G = diag(c) - ∂(b + Σ ∂Φ/∂T)/∂T, shrink(x, a) =
x (1 - a/|x|) where |x| > a and 0 elsewhere, for any γ > 0. These equations are piecewise smooth;
Newton's method on them chooses in every step which spans are taut, which stations slip and which
hinges flow, and ends when the choice stands (semismooth Newton, or primal-dual active sets:
Hintermüller, Ito & Kunisch, SIAM J. Optim. 13 (2003) 865-888).

A smooth wire held nowhere along its axis, slack or pulled at both ends, may lie anywhere: in each
step of Newton a spring of 1e-9 N/mm holds it where it is.

All wires of all load cases are rows of one batch.
"""

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.held_choices import MOST_SPANS, every_choice
from fem.held_newton import PER_RAD, missed, newton_system
from fem.held_rows import Choice, Local, Point, Rows, evaluate, part_of

MOST = 8  # iterations at first
TOLERANCE = 1e-6  # of the tension, last step of Newton: its error is the square
DAMPING, FADING, DAMPED = 0.3, 24, 4000  # retries: springs, iterations
EDGE, EDGE_FROM = 1e-11, 3  # of the tension, residual that needs no further step; iteration
CHECK = 1e-5  # N, residual allowed after a retry


def solve_rows(rows: Rows) -> tuple[Point, NDArray[np.bool_]]:
    """The saddle point of every row; second, the rows (R,) for which none was found."""
    R, n = rows.e.shape
    T = np.clip(np.maximum(rows.e / rows.flexibility, 0.0), rows.low, rows.high)
    point = Point(T, np.zeros((R, n - 1)), np.zeros((R, 2, 2 * n)))
    point, failed = _settle(rows, point, yields=False)
    if rows.y.shape[2] > 2 * n + 1:
        at = evaluate(rows, point, yields=True, with_stiffness=True)
        flows = np.flatnonzero(at.choice.flows.any(axis=1) | failed)
        if len(flows):
            again, still = _settle(rows.take(flows), part_of(point, flows), yields=True)
            _put(point, flows, again)
            failed[flows] = still
    return point, failed


def _put(point: Point, at: NDArray[np.intp], part: Point) -> None:
    for whole, value in zip(point, part, strict=True):
        whole[at] = value


def _settle(rows: Rows, first: Point, *, yields: bool) -> tuple[Point, NDArray[np.bool_]]:
    """Newton; rows that do not settle are tried again from the start in shorter steps."""
    n = rows.e.shape[1]
    point, failed = _newton(rows, first, MOST, 0.0, True, yields)
    for way in ("fading", "every choice", "damped"):
        if not failed.any():
            break
        at = np.flatnonzero(failed)
        part, begin = rows.take(at), part_of(first, at)
        if way == "every choice":
            if yields or n > MOST_SPANS:
                continue
            again, failed[at] = every_choice(part, begin)
        else:
            fades = way == "fading"
            most = FADING if fades else DAMPED
            again, failed[at] = _newton(part, begin, most, DAMPING, fades, yields)
        end = evaluate(part, again, yields=yields, with_stiffness=False)
        residual, _, _ = newton_system(part, again, end, yields=yields)
        failed[at] |= missed(end, residual, yields=yields) > CHECK
        _put(point, at, again)
    return point, failed


def _newton(
    rows: Rows, point: Point, most: int, damping: float, fades: bool, yields: bool
) -> tuple[Point, NDArray[np.bool_]]:
    """Newton from ``point``; second, the rows that found no end.

    damping : springs of that share of the system's own diagonal hold every unknown where it is in
    each step (proximal steps); if it fades, only as long as the choice of regimes changes.
    """
    n = rows.e.shape[1]
    T, s, a = (v.copy() for v in point)
    live = np.arange(len(T))
    part = rows
    before: Choice | None = None
    held = np.full(len(T), damping)
    for iteration in range(most):
        here = Point(T[live], s[live], a[live])
        at = evaluate(part, here, yields=yields, with_stiffness=False)
        residual, J, _ = newton_system(part, here, at, yields=yields)
        stands = at.choice.same(before) if before is not None else np.zeros(len(live), dtype=bool)
        if damping:
            held = np.where(stands & fades, held * held, damping)
            _damp(J, at, held)
        step = -np.linalg.solve(J, residual[..., None])[..., 0]
        # on the edge between two regimes both may hold: a point that does is left as it is
        met = np.zeros(len(live), dtype=bool)
        if iteration >= EDGE_FROM:
            met = missed(at, residual, yields=yields) <= EDGE * (1.0 + here.T.max(axis=1))
            step[met] = 0.0
        new = np.maximum(here.T + step[:, :n], 0.0)
        T[live] = new
        s[live] += step[:, n : 2 * n - 1]
        if yields:
            a[live] += step[:, 2 * n - 1 :].reshape(-1, 2, 2 * n)
        # the error left by a step of Newton is its square
        enough = np.where(held <= TOLERANCE, TOLERANCE, TOLERANCE**2)
        in_newton = [new - here.T, step[:, n : 2 * n - 1] / at.give, step[:, 2 * n - 1 :] * PER_RAD]
        size = np.abs(np.concatenate(in_newton, axis=1)).max(axis=1)
        done = stands & (size <= enough * (1.0 + new.max(axis=1)))
        done |= met
        before = at.choice
        if done.all():
            live = live[:0]
            break
        if done.any():
            left = np.flatnonzero(~done)
            live, part, before, held = live[left], part.take(left), before.take(left), held[left]
    failed = np.zeros(len(T), dtype=bool)
    failed[live] = True
    return Point(T, s, a), failed


def _damp(J: Array, at: Local, damping: Array) -> None:
    n = at.E.shape[1]
    damping = damping[:, None]
    i = np.arange(n)
    span, slips = at.choice.span == 0, np.abs(at.choice.station) == 1
    J[:, i, i] -= damping * np.where(span, np.einsum("rii->ri", at.G), -1.0)
    k = np.arange(n, 2 * n - 1)
    J[:, k, k] += damping * np.where(slips, 1.0 / at.give, 1.0)
    h = np.arange(2 * n - 1, J.shape[1])
    J[:, h, h] *= 1.0 + damping
