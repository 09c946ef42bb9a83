"""Newton's iteration of several load cases side by side, and how far to go along a step.

A step Δu is shortened by halves until the potential Π(u) - p·u falls or the residual does. With
parts that have kinks (that slip, yield or touch) the one may fall while the other rises, and the
two rules undo each other for ever; there the step goes to where the potential's slope along it, (p
- f)·Δu, has fallen to half.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.errors import ModelError
from fem.law import Law
from fem.system import Response, System, added_at, respond, respond_added, tangent_of

SMALLEST_SHARE = 1.0 / 512.0
MOST_TRIALS = 40


def _distinct(system: System, law: Law, u: Array) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Cases that stand for all, and which of these each case is like: in design, law and place."""
    cases = np.arange(len(u))
    if law.has_past:
        return cases, cases
    own = [v for v in (law.tension, law.natural, law.misfit) if v is not None and v.ndim == 2]
    own += [law.late] if law.late is not None and law.late.ndim == 3 else []
    designs = cases * 0 if system.designs is None else system.designs
    number: dict[tuple[bytes, ...], int] = {}
    which = np.array(
        [
            number.setdefault(
                (designs[i].tobytes(), u[i].tobytes(), *(v[i].tobytes() for v in own)), len(number)
            )
            for i in cases
        ],
        dtype=np.intp,
    )
    return np.unique(which, return_index=True)[1], which


class _Moved(NamedTuple):
    """Cases that moved in one trial: rows (k,) of its places u (r, n) and response are those of
    ``cases`` (k,).
    """

    cases: NDArray[np.intp]
    rows: NDArray[np.intp]
    system: System
    u: Array
    law: Law
    response: Response


class Iteration:
    """Newton's iteration of several cases side by side: displacement, energy, force and tangent of
    each.
    """

    def __init__(
        self,
        system: System,
        loads: Array,
        law: Law,
        u: Array,
        free: NDArray[np.bool_],
        begun: tuple[Response, Array] | None = None,
    ) -> None:
        """begun: ``respond_added`` at the starts that differ, in the order in which they come."""
        self.system, self.loads, self.law, self.free = system, loads, law, free
        self.units = system.units
        self.u = u.copy()
        some, self.start_of = _distinct(system, law, u)  # loads of one frame start from one state
        response, added = begun or respond_added(system.take(some), u[some], law.take(some))
        if len(added) != len(some):
            raise ModelError(f"{len(some)} starts differ, but {len(added)} were looked at before.")
        which = self.start_of
        self.energy, self.force = response.energy[which], response.force[which]
        self.start_energy = self.energy.copy()
        self.start_taut = np.asarray((response.tension > 0.0).all(axis=-1))[which]
        self._added = [added[i] for i in which]
        self._taken: tuple[bytes, System, Law] | None = None
        self._later: list[_Moved] = []
        largest = response.tension.max(axis=-1, initial=0.0)[which]
        loaded = (np.abs(loads) * self.units).max(axis=-1, initial=0.0)
        self.reference = np.maximum(1.0, np.maximum(largest, loaded))

    def tangent(self, case: int) -> Array:
        """(n, n) at the place of a case, made anew."""
        for moved in self._later:  # of all that moved together: they are wanted together
            added = added_at(moved.system, moved.u, moved.law, moved.response)
            for i, row in zip(moved.cases.tolist(), moved.rows.tolist(), strict=True):
                self._added[i] = added[row]
        self._later = []
        return tangent_of(self.system, case, self._added[case])

    def _of(self, cases: NDArray[np.intp]) -> tuple[System, Law]:
        """System and law of some cases; those of the last ones are kept."""
        key = cases.tobytes()
        if self._taken is None or self._taken[0] != key:
            self._taken = key, self.system.take(cases), self.law.take(cases)
        return self._taken[1:]

    def residual(self, cases: NDArray[np.intp], force: Array) -> Array:
        """(k, n) size of the residual in N, moments divided by the length of the system, zero where
        held.
        """
        units = self.units if self.units.ndim == 1 else self.units[cases]
        return np.asarray(np.abs(self.loads[cases] - force) * units * self.free[cases])

    def advance(self, cases: NDArray[np.intp], steps: Array) -> None:
        """Take each case's step, shortened as need be."""
        if self.law.has_past:
            self._search_slope(cases, steps)
        else:
            self._search_fall(cases, steps)

    def _search_slope(self, cases: NDArray[np.intp], steps: Array) -> None:
        """Where the potential's slope along the step has fallen to half, by false position; the
        full step when it still falls there.
        """
        origin, todo = self.u[cases].copy(), np.arange(len(cases))
        first = np.sum((self.loads[cases] - self.force[cases]) * steps, axis=-1)
        low, high = np.zeros(len(cases)), np.full(len(cases), np.inf)
        at_low, at_high = first.copy(), np.zeros(len(cases))
        share = np.ones(len(cases))
        for trial_number in range(MOST_TRIALS):
            at = cases[todo]
            trial = origin[todo] + share[todo, None] * steps[todo]
            new, added = respond_added(self.system.take(at), trial, self.law.take(at))
            power = np.sum((self.loads[at] - new.force) * steps[todo], axis=-1)
            good = np.abs(power) <= 0.5 * np.abs(first[todo])
            good |= (power > 0.0) & (share[todo] == 1.0)
            good |= trial_number == MOST_TRIALS - 1
            for row in np.flatnonzero(good):
                i = at[row]
                self.u[i], self.energy[i] = trial[row], new.energy[row]
                self.force[i], self._added[i] = new.force[row], added[row]
            falls = todo[power > 0.0]
            low[falls], at_low[falls] = share[falls], power[power > 0.0]
            rises = todo[power <= 0.0]
            high[rises], at_high[rises] = share[rises], power[power <= 0.0]
            todo = todo[~good]
            if not len(todo):
                return
            a, b = low[todo], high[todo]
            zero = (a * at_high[todo] - b * at_low[todo]) / (at_high[todo] - at_low[todo])
            share[todo] = np.clip(zero, 0.9 * a + 0.1 * b, 0.1 * a + 0.9 * b)

    def _search_fall(self, cases: NDArray[np.intp], steps: Array) -> None:
        """Shortened by halves until the potential or the residual falls; the shortest is taken."""
        share = 1.0
        todo = np.arange(len(cases))
        potential = self.energy[cases] - np.sum(self.loads[cases] * self.u[cases], axis=-1)
        residual = self.residual(cases, self.force[cases]).max(axis=-1, initial=0.0)
        origin = self.u[cases].copy()
        while len(todo):
            at = cases[todo]
            trial = origin[todo] + share * steps[todo]
            system, law = self._of(at)
            new = respond(system, trial, law, with_tangent=False)
            falls = new.energy - np.sum(self.loads[at] * trial, axis=-1) < potential[todo]
            left = self.residual(at, new.force).max(axis=-1, initial=0.0)
            take = falls | (left < 0.9 * residual[todo]) | (share < SMALLEST_SHARE)
            kept = at[take]
            self.u[kept], self.energy[kept] = trial[take], new.energy[take]
            self.force[kept] = new.force[take]
            if len(kept):
                self._later.append(_Moved(kept, np.flatnonzero(take), system, trial, law, new))
            todo = todo[~take]
            share /= 2.0
