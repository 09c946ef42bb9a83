"""The load at which a limit is passed, along a proportional load.

A measure g of the state (peak stress over yield minus one, closing over gap minus one …) rises with
the load level λ; its first zero is bracketed by states already solved and found by the secant rule
kept inside the bracket (Illinois variant of regula falsi), each trial being a full
equilibrium.  The level returned is good to ``LEVEL_TOLERANCE`` of the full load of its path.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from fem import solve
from fem.algebra import Array
from fem.system import Response
from frames.loading import LoadVector
from frames.pretension import Pretensioned
from frames.supports import Mask

LEVEL_TOLERANCE = 5e-4


@dataclass(frozen=True)
class State:
    """One solved state of a path: level λ, displacements u (n,), wire tensions (w,) and peak
    stresses (w,)."""

    level: float
    u: Array
    tension: Array
    peak_stress: Array


@dataclass
class LoadPath:
    """States of one proportional load, level 1 its largest member; grows as levels are solved."""

    pre: Pretensioned
    force: Array
    held: Mask
    name: str
    peak: Callable[[Response], Array]
    states: list[State] = field(default_factory=list)

    def add(self, state: State) -> None:
        """Keep a solved state in order of level."""
        self.states.append(state)
        self.states.sort(key=lambda s: s.level)

    def at(self, level: float) -> State:
        """The state at a level, solved from its neighbours when not yet known."""
        for s in self.states:
            if s.level == level:
                return s
        levels = np.array([s.level for s in self.states])
        above = int(np.clip(np.searchsorted(levels, level), 1, len(levels) - 1))
        low, high = self.states[above - 1], self.states[above]
        share = (level - low.level) / (high.level - low.level)
        start = low.u + share * (high.u - low.u)
        found = solve(
            self.pre.system,
            level * self.force[None],
            self.pre.law,
            start[None],
            [f"{self.name} at {100 * level:.0f} %"],
            start_loads=low.level * self.force[None],
            held=self.held,
        )
        state = State(level, found.u[0], found.response.tension[0], self.peak(found.response)[0])
        self.add(state)
        return state

    def first(self, measure: Callable[[State], float]) -> State | None:
        """The state at which ``measure`` first passes zero from below, or None up to the full load.

        Already at or above zero without load: the first state.
        """
        values = [measure(s) for s in self.states]
        over = next((i for i, g in enumerate(values) if g >= 0.0), None)
        if over is None:
            return None
        if over == 0:
            return self.states[0]
        low, high = self.states[over - 1], self.states[over]
        g_low, g_high = values[over - 1], values[over]
        kept = 0
        for _ in range(40):
            if high.level - low.level <= LEVEL_TOLERANCE or g_high == 0.0:
                break
            level = low.level - g_low * (high.level - low.level) / (g_high - g_low)
            # a trial next to an end would never shrink the bracket below the tolerance
            room = 0.4 * LEVEL_TOLERANCE
            level = min(max(level, low.level + room), high.level - room)
            state = self.at(level)
            g = measure(state)
            if g >= 0.0:
                high, g_high = state, g
                g_low *= 0.5 if kept == 1 else 1.0
                kept = 1
            else:
                low, g_low = state, g
                g_high *= 0.5 if kept == -1 else 1.0
                kept = -1
        return high


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
