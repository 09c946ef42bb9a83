"""Tensioning stage by stage, as it is done: pulled to the dialled tension, locked, tensioner off.

In each stage one wire, or several at once, is laid where the frame then stands and pulled by a
tensioner against rings that give. Taking the tensioner off loses a share of the tension (the
clamp's bite; measured by La Russa et al., Proc IMechE H 2011;225:220-7: the larger part of the loss
comes with the tensioner's removal); the wire is then locked, and every later stage changes its
tension.

A wire with an olive that is pulled at both ends is pulled first at the end away from the bead,
which draws the bead onto the bone, and then at the other: pulled evenly from the start, nothing
would tell whether the bead touches the bone.

Take-up is the way a tensioner goes back. With L_i the spans as laid, straight and without tension,
and P the path from clamp to clamp less what bowing takes of it,

    take-up = Σ T_i L_i/EA + (P as laid - P) = stretch of the wire + closing of the ring,

since what has been drawn out is stretched like the rest.
"""

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass, replace

import numpy as np

from fem import System, respond
from fem.algebra import Array
from fem.held_wire import HeldState
from fem.law import Law
from fem.stepping import Step, advance, carried
from fem.wire_holds import WireHistory, lay, lock
from fem.wire_holds import start as unlaid
from frames.discretise import Discretised
from frames.holding import drops, tensioning_order, wire_pulls
from frames.joined import leans_on_callus
from frames.nut_turns import early_misfit
from frames.result_parts import TakeUpResult
from frames.supports import held_at_ankle


@dataclass(frozen=True)
class Stage:
    """One stage. wires: those tensioned in it; dial (w, 2) N at the tensioners, nan for none;
    pulled_spans (w, 3) N tension of all wires with the tensioners on (leg at the start, span in the
    bone, leg at the end), left_spans (w, 3) after they came off, pulled and left (w, 2) of the legs
    alone; take_up of the wires tensioned.
    """

    wires: tuple[str, ...]
    dial: Array
    pulled_spans: Array
    left_spans: Array
    take_up: tuple[TakeUpResult, ...]

    @property
    def pulled(self) -> Array:
        return np.asarray(self.pulled_spans[:, [0, -1]])

    @property
    def left(self) -> Array:
        return np.asarray(self.left_spans[:, [0, -1]])


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
    held = parts.model.held_wires
    assert held is not None
    longer = early_misfit(parts)
    late = callus_from_the_start(parts, system)
    law = Law(held_wires=unlaid(held.wires, held.holds), misfit=longer, late=late)
    u = np.zeros((1, system.size))
    if longer is not None:
        u = carried(system, u, replace(law, misfit=None), law, held_at_ankle(parts, system))
    return law, u


def callus_from_the_start(parts: Discretised, system: System) -> Array | None:
    """(b, 12) where callus grew, as built, for a frame that leans on it; None while it is not there
    yet.
    """
    return np.zeros(system.late_dofs.shape) if leans_on_callus(parts.construct) else None


def tension_at_once(parts: Discretised, system: System, law: Law, u: Array) -> Tensioned:
    """All wires pulled to their tensions together and locked: each comes out as it was pulled.

    law : wires not laid yet; u (1, n).
    """
    every = tuple(range(len(parts.wire_names)))
    stage = Stages(parts, system, law, u)
    stage.run(every, wire_pulls(parts.construct.case), np.zeros(len(every)))
    return stage.done()


def tension_in_turn(
    parts: Discretised, system: System, law: Law, u: Array, dial: Array | None = None
) -> Tensioned:
    """Stage by stage in the order of the case; dial (w, 2) N, the tensions of the case unless
    given.
    """
    case = parts.construct.case
    stages = Stages(parts, system, law, u)
    dial = wire_pulls(case) if dial is None else dial
    for wires in tensioning_order(case):
        stages.run(wires, dial, drops(case))
    return stages.done()


