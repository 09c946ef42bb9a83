"""Coulomb's law by an outer iteration over the friction limits.

``fem.contact`` seeks equilibrium for limits R that stay fixed; Coulomb asks for R = μ p at the
pressures p that come out. So R is sought with

    G(R) = μ p(R) = R,       p(R): pressures of the equilibrium found with limits R.

Equilibrium for fixed R is unique and changes continuously with R, so that G is continuous, and
piecewise linear where the structure is linear. A limit matters only where its point slips. Where
all points stick one round is enough; otherwise the plain iteration R ← G(R) shrinks its error per
round by the factor μ |dp/dR|: of a body pressed on a plane inclined by α to the load, p cos α + R
sin α = P gives μ tan α, so that it creeps for steep planes and diverges beyond μ tan α = 1.
Therefore Anderson's acceleration: of the last few rounds take the mixture whose misses f = G(R) - R
cancel best, and go on from there,

    R' = R + f - (ΔR + ΔF) γ,      γ = argmin |f - ΔF γ|,

exact for as many linear couplings as it remembers (Walker & Ni, SIAM J. Numer. Anal. 49 (2011)
1715-35, from memory). When a kink (a point opens, sticks, slips) throws it off, memory is cleared
and it goes on from its best round with a shorter step. Beside a kink it may do so for ever; after
``ACCELERATED`` rounds the plain iteration goes on at half steps (shorter ones, should it drift
off), which is slow and sure where μ |dp/dR| < 3.

The first round lets points that touched at the start stick: if they hold, that is the answer, and
if not, the pressures are a fair start. Points from the air start without friction. A body that
nothing but friction holds must therefore be pressed on first and loaded sideways in later steps.
With strong friction Coulomb's law may have several answers; this finds one of them.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.contact import (
    ContactHistory,
    Contacts,
    ContactState,
    coulomb_error,
    coulomb_misses,
    next_limits,
    traction,
    with_limits,
)
from fem.errors import ConvergenceError

TOLERANCE = 1e-7
MOST_ROUNDS = 160
ACCELERATED = 20
_MEMORY = 6
_SHORTEST = 1.0 / 64.0

SolveOnce = Callable[[ContactHistory, NDArray[np.intp]], ContactState]


@dataclass(frozen=True)
class Settled:
    """history (k, c): slip of the start, limits with which the last equilibrium was found; rounds
    (k,) equilibria sought for each case, error (k,) its ``coulomb_error``.
    """

    history: ContactHistory
    rounds: NDArray[np.intp]
    error: Array


def settle(
    solve_once: SolveOnce,
    contacts: Contacts,
    history: ContactHistory,
    states: Sequence[str],
    *,
    tolerance: float = TOLERANCE,
) -> Settled:
    """Find the limits of one step for k cases.

    solve_once : from the history with limits (m, c) and the numbers of the m cases that are still
    sought to their contact states at equilibrium (the caller keeps its own displacements of each).
    history : (k, c) at the start of the step. states : (k,) a word for each case, for errors.
    Raises ``ConvergenceError``, and what ``solve_once`` raises.
    """
    touched = (history.gap <= 0.0) & (contacts.friction > 0.0)
    limit = np.where(touched, np.inf, 0.0)
    searches = [_Search() for _ in states]
    errors: list[list[float]] = [[] for _ in states]
    going = np.arange(len(states))
    for _ in range(MOST_ROUNDS):
        now = with_limits(history.take(going), limit[going])
        found = solve_once(now, going)
        own = contacts if contacts.gap.ndim == 1 else contacts.take(going)
        error = coulomb_error(own, now, found)
        wanted = next_limits(own, found)
        friction = np.linalg.norm(traction(own, found), axis=-1)
        open_ = []
        for row, case in enumerate(going.tolist()):
            errors[case].append(float(error[row]))
            if error[row] <= tolerance:
                # what sticks would stick with Coulomb's limit too
                stuck = np.maximum(wanted[row], friction[row])
                limit[case] = np.where(found.slipping[row], limit[case], stuck)
            else:
                limit[case] = searches[case].advance(limit[case].copy(), wanted[row])
                open_.append(row)
        going = going[open_]
        if not len(going):
            break
    else:
        case = int(going[0])
        at = contacts.names[int(np.argmax(coulomb_misses(own, now, found)[open_[0]]))]
        raise ConvergenceError(
            f"{states[case]}: friction does not settle; after {MOST_ROUNDS} rounds it still misses "
            f"Coulomb's law by {errors[case][-1]:.2g} of the largest pressure, worst at {at!r}. "
            "Raise the load in smaller steps, or lower the friction.",
            iterations=MOST_ROUNDS,
            residuals=tuple(errors[case]),
            worst_node=at,
            state=states[case],
        )
    rounds = np.array([len(e) for e in errors], dtype=np.intp)
    return Settled(with_limits(history, limit), rounds, np.array([e[-1] for e in errors]))


class _Search:
    """Anderson's iteration for the limits of one case."""

    def __init__(self) -> None:
        self.limits: list[Array] = []
        self.misses: list[Array] = []
        self.best: tuple[float, Array, Array] | None = None
        self.step = 1.0
        self.rounds = 0

    def advance(self, limit: Array, wanted: Array) -> Array:
        """Next limits (c,), from those tried and those that came out."""
        if not np.isfinite(limit).all():  # the round in which all sticks is no point of G
            return wanted
        miss = wanted - limit
        size = float(np.linalg.norm(miss))
        self.rounds += 1
        if self.rounds > ACCELERATED:
            return self._plain(limit, wanted, size)
        if self.best is None or size < self.best[0]:
            self.best = (size, limit, miss)
        elif size > 2.0 * self.best[0] and self.step > _SHORTEST:
            self.step /= 2.0
            self.limits, self.misses = [self.best[1]], [self.best[2]]
            return self._clip(self.best[1] + self.step * self.best[2], wanted)
        self.limits, self.misses = self.limits[-_MEMORY:], self.misses[-_MEMORY:]
        step = self.step * miss
        if self.limits:
            R = np.stack([limit - old for old in self.limits], axis=-1)
            F = np.stack([miss - old for old in self.misses], axis=-1)
            gamma = np.linalg.lstsq(F, miss, rcond=1e-10)[0]
            step = step - (R + self.step * F) @ gamma
        self.limits.append(limit)
        self.misses.append(miss)
        return self._clip(limit + step, wanted)

    def _plain(self, limit: Array, wanted: Array, size: float) -> Array:
        """Half a step, from where the iteration stands; shorter when it drifts off."""
        if self.rounds == ACCELERATED + 1:
            self.step = 0.5
            self.best = (size, limit, wanted - limit)
        assert self.best is not None
        if size > 4.0 * self.best[0] and self.step > _SHORTEST:
            self.step /= 2.0
        elif size < self.best[0]:
            self.best = (size, limit, wanted - limit)
        return self._clip(limit + self.step * (wanted - limit), wanted)

    @staticmethod
    def _clip(limit: Array, wanted: Array) -> Array:
        """No limit below zero, and none in the air."""
        return np.where(wanted > 0.0, np.maximum(limit, 0.0), 0.0)
