"""The load at which a limit is passed, along a proportional load.

A measure g of the state (peak stress over yield minus one, closing over gap minus one …) rises with
the load level λ; its first zero is bracketed by states already solved and found by inverse
interpolation through the nearest four of them, or the secant where they do not rise, each trial
being a full equilibrium. The level returned is good to ``LEVEL_TOLERANCE`` of the full load of its
path, to ``KINK_TOLERANCE`` where the measure bends sharply at its zero (touch, slip); where a
state between two solved ones cannot be reached, it is that of the upper one.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from fem import ConvergenceError, Solution, solve
from fem.algebra import Array
from fem.stepping import advance
from fem.system import Response
from frames.load_states import LoadStates, State, state_at, way_matters
from frames.loading import LoadVector
from frames.pretension import Pretensioned
from frames.supports import Mask

LEVEL_TOLERANCE = 1e-3
KINK_TOLERANCE = 5e-3
MOST_TRIALS = 30


@dataclass
class LoadPath:
    """States of one proportional load, level 1 its largest member; grows as levels are solved.

    axial_N : compression along the bone at level 1, None for a wrench. largest : number of the load
    case at level 1. remembers : whether the way matters (``frames.load_states``), so that a level
    is reached from the state below it and its past.
    """

    pre: Pretensioned
    force: Array
    held: Mask
    name: str
    axial_N: float | None
    largest: int
    peak: Callable[[Response], Array]
    remembers: bool = False
    states: list[State] = field(default_factory=list)

    def add(self, state: State) -> None:
        """Keep a solved state in order of level; one of each level."""
        if any(abs(s.level - state.level) < 1e-9 for s in self.states):
            return
        self.states.append(state)
        self.states.sort(key=lambda s: s.level)

    def at(self, level: float) -> State:
        """The state at a level, solved from its neighbours when not yet known."""
        for s in self.states:
            if abs(s.level - level) < 1e-9:
                return s
        below = max((s for s in self.states if s.level < level), key=lambda s: s.level)
        if self.remembers:
            state = self._step_up(level, below)
        else:
            near = sorted(self.states, key=lambda s: abs(s.level - level))[:4]
            weights = _lagrange(np.array([s.level for s in near]), level)
            start = sum(w * s.u for w, s in zip(weights, near, strict=True))
            try:
                found = self._solve(level, np.asarray(start), level)
            except ConvergenceError:  # too far off: walk up from the state below
                found = self._solve(level, below.u, below.level)
            peak = self.peak(found.response)[0]
            state = state_at(level, found.u[0], found.response, 0, peak, self.pre.law)
        self.add(state)
        return state

    def _step_up(self, level: float, below: State) -> State:
        step = advance(
            self.pre.system,
            level * self.force[None],
            below.law,
            below.u[None],
            [f"{self.name} at {100 * level:.0f} %"],
            start_loads=below.level * self.force[None],
            held=self.held,
        )
        response = step.solution.response
        peak = self.peak(response)[0]
        return state_at(level, step.solution.u[0], response, 0, peak, step.law.one(0), below)

    def _solve(self, level: float, start: Array, start_level: float) -> Solution:
        return solve(
            self.pre.system,
            level * self.force[None],
            self.pre.law,
            start[None],
            [f"{self.name} at {100 * level:.0f} %"],
            start_loads=start_level * self.force[None],
            held=self.held,
        )

    def first(self, measure: Callable[[State], float], *, kinked: bool = False) -> State | None:
        """The state at which ``measure`` first passes zero from below, or None up to the full load.

        Already at or above zero without load: the first state.  kinked : the measure bends sharply
        at its zero (faces that meet, a wire that begins to slide), where interpolation is of no
        use; found by halving.
        """
        values = [measure(s) for s in self.states]
        over = next((i for i, g in enumerate(values) if g >= 0.0), None)
        if over is None:
            return None
        if over == 0:
            return self.states[0]
        low, high = self.states[over - 1].level, self.states[over].level
        for _ in range(MOST_TRIALS):
            level = (low + high) / 2.0 if kinked else self._estimate(measure, low, high)
            try:
                state = self.at(level)
            except ConvergenceError:  # on the way to a state that was reached otherwise
                break
            if measure(state) >= 0.0:
                high = min(high, level)
            else:
                low = max(low, level)
            if high - low < (KINK_TOLERANCE if kinked else LEVEL_TOLERANCE):
                break
            if not kinked and abs(self._estimate(measure, low, high) - level) < LEVEL_TOLERANCE:
                return state
        return self.at(high)

    def _estimate(self, measure: Callable[[State], float], low: float, high: float) -> float:
        """Level of the zero by inverse interpolation through the states nearest to it, inside the
        bracket.
        """
        near = sorted(self.states, key=lambda s: abs(measure(s)))[:4]
        g = np.array([measure(s) for s in near])
        levels = np.array([s.level for s in near])
        order = np.argsort(levels)
        if (np.diff(g[order]) > 0.0).all():  # Lagrange's polynomial of the level in g, at g = 0
            level = float(_lagrange(g, 0.0) @ levels)
            if low < level < high:
                return level
        g_low, g_high = measure(self.at(low)), measure(self.at(high))
        level = low - g_low * (high - low) / (g_high - g_low)
        room = 0.01 * (high - low)
        return float(min(max(level, low + room), high - room))


def _lagrange(x: Array, at: float) -> Array:
    """(k,) weights of values given at places x (k,) for the polynomial through them, at one
    place.
    """
    return np.array(
        [np.prod((at - np.delete(x, i)) / (x[i] - np.delete(x, i))) for i in range(len(x))]
    )


def load_paths(
    pre: Pretensioned,
    vectors: Sequence[LoadVector],
    states: LoadStates,
    rest_peak: Array,
    peak: Callable[[Response], Array],
) -> list[LoadPath]:
    """One path for all loads in one direction, with every state solved so far; ``peak`` as of
    ``frames.wire_answers``, rest_peak (w,) before load.
    """
    remembers = way_matters(pre.parts.construct.case)
    stresses = [peak(step.solution.response) for step in states.steps]
    full = peak(states.solution.response)
    paths = []
    for largest, members in group_parallel(vectors):
        top = vectors[largest]
        path = LoadPath(pre, top.force, top.held, top.name, top.axial_N, largest, peak, remembers)
        last = state_at(0.0, pre.u, pre.response, None, rest_peak, pre.law)
        path.add(last)
        for level, step, stress in zip(states.levels, states.steps, stresses, strict=True):
            u, response = step.solution.u[largest], step.solution.response
            law = step.law.one(largest)
            last = state_at(level, u, response, largest, stress[largest], law, last)
            path.add(last)
        if not remembers:
            for i, level in members:
                response, u = states.solution.response, states.solution.u[i]
                path.add(state_at(level, u, response, i, full[i], states.laws[i]))
        paths.append(path)
    return paths


def group_parallel(loads: Sequence[LoadVector]) -> list[tuple[int, list[tuple[int, float]]]]:
    """Loads in one direction, together: [(number of the largest, [(number, level of it), …]), …];
    zero loads left out."""
    groups: list[tuple[int, list[tuple[int, float]]]] = []
    sizes = [float(np.linalg.norm(v.force)) for v in loads]
    for i in np.argsort([-s for s in sizes], kind="stable"):
        if sizes[i] == 0.0:
            continue
        for largest, members in groups:
            unit = loads[largest].force / sizes[largest]
            if np.linalg.norm(loads[i].force / sizes[i] - unit) < 1e-9:
                members.append((int(i), sizes[i] / sizes[largest]))
                break
        else:
            groups.append((int(i), [(int(i), 1.0)]))
    return groups
