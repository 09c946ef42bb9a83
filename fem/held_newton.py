"""Newton's linear system for the tensions, slips and kinks of held wires (``fem.held_solver``)."""

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.held_rows import Local, Point, Rows, hinge_scale

IDLE = 1e-9  # N/mm
PER_RAD = 1e5  # N/rad, counts kinks among tensions


def newton_system(
    rows: Rows, point: Point, at: Local, *, yields: bool, ended: bool = False, eased: bool = True
) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Residual (R, N) and Jacobian (R, N, N) for T, s and, where the steel ``yields``, Δα; third,
    which of them are free to move.

    Signs as derivatives of Ψ.  ended : the point is the solution, and the Jacobian becomes the
    Hessian of Ψ in the unknowns that are free to move; the others have rows of the identity.
    eased : see ``_overheld``.
    """
    T, s = point.T, point.s
    R, n = T.shape
    k = n - 1
    N = 2 * n - 1 + (4 * n if yields else 0)
    residual, J = np.zeros((R, N)), np.zeros((R, N, N))
    taut = at.choice.span == 0
    residual[:, :n] = np.where(taut, at.E, T - np.where(at.choice.span < 0, rows.low, rows.high))
    J[:, :n, :n] = -at.G
    i = np.arange(k)
    J[:, i, n + i], J[:, i + 1, n + i] = 1.0, -1.0
    J[:, n + i, i], J[:, n + i, i + 1] = 1.0, -1.0
    way = at.choice.station
    slips = np.abs(way) == 1
    friction = np.where(rows.grip > 0.0, way * np.where(slips, rows.grip, 0.0), 0.0)
    stop = np.where(way == 2, rows.travel[..., 0], np.where(way == -2, -rows.travel[..., 1], 0.0))
    residual[:, n : 2 * n - 1] = np.where(slips, -np.diff(T, axis=1) + friction, s - stop)
    J[:, n + i, n + i] = IDLE + (_overheld(rows, s, at) if eased else 0.0)
    live = [taut, slips]
    if yields:
        live.append(np.tile(at.choice.flows, 2))
        _hinge_rows(rows, point, at, residual, J, ended)
    free = np.concatenate(live, axis=1)
    dead = ~free
    J[np.broadcast_to(dead[:, :, None], J.shape)] = 0.0
    r, c = np.nonzero(dead)
    J[r, c, c] = 1.0
    return residual, J, free


def inverse_hessian(rows: Rows, point: Point, at: Local, *, yields: bool) -> Array:
    """(R, N, N) inverse of ∂²Ψ in T, s and, where the steel ``yields``, Δα at a solution, nought
    for what is not free to move.
    """
    _, J, free = newton_system(rows, point, at, yields=yields, ended=True)
    return np.asarray(np.linalg.inv(J) * (free[:, :, None] & free[:, None, :]))


def _overheld(rows: Rows, s: Array, at: Local) -> Array:
    """(R, n-1) N/mm, spring that ends the slip of stations between spans whose tensions are set on
    both sides, directly or through other slipping stations, and contradict each other by A.

    Such a slip goes on until one of those two spans leaves its bound, an olive meets the bone or it
    comes back to rest;
    the spring lets Newton's step go that far, and a little more, γ A.
    """
    way, span = at.choice.station, at.choice.span
    slips = np.abs(way) == 1
    if not ((span != 0).sum(axis=1) > 1).any():
        return np.zeros(s.shape)
    rise = np.where(slips, way * np.where(slips, rows.grip, 0.0), 0.0)  # D where it slips
    bound = np.where(span < 0, rows.low, np.where(span > 0, rows.high, np.nan))
    excess = np.where(rows.low == rows.high, np.nan, at.E)  # a span that is pulled keeps its bound
    left, right = np.stack([bound, excess]), np.stack([bound, excess])
    for k in range(slips.shape[1]):
        passes = slips[:, k] & np.isnan(left[0, :, k + 1])
        left[0, passes, k + 1] = left[0, passes, k] + rise[passes, k]
        left[1, passes, k + 1] = left[1, passes, k]
    for k in range(slips.shape[1] - 1, -1, -1):
        passes = slips[:, k] & np.isnan(right[0, :, k])
        right[0, passes, k] = right[0, passes, k + 1] - rise[passes, k]
        right[1, passes, k] = right[1, passes, k + 1]
    A = np.where(slips, right[0, :, 1:] - left[0, :, :-1] - rise, np.nan)
    way = np.sign(A)
    room = np.stack([-way * left[1, :, :-1], way * right[1, :, 1:]])
    stop = np.where(way > 0, rows.travel[..., 0] - s, rows.travel[..., 1] + s)
    back = np.where(rows.grip > 0.0, -way * s, 0.0)  # to where it may come to rest
    room = np.concatenate([room, [stop, back]])
    far = np.min(np.where(room > 0.0, room, np.inf), axis=0)
    far = np.where(np.isfinite(far), far, 0.0) + at.give * np.abs(A)
    over = np.abs(A) > 1e-6  # nan: set on one side only
    return np.where(over, np.abs(A) / np.where(over, far, 1.0), 0.0)


def _hinge_rows(
    rows: Rows, point: Point, at: Local, residual: Array, J: Array, ended: bool
) -> None:
    T, a = point.T, point.a
    R, n = T.shape
    first, hinge = 2 * n - 1, np.arange(2 * n)
    span = hinge // 2
    terms, flows = at.hinges, at.choice.flows
    gamma = hinge_scale(rows, at.bent)
    reach = np.where(flows, np.sqrt(np.sum(at.trial**2, axis=1)), 1.0)
    normal = np.where(flows[:, None], at.trial / reach[:, None], 0.0)
    growth = np.sqrt(np.sum(a**2, axis=1))
    along = np.where(
        growth[:, None] > 0.0, a / np.where(growth > 0.0, growth, 1.0)[:, None], normal
    )
    miss = (a - terms.rho[:, None] * normal) / gamma[:, None]
    residual[:, first:] = np.where(flows[:, None], miss, a).reshape(R, -1)

    stiff = at.bent.stiffness[:, 2 * n + 1 :, 2 * n + 1 :]
    stiff = stiff + rows.H[:, None, None] * np.eye(2 * n)
    by_a = at.bent.bow_by_y[..., 2 * n + 1 :]  # (R, i, plane, hinge)
    dr = np.zeros((R, 2, 2 * n, 2, 2 * n))  # ∂r by kinks, and by tensions
    dr[:, 0, :, 0], dr[:, 1, :, 1] = -stiff, -stiff
    dr_T = -np.moveaxis(by_a, 1, -1)  # (R, plane, hinge, i)
    nn = normal[:, :, None] * normal[:, None]
    off = np.eye(2)[None, :, :, None] - nn
    if ended:
        # ∂(m n) = ∂m n + m/x (1 - n nᵀ) ∂Δα
        turn = nn * terms.m_x[:, None, None]
        turn = turn + off * (terms.m / np.where(growth > 0.0, growth, 1.0))[:, None, None]
        block, block_T = -dr, -dr_T
        block[:, :, hinge, :, hinge] += np.moveaxis(turn, -1, 0)
        block_T[:, :, hinge, span] += terms.m_T[:, None] * normal
    else:
        # ∂(ρ n) = n nᵀ ∂ξ / (1 + γ m_x) + ρ/|ξ| (1 - n nᵀ) ∂ξ,  ∂ξ = ∂Δα + γ ∂r
        soft = 1.0 / (1.0 + gamma * terms.m_x)
        turn = nn * soft[:, None, None] + off * (terms.rho / reach)[:, None, None]
        trial = gamma[:, None, :, None, None] * dr
        for p in range(2):
            trial[:, p, hinge, p, hinge] += 1.0
        block = -np.einsum("rpah,rahbg->rphbg", turn, trial)
        block_T = -np.einsum("rpah,rahi->rphi", turn, gamma[:, None, :, None] * dr_T)
        block_T[:, :, hinge, span] += (gamma * terms.m_T * soft)[:, None] * normal
        for p in range(2):
            block[:, p, hinge, p, hinge] += 1.0
        block /= gamma[:, None, :, None, None]
        block_T /= gamma[:, None, :, None]
    J[:, first:, first:] = block.reshape(R, 4 * n, 4 * n)
    J[:, first:, :n] = block_T.reshape(R, 4 * n, n)
    column = by_a.copy()
    column[:, span, :, hinge] += np.moveaxis(terms.by_T[:, None] * along, 2, 0)
    J[:, :n, first:] = column.reshape(R, n, 4 * n)


def missed(at: Local, residual: Array, *, yields: bool) -> Array:
    """(R,) N (and N·mm of hinges), by how much the equations are missed."""
    slips = np.abs(at.choice.station) == 1
    scale = [
        np.where(at.choice.span == 0, 1.0 / np.einsum("rii->ri", at.G), 1.0),
        np.where(slips, 1.0, 1.0 / at.give),
    ]
    if yields:
        scale.append(np.where(np.tile(at.choice.flows, 2), 1.0, PER_RAD))
    return np.asarray(np.abs(residual * np.concatenate(scale, axis=1)).max(axis=1))
