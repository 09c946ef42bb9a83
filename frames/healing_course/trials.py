"""Loads along the bone tried on a frame with callus, each solved once.

Loads wanted together are solved in one batch. Movement is that of the bone ends across the fracture
plane of the case, the largest round the outer edge of the cortex; callus itself stands square on
the bone.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from fem import FemError
from frames.casefile import Bone, Load
from frames.gap import gap_directions
from frames.load_results import load_result, named_movement
from frames.load_states import LoadStates, solve_loads
from frames.loading import LoadVector, load_vector
from frames.moving.cortex import cortex_movement
from frames.moving.windows import BEARINGS
from frames.pretension import Pretensioned
from frames.result_parts import LoadResult
from frames.wire_answers import wire_peak_stress

EVERY = 15
"""Of the bearings round the cortex, 3.75° apart; the largest is then short by less than
1 - cos 1.9°, 0.05 % of the tilt's part."""


@dataclass(frozen=True)
class Trial:
    """Row ``i`` of a batch of loads that were solved together."""

    load_N: float
    batch: tuple[LoadVector, ...]
    states: LoadStates
    i: int


@dataclass
class Trials:
    """pre: the frame with its callus; bone: of the case, with its fracture plane; known: what was
    solved so far, by load."""

    pre: Pretensioned
    bone: Bone
    known: dict[float, Trial] = field(default_factory=dict)

    def solve(self, loads_N: Sequence[float]) -> None:
        """Several loads together. Raises ``FemError`` when one of them has no equilibrium."""
        batch = tuple(
            load_vector(Load(name=f"{F:.0f} N", axial_N=F), self.pre.parts, self.pre.system)
            for F in loads_N
        )
        states = solve_loads(self.pre, batch)
        for i, F in enumerate(loads_N):
            self.known[F] = Trial(F, batch, states, i)

    def prepare(self, loads_N: Sequence[float]) -> None:
        """Several loads together if they can be; else each is tried when it is asked for."""
        try:
            self.solve(loads_N)
        except FemError:
            self.known.clear()

    def at(self, load_N: float) -> Trial:
        """One load. Raises ``FemError`` when it has no equilibrium."""
        if load_N not in self.known:
            self.solve([load_N])
        return self.known[load_N]

    def movement(self, load_N: float) -> float:
        """mm across the fracture plane, the largest round the cortex."""
        trial = self.at(load_N)
        u = trial.states.solution.u[trial.i]
        move = named_movement(gap_directions(self.pre.parts, self.pre.system).T @ (u - self.pre.u))
        around = cortex_movement(self.bone, move, BEARINGS[::EVERY], self.bone.outer_mm / 2.0)
        return float(np.abs(around.closing_mm).max())

    def result(self, load_N: float) -> LoadResult:
        """All answers under one load."""
        trial = self.at(load_N)
        peak = wire_peak_stress(self.pre.parts)(trial.states.solution.response)
        return load_result(self.pre, trial.batch[trial.i], trial.states, peak, trial.i)