class Stages:
    """The frame while it is tensioned, from wires not laid yet on."""

    def __init__(self, parts: Discretised, system: System, law: Law, u: Array) -> None:
        assert system.model.held_wires is not None
        self.parts, self.system = parts, system
        self.wires, self.holds = system.model.held_wires.wires, system.model.held_wires.holds
        self.law, self.u = law.spread(1), u
        self.zero = np.zeros((1, system.size))
        self.held = held_at_ankle(parts, system)
        self.stages: list[Stage] = []
        self.step: Step | None = None
        if law.misfit is not None and law.misfit.any():  # else it stands as built
            self.step = self._solve("frame before tensioning")

    def branch(self) -> "Stages":
        """The same frame, to go on with in another way."""
        other = copy(self)
        other.stages = list(self.stages)
        return other

    def run(self, which: Sequence[int], dial: Array, drop: Array, *, again: bool = False) -> None:
        """One stage: the wires of these numbers. again: they are locked already and are tensioned
        once more; their take-up then counts from when they were laid."""
        rows = list(which)
        chosen = np.isin(np.arange(len(self.wires.names)), which)
        names = tuple(self.wires.names[i] for i in which)
        words = f"tensioning {', '.join(names)}"
        laid = self._past()
        if not again:
            laid = lay(self.wires, self.holds, self._state(), laid, chosen)
        self._set(laid)
        first = self._beads_first(dial)
        if not again and not np.array_equal(first[rows], dial[rows], equal_nan=True):
            self._set(laid.pulled(chosen, first))
            self.step = self._solve(f"{words}, bead drawn onto the bone")
        self._set(self._past().pulled(chosen, dial))
        self.step = self._solve(words)
        pulled = self._state().tensions[0]
        take_up = tuple(self._take_up(i, laid) for i in which)
        if (drop[rows] > 0.0).any():
            self._set(self._past().pulled(chosen, dial * (1.0 - drop[:, None])))
            self.step = self._solve(f"{words}, tensioner off")
        before = self.step.solution.law.held_wires  # lock itself brings the past up to date
        assert before is not None
        self._set(lock(self.wires, self._state(), before, chosen))
        if (legs(self._state())[0, rows] > self.holds.slip[rows]).any():
            self.step = self._solve(f"{words}, clamped")  # a tensioner holds more than the clamps
        left = self._state().tensions[0]
        shown = np.where(chosen[:, None], dial, np.nan)
        self.stages.append(Stage(names, shown, pulled, left, take_up))

    def done(self) -> Tensioned:
        assert self.step is not None
        return Tensioned(self.step, self.law.one(0), tuple(self.stages))

    def _beads_first(self, dial: Array) -> Array:
        """(w, 2) dials without those on the side of a bead of wires pulled at both ends."""
        beads = np.stack([self.holds.travel[:, 0, 0], self.holds.travel[:, -1, 1]], axis=-1)
        both = np.isfinite(dial).all(axis=-1, keepdims=True)
        return np.where(np.isfinite(beads) & both, np.nan, dial)

    def _take_up(self, i: int, laid: WireHistory) -> TakeUpResult:
        state = self._state()
        start, end = self._past().taken_up[0, i].tolist()
        stretch = float(np.sum(state.tensions[0, i] * laid.flexibility[0, i]))
        return TakeUpResult(self.wires.names[i], start, end, stretch, start + end - stretch)

    def _past(self) -> WireHistory:
        assert self.law.held_wires is not None
        return self.law.held_wires

    def _state(self) -> HeldState:
        if self.step is None:
            state = respond(self.system, self.u, self.law, with_tangent=False).held_wires
        else:
            state = self.step.solution.response.held_wires
        assert state is not None
        return state

    def _set(self, past: WireHistory) -> None:
        self.law = replace(self.law, held_wires=past)

    def _solve(self, words: str) -> Step:
        step = advance(self.system, self.zero, self.law, self.u, [words], held=self.held)
        self.u, self.law = step.solution.u, step.law
        return step
