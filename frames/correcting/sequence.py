"""The frame while a fragment is drawn: which wires are there, how each is laid, pulled and locked.

All wires of the other fragment stand, and those of the fragment that are tensioned before the olive
wire; they come out at the tensions of the case. Wires that are not there yet neither hold nor bend
(their EI is taken as good as nought).

A wire that comes later is laid straight through the bone where the bone then is. The kernel counts
its bending and its pull across from the line between its clamps as built; what that gives at the
moment of laying is taken out by steady forces on its stations,

    p = g(u*, T) - Σ T_i ∂ℓ_i(0),

g being the forces that the wire asks for at the displacements u* when it is laid, the sum those
of a straight wire of the same tensions. Its stiffness stays.

Soft tissue is a spring in the three directions between the proximal face and a point that the
distal face carries there, free of force when drawing begins.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fem import ConvergenceError, System, make_system, respond
from fem.algebra import Array
from fem.held_wire import HeldState
from fem.law import Law
from fem.model import Springs
from fem.spring import spring_stiffness
from fem.stepping import advance
from fem.system import Response
from fem.wire_holds import WireHistory, lay, lock
from fem.wire_path import Wires
from frames.built import built
from frames.casefile import Case
from frames.casefile.wires import ENDS, End
from frames.discretise import POINTS, Discretised
from frames.holding import drops, wire_pulls
from frames.staging import loose
from frames.supports import Mask, held_at_ankle

NO_BENDING = 1e-6
"""Share of its EI with which a wire that is not there yet stays in the equations."""

Rows = NDArray[np.bool_]


@dataclass(frozen=True)
class Standing:
    """The frame in equilibrium: u (1, n), law of the next step, loads (1, n), answer; the system it
    was found with."""

    u: Array
    law: Law
    loads: Array
    response: Response
    system: System


@dataclass(frozen=True)
class Bench:
    """A frame to be worked on: parts, its system with all wires there, what is held."""

    parts: Discretised
    system: System
    held: Mask

    @property
    def names(self) -> tuple[str, ...]:
        return self.parts.wire_names

    def with_bead(self, wire: int, bead: End) -> "Bench":
        """The same with a bead at one end of a wire only."""
        held = self.system.model.held_wires
        assert held is not None
        travel = held.holds.travel.copy()
        travel[wire] = np.inf
        travel[wire, (0, -1)[ENDS.index(bead)], ENDS.index(bead)] = 0.0
        holds = replace(held.holds, travel=travel)
        model = replace(self.system.model, held_wires=replace(held, holds=holds))
        return replace(self, system=replace(self.system, model=model))


def bench(case: Case, soft_tissue_N_per_mm: float) -> Bench:
    """case : with pretension "dialled", so that its wires keep to the general law."""
    parts = built(case)
    model = parts.model
    if soft_tissue_N_per_mm > 0.0:
        k = soft_tissue_N_per_mm * np.array([1.0, 1.0, 1.0, 0.0, 0.0, 0.0])
        at, below = (model.node(parts.point_node[f"{f} face"]) for f in ("proximal", "distal"))
        # a point of the distal fragment that lies where the proximal face is
        carried = len(model.names)
        springs = model.springs
        model = replace(
            model,
            names=(*model.names, "soft tissue"),
            points=np.concatenate([model.points, model.points[[at]]]),
            master=np.concatenate([model.master, [below]]),
            arm=np.concatenate([model.arm, [model.points[at] - model.points[below]]]),
            fixed=np.concatenate([model.fixed, np.zeros((1, 6), dtype=bool)]),
            springs=Springs(
                (*springs.names, "soft tissue"),
                np.concatenate([springs.ends, [[at, carried]]]),
                np.concatenate([springs.stiffness, spring_stiffness(k, "soft tissue")[None]]),
            ),
        )
        parts = replace(parts, model=model)
    system = make_system(model, keep=[parts.point_node[p] for p in POINTS])
    return Bench(parts, system, held_at_ankle(parts, system))


def stand(work: Bench, there: Rows) -> Standing:
    """The wires of ``there`` (w,) pulled together to their tensions and locked, no others. What the
    bending of the others and soft tissue give then is balanced by steady loads, so that the frame
    rests where it is, however easily it moves.
    """
    law, u = loose(work.parts, work.system)
    law = law.spread(1)
    loads = np.zeros((1, work.system.size))
    state = Standing(u, law, loads, respond(work.system, u, law), work.system)
    if there.any():
        dial = wire_pulls(work.parts.construct.case)
        first = _beads_first(work.system, dial)
        # the others bend along meanwhile: without them a fragment may stand by a hair only
        state = replace(_laid(work, state, there), loads=loads, system=work.system)
        if not np.array_equal(first[there], dial[there], equal_nan=True):
            state = pulled(work, state, there, first, "wires that stand before")
        state = pulled(work, state, there, dial, "wires that stand before")
        state = locked(work, state, there, "wires that stand before")
    system = _only(work.system, there)
    response = respond(system, state.u, state.law)
    free = system.free & ~work.held
    return replace(state, loads=response.force * free, response=response, system=system)


def lay_wire(work: Bench, state: Standing, wires: Sequence[int]) -> Standing:
    """Wires laid straight where the bone is, without tension."""
    return _laid(work, state, _mask(work, wires))


def later_wires(work: Bench, state: Standing, wires: Sequence[int]) -> Standing:
    """A whole stage: wires laid, pulled, tensioners off, locked."""
    rows = _mask(work, wires)
    case = work.parts.construct.case
    dial = wire_pulls(case)
    words = f"tensioning {', '.join(work.names[i] for i in wires)}"
    before = state.loads
    state = _laid(work, state, rows)
    on = replace(state, law=_with(state.law, _past(state.law).pulled(rows, dial)))
    steady = before + _steady(work, on, rows)
    first = _beads_first(work.system, dial)
    if not np.array_equal(first[rows], dial[rows], equal_nan=True):
        state = pulled(work, state, rows, first, words)
    state = pulled(work, state, rows, dial, words, steady)
    if (drops(case)[rows] > 0.0).any():
        state = pulled(work, state, rows, dial * (1.0 - drops(case)[:, None]), words)
    return locked(work, state, rows, words)


def pulled(
    work: Bench, state: Standing, rows: Rows, dial: Array, words: str, loads: Array | None = None
) -> Standing:
    """Equilibrium with tensioners at the wires of ``rows``."""
    law = _with(state.law, _past(state.law).pulled(rows, dial))
    return solved(work, replace(state, law=law), state.loads if loads is None else loads, words)


def raised(
    work: Bench,
    state: Standing,
    rows: Rows,
    start: Array,
    end: Array,
    words: str,
    halvings: int = 1,
) -> Standing:
    """``pulled`` from dials ``start`` to ``end`` (w, 2) N, in smaller steps where one is too large:
    a bead that lifts off and sits down again on the way leaves no smooth way between.
    """
    try:
        return pulled(work, state, rows, end, words)
    except ConvergenceError:
        if not halvings:
            raise
    middle = (start + end) / 2.0
    state = raised(work, state, rows, start, middle, words, halvings - 1)
    return raised(work, state, rows, middle, end, words, halvings - 1)


def locked(work: Bench, state: Standing, rows: Rows, words: str) -> Standing:
    """Clamps closed, tensioners off; nothing moves by that but what the clamps do not hold."""
    model = work.system.model.held_wires
    assert model is not None
    # advance brought the past up to date already; what is taken from it here is where the frame is
    now = wires_now(respond(state.system, state.u, state.law, with_tangent=False))
    law = _with(state.law, lock(model.wires, now, _past(state.law), rows))
    state = replace(state, law=law)
    if (now.tensions[0][:, [0, -1]] > model.holds.slip)[rows].any():
        return solved(work, state, state.loads, f"{words}, clamped")
    return replace(state, response=respond(state.system, state.u, law))


def solved(work: Bench, state: Standing, loads: Array, words: str) -> Standing:
    """Equilibrium of a state whose law or loads changed."""
    step = advance(
        state.system,
        loads,
        state.law,
        state.u,
        [words],
        start_loads=state.loads,
        held=work.held,
    )
    found = step.solution
    return Standing(found.u, step.law, loads, found.response, state.system)


def wires_in(system: System) -> Wires:
    held = system.model.held_wires
    assert held is not None
    return held.wires


def wires_now(response: Response) -> HeldState:
    assert response.held_wires is not None
    return response.held_wires


def _laid(work: Bench, state: Standing, rows: Rows) -> Standing:
    held = work.system.model.held_wires
    assert held is not None
    past = _past(state.law)
    system = _only(work.system, ~past.unlaid[0] | rows)
    now = respond(system, state.u, state.law, with_tangent=False)
    law = _with(state.law, lay(held.wires, held.holds, wires_now(now), past, rows))
    state = replace(state, law=law, system=system)
    return replace(state, loads=state.loads + _steady(work, state, rows))


def _steady(work: Bench, state: Standing, rows: Rows) -> Array:
    """(1, n) forces that take out what a wire is bent by when it is laid."""
    wires = wires_in(work.system)
    now = wires_now(respond(state.system, state.u, state.law, with_tangent=False))
    line = (wires.points[:, -1] - wires.points[:, 0]) / wires.length[:, None]
    longer = np.einsum("wx,wkxq->wkq", line, np.diff(wires.shift, axis=1))
    straight = np.einsum("wk,wkq->wq", now.tensions[0], longer)
    forces = (now.gradient[0] - straight)[rows]
    places = work.system.held_wire_dofs[rows]
    out = np.zeros((1, work.system.size))
    there = places >= 0
    np.add.at(out[0], places[there], forces[there])
    return out


def _only(system: System, there: Rows) -> System:
    """The system in which wires that are not there do not bend."""
    held = system.model.held_wires
    assert held is not None
    EI = np.where(there, held.wires.EI, NO_BENDING * held.wires.EI)
    wires = replace(held.wires, EI=EI)
    return replace(system, model=replace(system.model, held_wires=replace(held, wires=wires)))


def _beads_first(system: System, dial: Array) -> Array:
    """(w, 2) dials without those on the bead's side of wires pulled at both ends."""
    held = system.model.held_wires
    assert held is not None
    beads = np.stack([held.holds.travel[:, 0, 0], held.holds.travel[:, -1, 1]], axis=-1)
    both = np.isfinite(dial).all(axis=-1, keepdims=True)
    return np.where(np.isfinite(beads) & both, np.nan, dial)


def _mask(work: Bench, wires: Sequence[int]) -> Rows:
    return np.isin(np.arange(len(work.names)), list(wires))


def _past(law: Law) -> WireHistory:
    assert law.held_wires is not None
    return law.held_wires


def _with(law: Law, past: WireHistory) -> Law:
    return replace(law, held_wires=past)
