"""The problem of held wires as a batch of rows, and its equations at a point.

One row a wire and load case; the equations and their symbols are those of ``fem.held_solver``.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.held_bending import SpanBending, bend_spans
from fem.plastic_hinge import strength
from fem.wire_holds import slid

TRIAL_STEPS = 8  # of Newton for ρ


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
    """At the present kinks, x = |Δα|: stretch -∂Φ/∂T and give -∂²Φ/∂T² (R, n) of the spans, work Φ
    and ∂²Φ/∂T∂x, by_T (R, 2n).  Of the trial, |ξ| = ρ + γ m(ρ): ρ, m, ∂m/∂ρ and ∂m/∂T (R, 2n), and
    first, m(0).  See ``fem.plastic_hinge``.
    """

    stretch: Array
    give: Array
    work: Array
    by_T: Array
    rho: Array
    m: Array
    m_x: Array
    m_T: Array
    first: Array


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
        drive = -bent.force[..., 2 * n + 1 :] - rows.H[:, None, None] * y[..., 2 * n + 1 :]
        gamma = hinge_scale(rows, bent)
        trial = a + gamma[:, None] * drive
        reach = np.sqrt(np.sum(trial**2, axis=1))
        terms = _hinge_terms(rows, T, a, gamma, reach)
        flows = reach > gamma * terms.first
        E = E - terms.stretch
        G = G + terms.give[:, :, None] * np.eye(n)

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


def _hinge_terms(rows: Rows, T: Array, a: Array, gamma: Array, reach: Array) -> HingeTerms:
    M_y, N_y = rows.M_y[:, None], rows.N_y[:, None]
    elastic = ~np.isfinite(M_y)
    parts = strength(T, np.where(elastic, 1.0, M_y), np.where(elastic, 1e9, N_y))
    A, B, A_1, B_1, B_2 = (np.repeat(v, 2, axis=1) for v in parts)
    A = A + np.where(elastic, np.inf, 0.0)
    spread = rows.spread[:, None]
    rest = np.exp(-rows.turned / spread)
    x = np.sqrt(np.sum(a**2, axis=1))
    more = -np.expm1(-x / spread)
    S = x - spread * rest * more
    stretch, give = -(A_1 * x + B_1 * S), -B_2 * S

    rho, goal = np.zeros(x.shape), reach - gamma * A
    for _ in range(TRIAL_STEPS):  # Newton, from the left on a concave rising graph
        gone = rest * np.exp(-rho / spread)
        missing = goal - rho - gamma * B * (1.0 - gone)
        rho = np.maximum(rho + missing / (1.0 + gamma * B * gone / spread), 0.0)
    gone = rest * np.exp(-rho / spread)
    return HingeTerms(
        stretch=stretch[:, 0::2] + stretch[:, 1::2],
        give=give[:, 0::2] + give[:, 1::2],
        work=np.where(elastic, 0.0, A) * x + B * S,
        by_T=A_1 + B_1 * (1.0 - rest * (1.0 - more)),
        rho=rho,
        m=A + B * (1.0 - gone),
        m_x=B * gone / spread,
        m_T=A_1 + B_1 * (1.0 - gone),
        first=A + B * (1.0 - rest),
    )


def hinge_scale(rows: Rows, bent: SpanBending) -> Array:
    """(R, 2n) γ of the hinges."""
    n = rows.e.shape[1]
    stiff = np.einsum("rii->ri", bent.stiffness)[:, 2 * n + 1 :]
    return np.asarray(1.0 / (stiff + rows.H[:, None]))


def part_of(point: Point, at: NDArray[np.intp]) -> Point:
    """Some of the rows."""
    return Point(*(v[at] for v in point))
