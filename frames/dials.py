"""What to dial at each wire so that all come out at their tensions in the end.

With smooth elastic wires the frame after stage i has wires 1 … i at the natural lengths that they
have in the end and the others loose, so that one solution per stage, backwards from the frame
tensioned at once, tells its dial. Grips, olives and slipping clamps remember more; the dials are
then corrected by what is missing at the end and tried again,

    D ← D + (wanted - found) / (1 - drop),

accelerated: where grips let the bone move along a wire, one leg's dial may change the difference of
its legs by several times its own change, and the plain correction does not settle.
"""

from dataclasses import replace

import numpy as np

from fem import ConvergenceError, ModelError, System
from fem.algebra import Array
from fem.law import Law
from fem.stepping import advance
from frames.discretise import Discretised
from frames.holding import drops, tensioning_order, wire_pulls
from frames.staging import Tensioned, legs, tension_at_once, tension_in_turn
from frames.supports import held_at_ankle

MOST_ROUNDS = 40
TENSION_TOLERANCE = 5e-3
"""N to which the search brings every tension."""

_MEMORY = 6
_NO_DIALS = "no dials were found with which all wires come out at their tensions"


def dials_for(parts: Discretised, system: System, law: Law, u: Array) -> tuple[Array, Tensioned]:
    """What to dial (w, 2) so that the legs pulled come out at the tensions of the case in the end,
    and how the tensioning then goes. Raises ``ConvergenceError`` when no dials do it.
    """
    case = parts.construct.case
    wanted, kept = wire_pulls(case), 1.0 - drops(case)[:, None]
    dial = _backwards(parts, system, law, u)
    search = _Dials(kept)
    for _ in range(MOST_ROUNDS):
        try:
            found = tension_in_turn(parts, system, law, u, dial)
        except (ModelError, ConvergenceError) as error:  # beyond what clamps or bone hold
            if not search.dials:
                raise ConvergenceError(f"{_NO_DIALS}: {error}", state="tensioning") from error
            dial = (dial + search.dials[-1]) / 2.0
            continue
        off = np.nan_to_num(wanted - found.stages[-1].left)  # legs that are not pulled ask nothing
        missing = np.abs(off).max(axis=-1)
        if missing.max(initial=0.0) < TENSION_TOLERANCE:
            return dial, found
        dial = search.advance(dial, off)
    worst = int(np.argmax(missing))
    raise ConvergenceError(
        f"{_NO_DIALS}; {parts.wire_names[worst]!r} still misses by {missing[worst]:.3g} N. A leg "
        "that slides freely through the bone, or a clamp that slips, cannot hold what is asked: "
        "ask for less, or tension in another order.",
        state="tensioning",
    )


class _Dials:
    """The next dials from the rounds before: the mixture of the last few whose misses cancel best
    (Anderson's acceleration, see ``fem.friction``).
    """

    def __init__(self, kept: Array) -> None:
        self.kept = kept
        self.dials: list[Array] = []
        self.misses: list[Array] = []

    def advance(self, dial: Array, off: Array) -> Array:
        """Next dials from those tried (w, 2) and what was missing then (w, 2) N."""
        miss = off / self.kept
        step = miss
        if self.dials:
            D = np.stack([np.nan_to_num(dial - d).ravel() for d in self.dials], axis=-1)
            F = np.stack([(miss - m).ravel() for m in self.misses], axis=-1)
            gamma = np.linalg.lstsq(F, miss.ravel(), rcond=1e-8)[0]
            step = miss - ((D + F) @ gamma).reshape(miss.shape)
        self.dials = [*self.dials, dial][-_MEMORY:]
        self.misses = [*self.misses, miss][-_MEMORY:]
        return np.asarray(np.maximum(dial + step, 0.0))


def _backwards(parts: Discretised, system: System, law: Law, u: Array) -> Array:
    """(w, 2) dials, exact for smooth elastic wires: from the finished frame the wires of the last
    stage are taken out, then those of the stage before, and so on; what is left in the others is
    what they were locked with.
    """
    case = parts.construct.case
    dial, kept = wire_pulls(case), 1.0 - drops(case)[:, None]
    system = _with_firm_clamps(system)
    finished = tension_at_once(parts, system, law, u)
    step, law = finished.step, finished.law
    none, held = np.zeros_like(u), held_at_ankle(parts, system)
    for wires in reversed(tensioning_order(case)):
        state = step.solution.response.held_wires
        assert state is not None
        assert law.held_wires is not None
        rows = list(wires)
        left = legs(state)[0, rows] / kept[rows]
        dial[rows] = np.where(np.isnan(dial[rows]), np.nan, left)
        out = law.held_wires.unlaid | np.isin(np.arange(len(dial)), rows)
        law = replace(law, held_wires=replace(law.held_wires, unlaid=out))
        step = advance(system, none, law, step.solution.u, ["tensioning"], held=held)
    return dial


def _with_firm_clamps(system: System) -> System:
    """Clamps that hold anything: on the way back wires may be tighter than they ever are."""
    held = system.model.held_wires
    assert held is not None
    holds = replace(held.holds, slip=np.full_like(held.holds.slip, np.inf))
    return replace(system, model=replace(system.model, held_wires=replace(held, holds=holds)))
