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

A smooth wire held nowhere along its axis could slide for ever: a spring of 1e-9 N/mm holds it.

All wires of all load cases are rows of one batch.
"""

from dataclasses import dataclass, replace
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.held_bending import SpanBending, bend_spans
from fem.plastic_hinge import strength
from fem.wire_holds import slid

IDLE = 1e-9  # N/mm
MOST = 8
PER_RAD = 1e5  # N/rad, counts steps of kinks among those of tensions
TOLERANCE = 1e-6
DAMPING, FADING, DAMPED = 0.3, 24, 4000  # retries: springs, iterations
MOST_SPANS = 4
EDGE = 1e-11  # of the tension
CHECK = 1e-5  # N, residual allowed after a retry
CHOICES = 25  # iterations with every choice looked at


@dataclass(frozen=True)
class Rows:
    """R problems of n spans. y : (R, 2, m) held slopes and old kinks.  low, high : (R, n) N.
    grip : (R, n-1) N.  travel : (R, n-1, 2) mm.  M_y, N_y, H, spread : (R,) of hinges, M_y infinite
    without.  turned : (R, 2n) rad.  The rest as in ``fem.wire`` and ``fem.wire_holds``.
    """

    e: Array
    y: Array
    flexibility: Array
    low: Array
    high: Array
    grip: Array
    travel: Array
    EI: Array
    spans: Array
    free: NDArray[np.bool_]
    M_y: Array
    N_y: Array
    H: Array
    spread: Array
    turned: Array

    def take(self, at: NDArray[np.intp]) -> "Rows":
        """Some of the rows."""
        return replace(self, **{k: v[at] for k, v in vars(self).items()})


class Point(NamedTuple):
    """T (R, n), s (R, n-1), a (R, 2, 2n): kinks Δα of the step, by plane."""

    T: Array
    s: Array
    a: Array


@dataclass(frozen=True)
class Choice:
    """Regimes: span (R, n) -1 at its lower bound, 0 between, 1 at its upper; station (R, n-1) 0
    sticks, ±1 slips, ±2 stopped (towards end +, start -); flows (R, 2n) hinges.
    """

    span: NDArray[np.int8]
    station: NDArray[np.int8]
    flows: NDArray[np.bool_]

    def take(self, at: NDArray[np.intp]) -> "Choice":
        """Some of the rows."""
        return Choice(self.span[at], self.station[at], self.flows[at])

    def same(self, other: "Choice") -> NDArray[np.bool_]:
        """(R,)."""
        return np.asarray(
            (self.span == other.span).all(-1)
            & (self.station == other.station).all(-1)
            & (self.flows == other.flows).all(-1)
        )


class HingeTerms(NamedTuple):
    """Strength m and m of the first turn (R, 2n), its derivatives by x and T (R, 2n), stretch
    -∂Φ/∂T and give -∂²Φ/∂T² (R, n) of the spans, work Φ (R, 2n): see ``fem.plastic_hinge``.
    """

    m: Array
    first: Array
    m_x: Array
    m_T: Array
    stretch: Array
    give: Array
    work: Array


@dataclass(frozen=True)
class Local:
    """What one evaluation gives: bent state, E (R, n), G (R, n, n), give γ (R, n-1), drive r = M -
    H α (R, 2, 2n), trial ξ (R, 2, 2n), hinges, choice.
    """

    bent: SpanBending
    E: Array
    G: Array
    give: Array
    drive: Array
    trial: Array
    hinges: HingeTerms
    choice: Choice

    def take(self, at: NDArray[np.intp]) -> "Local":
        """Some of the rows."""
        bent = SpanBending(**{k: v[at] for k, v in vars(self.bent).items()})
        rest = {k: v[at] for k, v in vars(self).items() if k not in ("bent", "choice", "hinges")}
        hinges = HingeTerms(*(v[at] for v in self.hinges))
        return Local(bent=bent, hinges=hinges, choice=self.choice.take(at), **rest)


def evaluate(rows: Rows, point: Point, *, yields: bool, with_stiffness: bool) -> Local:
    """Residuals and regimes at a point. Kinks stay as they are unless the steel ``yields``."""
    n = rows.e.shape[1]
    T, s, a = point
    y = rows.y
    if yields:
        y = y.copy()
        y[..., 2 * n + 1 :] += a
    bent = bend_spans(y, T, rows.EI, rows.spans, rows.free, with_stiffness=with_stiffness or yields)
    G = rows.flexibility[:, :, None] * np.eye(n) - bent.bow_by_T
    E = rows.e + slid(s) + bent.bow - rows.flexibility * T
    flows = np.zeros((len(T), 2 * n), dtype=bool)
    drive = trial = np.zeros((len(T), 2, 0))
    terms = HingeTerms(*(np.zeros((len(T), 0)) for _ in HingeTerms._fields))
    if yields:
        terms = _hinge_terms(rows, T, a)
        E = E - terms.stretch
        G = G + terms.give[:, :, None] * np.eye(n)
        drive = -bent.force[..., 2 * n + 1 :] - rows.H[:, None, None] * y[..., 2 * n + 1 :]
        gamma = _hinge_scale(rows, bent)
        trial = a + gamma[:, None] * drive
        reach = np.sqrt(np.sum(trial**2, axis=1))
        flows = reach > gamma * terms.first

    diagonal = np.einsum("rii->ri", G)
    y_T = T + E / diagonal
    fixed = rows.low == rows.high
    span = np.where(fixed | (y_T >= rows.high), 1, np.where(y_T <= rows.low, -1, 0))
    gamma_s = 1.0 / (1.0 / diagonal[:, 1:] + 1.0 / diagonal[:, :-1])
    y_s = s + gamma_s * np.diff(T, axis=1)
    limit = gamma_s * rows.grip
    forward, back = y_s - limit, -y_s - limit
    station = np.where(forward > 0, 1, np.where(back > 0, -1, 0)).astype(np.int8)
    station = np.where(forward >= rows.travel[..., 0], 2, station)
    station = np.where(back >= rows.travel[..., 1], -2, station)
    smooth = (rows.grip == 0.0) & (station == 0)
    station = np.where(smooth, 1, station).astype(np.int8)
    return Local(
        bent, E, G, gamma_s, drive, trial, terms, Choice(span.astype(np.int8), station, flows)
    )


def _hinge_terms(rows: Rows, T: Array, a: Array) -> HingeTerms:
    M_y, N_y = rows.M_y[:, None], rows.N_y[:, None]
    elastic = ~np.isfinite(M_y)
    parts = strength(T, np.where(elastic, 1.0, M_y), np.where(elastic, 1e9, N_y))
    A, B, A_1, B_1, B_2 = (np.repeat(v, 2, axis=1) for v in parts)
    spread = rows.spread[:, None]
    x = np.sqrt(np.sum(a**2, axis=1))
    rest, more = np.exp(-rows.turned / spread), -np.expm1(-x / spread)
    S = x - spread * rest * more
    share = 1.0 - rest * (1.0 - more)
    stretch, give = -(A_1 * x + B_1 * S), -B_2 * S
    hold = np.where(elastic, np.inf, 0.0)
    return HingeTerms(
        m=A + B * share + hold,
        first=A + B * (1.0 - rest) + hold,
        m_x=B * (1.0 - share) / spread,
        m_T=A_1 + B_1 * share,
        stretch=stretch[:, 0::2] + stretch[:, 1::2],
        give=give[:, 0::2] + give[:, 1::2],
        work=A * x + B * S,
    )


def _hinge_scale(rows: Rows, bent: SpanBending) -> Array:
    """(R, 2n) γ of the hinges."""
    n = rows.e.shape[1]
    stiff = np.einsum("rii->ri", bent.stiffness)[:, 2 * n + 1 :]
    return np.asarray(1.0 / (stiff + rows.H[:, None]))


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
    residual[:, n : 2 * n - 1] = np.where(
        slips, -np.diff(T, axis=1) + friction + IDLE * s, s - stop
    )
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
    T, _, a = point
    R, n = T.shape
    first, hinge = 2 * n - 1, np.arange(2 * n)
    flows = at.choice.flows
    trial = a if ended else at.trial
    reach = np.sqrt(np.sum(trial**2, axis=1))
    safe = np.where(flows & (reach > 0.0), reach, 1.0)
    normal = np.where(flows[:, None], trial / safe[:, None], 0.0)
    m = at.hinges.m
    growth = np.sqrt(np.sum(a**2, axis=1))
    along = np.where(
        growth[:, None] > 0.0, a / np.where(growth > 0.0, growth, 1.0)[:, None], normal
    )
    force = np.where(flows[:, None], m[:, None] * normal - at.drive, a)
    residual[:, first:] = force.reshape(R, -1)

    span = hinge // 2
    gamma = np.zeros((R, 2 * n)) if ended else _hinge_scale(rows, at.bent)
    stiff = at.bent.stiffness[:, 2 * n + 1 :, 2 * n + 1 :]
    stiff = stiff + rows.H[:, None, None] * np.eye(2 * n)
    by_a = at.bent.bow_by_y[..., 2 * n + 1 :]  # (R, i, plane, hinge)
    # ∂r: by kinks and by tensions
    dr = np.zeros((R, 2, 2 * n, 2, 2 * n))
    dr[:, 0, :, 0], dr[:, 1, :, 1] = -stiff, -stiff
    dr_T = -np.moveaxis(by_a, 1, -1)  # (R, plane, hinge, i)
    # n turns by (1 - n nᵀ) ∂ξ / |ξ|,  ∂ξ = ∂Δα + γ ∂r
    turn = (np.eye(2)[None, :, :, None] - normal[:, :, None] * normal[:, None]) * (m / safe)[
        :, None, None
    ]
    trial = gamma[:, None, :, None, None] * dr
    for p in range(2):
        trial[:, p, hinge, p, hinge] += 1.0
    block = -dr + np.einsum("rpah,rahbg->rphbg", turn, trial)
    block_T = -dr_T + np.einsum("rpah,rahi->rphi", turn, gamma[:, None, :, None] * dr_T)
    block += np.einsum("rph,rbh,hg->rphbg", at.hinges.m_x[:, None] * normal, along, np.eye(2 * n))
    by_T = at.hinges.m_T[:, None] * normal  # (R, plane, hinge)
    block_T[:, :, hinge, span] += by_T
    J[:, first:, first:] = block.reshape(R, 4 * n, 4 * n)
    J[:, first:, :n] = block_T.reshape(R, 4 * n, n)
    column = by_a.copy()
    column[:, span, :, hinge] += np.moveaxis(at.hinges.m_T[:, None] * along, 2, 0)
    J[:, :n, first:] = column.reshape(R, n, 4 * n)


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


def part_of(point: Point, at: NDArray[np.intp]) -> Point:
    """Some of the rows."""
    return Point(*(v[at] for v in point))


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
            again, failed[at] = _every_choice(part, begin)
        else:
            fades = way == "fading"
            most = FADING if fades else DAMPED
            again, failed[at] = _newton(part, begin, most, DAMPING, fades, yields)
        end = evaluate(part, again, yields=yields, with_stiffness=False)
        residual, _, _ = newton_system(part, again, end, yields=yields)
        failed[at] |= _off(end, residual, yields=yields) > CHECK
        _put(point, at, again)
    return point, failed


def _off(at: Local, residual: Array, *, yields: bool) -> Array:
    """(R,) N (and N·mm of hinges), by how much the equations are missed."""
    slips = np.abs(at.choice.station) == 1
    scale = [
        np.where(at.choice.span == 0, 1.0 / np.einsum("rii->ri", at.G), 1.0),
        np.where(slips, 1.0, 1.0 / at.give),
    ]
    if yields:
        scale.append(np.where(np.tile(at.choice.flows, 2), 1.0, PER_RAD))
    return np.asarray(np.abs(residual * np.concatenate(scale, axis=1)).max(axis=1))


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
    for _ in range(most):
        here = Point(T[live], s[live], a[live])
        at = evaluate(part, here, yields=yields, with_stiffness=False)
        residual, J, _ = newton_system(part, here, at, yields=yields)
        stands = at.choice.same(before) if before is not None else np.zeros(len(live), dtype=bool)
        if damping:
            held = np.where(stands & fades, held * held, damping)
            _damp(J, at, held)
        step = -np.linalg.solve(J, residual[..., None])[..., 0]
        # on the edge between two regimes both may hold: a point that does is left as it is
        met = _off(at, residual, yields=yields) <= EDGE * (1.0 + here.T.max(axis=1))
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


def _every_choice(rows: Rows, point: Point) -> tuple[Point, NDArray[np.bool_]]:
    """Newton that in each step solves for every choice of regimes and takes the one that holds;
    without yield. For wires of few spans on which choosing by the last step goes in circles.
    """
    R, n = rows.e.shape
    T, s = point.T.copy(), point.s.copy()
    spans = np.array(list(product((-1, 0, 1), repeat=n)), dtype=np.int8)
    stations = np.array(list(product((-2, -1, 0, 1, 2), repeat=n - 1)), dtype=np.int8)
    a, b = np.indices((len(spans), len(stations))).reshape(2, -1)
    C = len(a)
    every = rows.take(np.repeat(np.arange(R), C))
    way = np.tile(stations[b], (R, 1))
    end = np.where(way > 0, every.travel[..., 0], every.travel[..., 1])
    never = np.where(np.abs(way) == 2, np.isinf(end), (way != 0) & np.isinf(every.grip))
    span = np.tile(spans[a], (R, 1))
    span = np.where((span > 0) & np.isinf(every.high), 0, span)
    span = np.where(every.low == every.high, 1, span)
    choice = Choice(span, np.where(never, 0, way), np.zeros((R * C, 2 * n), dtype=bool))
    failed = np.ones(R, dtype=bool)
    for _ in range(CHOICES):
        here = Point(T, s, point.a)
        at = evaluate(rows, here, yields=False, with_stiffness=False)
        many, there = at.take(np.repeat(np.arange(R), C)), part_of(here, np.repeat(np.arange(R), C))
        many = replace(many, choice=choice)
        residual, J, _ = newton_system(every, there, many, yields=False, eased=False)
        step = -np.linalg.solve(J, residual[..., None])[..., 0]
        wrong = _violation(every, there, many, np.asarray(step)).reshape(R, C)
        best = np.argmin(wrong, axis=1)
        step = step.reshape(R, C, -1)[np.arange(R), best]
        new = np.maximum(T + step[:, :n], 0.0)
        size = np.abs(new - T).max(axis=1) + np.abs(step[:, n:] / at.give).max(axis=1, initial=0.0)
        T, s = new, s + step[:, n:]
        failed = (size > TOLERANCE * (1.0 + T.max(axis=1))) | (wrong.min(axis=1) > 1e-4)
        if not failed.any():
            break
    return Point(T, s, point.a), failed


def _violation(rows: Rows, point: Point, at: Local, step: Array) -> Array:
    """(R,) N, by how much a step of Newton breaks the conditions of its choice."""
    n = rows.e.shape[1]
    T, s = point.T + step[:, :n], point.s + step[:, n:]
    E = at.E + slid(step[:, n:]) - np.einsum("rij,rj->ri", at.G, step[:, :n])
    E = E / np.einsum("rii->ri", at.G)
    span, way = at.choice.span, np.sign(at.choice.station)
    fixed = rows.low == rows.high
    beyond = np.maximum(rows.low - T, T - rows.high)
    wrong = np.where(span == 0, beyond, np.where(fixed, 0.0, -span * E))
    D = np.diff(T, axis=1)
    slips, stops = np.abs(at.choice.station) == 1, np.abs(at.choice.station) == 2
    slid_too_far = np.maximum(s - rows.travel[..., 0], -s - rows.travel[..., 1])
    backwards = np.where(rows.grip > 0.0, -way * s, -np.inf)
    slid_too_far = np.maximum(slid_too_far, backwards) / at.give
    off = np.where(stops, rows.grip - way * D, np.abs(D) - rows.grip)
    off = np.where(slips, slid_too_far, off)
    return np.asarray(np.maximum(wrong.max(axis=1), off.max(axis=1, initial=-np.inf)))
