"""Tensioning stage by stage, as it is done: pulled to the dialled tension, locked, tensioner off.

In each stage one wire, or several at once, is laid where the frame then stands and pulled by a
tensioner against rings that give. Taking the tensioner off loses a share of the tension (the
clamp's bite; measured by La Russa et al., Proc IMechE H 2011;225:220-7: the larger part of the loss
comes with the tensioner's removal); the wire is then locked, and every later stage changes its
tension.

Take-up is the way a tensioner goes back. With L_i the spans as laid, straight and without tension,
and P the path from clamp to clamp less what bowing takes of it,

    take-up = Σ T_i L_i/EA + (P as laid - P) = stretch of the wire + closing of the ring,

since what has been drawn out is stretched like the rest.

What to dial so that all come out at given tensions: with smooth elastic wires the frame after stage
i has wires 1 … i at the natural lengths that they have in the end and the others loose, so that one
solution per stage, backwards from the frame tensioned at once, tells its dial. Grips, olives and
slipping clamps remember more; the dials are then corrected by what is missing at the end and tried
again, D ← D + (wanted - found) / (1 - drop), accelerated.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fem import ConvergenceError, ModelError, System
from fem.algebra import Array
from fem.held_wire import HeldState
from fem.law import Law
from fem.stepping import Step, advance, carried
from fem.wire_holds import WireHistory, lay, lock
from fem.wire_holds import start as unlaid
from frames.discretise import Discretised
from frames.holding import drops, tensioning_order, wire_pulls
from frames.nut_turns import early_misfit
from frames.supports import held_at_ankle

MOST_ROUNDS = 40
_MEMORY = 6
TENSION_TOLERANCE = 5e-3
"""N to which the search for dials brings every tension."""

_NO_DIALS = "no dials were found with which all wires come out at their tensions"


@dataclass(frozen=True)
class TakeUp:
    """wire; drawn out at start and end (mm), together equal to stretch + closing (mm)."""

    wire: str
    start_mm: float
    end_mm: float
    stretch_mm: float
    closing_mm: float


@dataclass(frozen=True)
class Stage:
    """One stage. wires: those tensioned in it; dial (w, 2) N at the tensioners, nan for none;
    pulled (w, 2) N tension of the legs at start and end of all wires with the tensioners on, left
    (w, 2) after they came off; take_up of the wires tensioned.
    """

    wires: tuple[str, ...]
    dial: Array
    pulled: Array
    left: Array
    take_up: tuple[TakeUp, ...]


@dataclass(frozen=True)
class Tensioned:
    """step: last solution; law: all wires locked (no axis of cases); stages in order."""

    step: Step
    law: Law
    stages: tuple[Stage, ...]


def legs(state: HeldState) -> Array:
    """(..., w, 2) N tension of the legs at start and end."""
    return np.asarray(state.tensions[..., [0, -1]])


def loose(parts: Discretised, system: System) -> tuple[Law, Array]:
    """The frame before any wire is laid, with the nuts turned that are turned before: its law, and
    u (1, n) near its equilibrium.
    """
    held = parts.model.held
    assert held is not None
    longer = early_misfit(parts)
    law = Law(held=unlaid(held.wires, held.holds), misfit=longer)
    u = np.zeros((1, system.size))
    if longer is not None:
        u = carried(system, u, replace(law, misfit=None), law, held_at_ankle(parts, system))
    return law, u


def tension_at_once(parts: Discretised, system: System, law: Law, u: Array) -> Tensioned:
    """All wires pulled to their tensions together and locked: each comes out as it was pulled.

    law : wires not laid yet; u (1, n).
    """
    every = tuple(range(len(parts.wire_names)))
    stage = _Stages(parts, system, law, u)
    stage.run(every, wire_pulls(parts.construct.case), np.zeros(len(every)))
    return stage.done()


def tension_in_turn(
    parts: Discretised, system: System, law: Law, u: Array, dial: Array | None = None
) -> Tensioned:
    """Stage by stage in the order of the case; dial (w, 2) N, the tensions of the case unless
    given.
    """
    case = parts.construct.case
    stages = _Stages(parts, system, law, u)
    dial = wire_pulls(case) if dial is None else dial
    for wires in tensioning_order(case):
        stages.run(wires, dial, drops(case))
    return stages.done()


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
        except ModelError as error:  # beyond what clamps or bone hold
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
    """The search for dials: the plain correction, mixed from the last few rounds so that their misses
    cancel best (Anderson's acceleration, see ``fem.friction``). Where grips let the bone move along
    a wire, one leg's dial may change the difference of its legs by several times its own change.
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
    finished = tension_at_once(parts, system, law, u)
    step, law = finished.step, finished.law
    none, held = np.zeros_like(u), held_at_ankle(parts, system)
    for wires in reversed(tensioning_order(case)):
        state = step.solution.response.held
        assert state is not None
        assert law.held is not None
        rows = list(wires)
        left = legs(state)[0, rows] / kept[rows]
        dial[rows] = np.where(np.isnan(dial[rows]), np.nan, left)
        out = law.held.unlaid | np.isin(np.arange(len(dial)), rows)
        law = replace(law, held=replace(law.held, unlaid=out))
        step = advance(system, none, law, step.solution.u, ["tensioning"], held=held)
    return dial


class _Stages:
    """The frame while it is tensioned."""

    def __init__(self, parts: Discretised, system: System, law: Law, u: Array) -> None:
        assert system.model.held is not None
        self.parts, self.system = parts, system
        self.wires, self.holds = system.model.held.wires, system.model.held.holds
        self.law, self.u = law.spread(1), u
        self.zero = np.zeros((1, system.size))
        self.held = held_at_ankle(parts, system)
        self.stages: list[Stage] = []
        self.step = self._solve("frame before tensioning")

    def run(self, which: Sequence[int], dial: Array, drop: Array) -> None:
        """One stage: the wires of these numbers."""
        rows = list(which)
        chosen = np.isin(np.arange(len(self.wires.names)), which)
        names = tuple(self.wires.names[i] for i in which)
        words = f"tensioning {', '.join(names)}"
        laid = lay(self.wires, self.holds, self._state(), self._past(), chosen)
        self._set(laid.pulled(chosen, dial))
        self.step = self._solve(words)
        pulled = legs(self._state())[0]
        take_up = tuple(self._take_up(i) for i in which)
        if (drop[rows] > 0.0).any():
            self._set(self._past().pulled(chosen, dial * (1.0 - drop[:, None])))
            self.step = self._solve(f"{words}, tensioner off")
        before = self.step.solution.law.held  # lock itself brings the past up to date
        assert before is not None
        self._set(lock(self.wires, self.holds, self._state(), before, chosen))
        if (legs(self._state())[0, rows] > self.holds.slip[rows]).any():
            self.step = self._solve(f"{words}, clamped")  # a tensioner holds more than the clamps
        left = legs(self._state())[0]
        shown = np.where(chosen[:, None], dial, np.nan)
        self.stages.append(Stage(names, shown, pulled, left, take_up))

    def done(self) -> Tensioned:
        return Tensioned(self.step, self.law.one(0), tuple(self.stages))

    def _take_up(self, i: int) -> TakeUp:
        as_laid, state = self.step.solution.law.held, self._state()
        assert as_laid is not None
        start, end = self._past().taken_up[0, i].tolist()
        stretch = float(np.sum(state.tensions[0, i] * as_laid.flexibility[0, i]))
        return TakeUp(self.wires.names[i], start, end, stretch, start + end - stretch)

    def _past(self) -> WireHistory:
        assert self.law.held is not None
        return self.law.held

    def _state(self) -> HeldState:
        state = self.step.solution.response.held
        assert state is not None
        return state

    def _set(self, past: WireHistory) -> None:
        self.law = replace(self.law, held=past)

    def _solve(self, words: str) -> Step:
        step = advance(self.system, self.zero, self.law, self.u, [words], held=self.held)
        self.u, self.law = step.solution.u, step.law
        return step
