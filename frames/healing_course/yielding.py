"""The load along the bone from which the steel of a wire or half-pin is past its yield stress.

Wires: tension plus bending, σ = T/A + 32 |M| / π d³ (``frames.wire_answers``); half-pins likewise
(``frames.pin_forces``). The load at which the largest σ / σ_yield passes 1 is sought along the load
as ``check`` seeks it (``frames.onset``).
"""

from dataclasses import dataclass

import numpy as np

from frames.healing_course.trials import Trial
from frames.load_states import State
from frames.onset import load_paths
from frames.pin_forces import pin_results
from frames.pretension import Pretensioned
from frames.wire_answers import wire_peak_stress, wire_yield

HAIR = 1e-6
"""Steel that flows in the model stays at its limit and never passes it."""


@dataclass(frozen=True)
class Yield:
    """The load at which it begins, 0 when the steel is past it without any; the part it begins
    in."""

    load_N: float
    part: str


def first_yield(pre: Pretensioned, trial: Trial) -> Yield | None:
    """None when no steel yields up to the load of the trial."""
    peak = wire_peak_stress(pre.parts)
    rest_peak = peak(pre.response)
    paths = load_paths(pre, trial.batch, trial.states, rest_peak, peak)
    if not paths:
        return None
    path = paths[0]  # all loads of a batch lie along the bone

    def over(state: State) -> float:
        return float(_use(pre, state).max(initial=0.0)) - 1.0 + HAIR

    state = path.first(over)
    assert path.axial_N is not None
    if state is None or state.level * path.axial_N > trial.load_N:
        return None
    names = [*pre.parts.wire_names, *pre.parts.pin_names]
    return Yield(state.level * path.axial_N, names[int(np.argmax(_use(pre, state)))])


def _use(pre: Pretensioned, state: State) -> np.ndarray:
    """(w + p,) largest stress over yield stress, wires and then half-pins."""
    wires = state.peak_stress / wire_yield(pre.parts)
    limits = np.array([p.pin.yield_MPa for p in pre.parts.construct.pins])
    pins = np.array([p.peak_stress_MPa for p in pin_results(pre.parts, pre.system, state.u)])
    return np.concatenate([wires, pins / limits if len(pins) else pins])
