"""Designs of one topology as one system, each load case belonging to one of them.

Models that differ in numbers only - places, sections, stiffnesses, lengths of arms - have freedoms
in the same order and parts at the same places among them. Their arrays then go side by side along
the leading axis of load cases, and all that works on load cases (``fem.system.respond``,
``fem.newton.solve_each``, ``fem.checks``) works on designs: one pass of array operations instead of
one for each design. What a case gives depends on its own design only.

The linear part is assembled for all designs at once, as full matrices, and condensed one by one by
Cholesky's factor (``fem.mechanisms.Factor``, which tells of freedoms that hang on nothing).

Only springs to the ground do not go side by side (``can_stand_beside``): checks of balance look at
what they take by displacements of nodes, and those are condensed away here.
"""

from collections.abc import Hashable, Sequence
from dataclasses import replace
from math import isfinite
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.building import (
    Collected,
    build_model,
    ends_of,
    ideal_wires,
    pairs_of,
    spring_ends,
    stations_of,
)
from fem.chord import Chords
from fem.condensation import Condensed
from fem.constraints import on_masters
from fem.contact import Contacts, make_contacts
from fem.errors import FemError, MechanismError
from fem.hold import HeldWires
from fem.joint import Joints, make_joints
from fem.mechanisms import Factor, refuse_mechanism
from fem.stacking import WirePart, stack_chords, stack_held, stack_members, stack_wires
from fem.system import System, make_system
from fem.wire import Wires

Numbers = NDArray[np.intp]


def can_stand_beside(parts: Collected) -> bool:
    """Whether a model can go side by side with others."""
    return not any(b is None for _, _, b, _ in parts.springs)


def topology(parts: Collected, keep: Sequence[str]) -> Hashable:
    """Equal for models that can go side by side; keep: nodes as in ``fem.make_system``."""
    number = parts.number
    return (
        len(number),
        tuple(ends_of(parts.beams, number)),
        tuple(
            (b.column, b.axial is None, b.late, *map(isfinite, b.ends.tolist()))
            for b in parts.beams
        ),
        tuple(ends_of(parts.arcs, number)),
        spring_ends(parts.springs, number).tobytes(),
        tuple((number[s], number[m]) for s, m in parts.arms.items()),
        tuple((number[n], *sorted(f)) for n, f in parts.fixed.items()),
        tuple(map(tuple, stations_of(parts.wires, number))),
        tuple((w.turns, w.hold is None, w.hold and w.hold.hinges is None) for w in parts.wires),
        pairs_of(parts.joints, number).tobytes(),
        pairs_of(parts.contacts, number).tobytes(),
        tuple(number[n] for n in keep),
    )


def side_by_side(
    designs: Sequence[Collected], keep: Sequence[str]
) -> tuple[System, tuple[FemError | None, ...]]:
    """One system of d designs of equal ``topology`` and as many load cases, case i of design i
    (``System.take`` gives each design as many as are wanted), and for every design what is wrong
    with its linear part.

    keep: nodes to keep, by their names in the first design, whose names the system has. Raises
    ``FemError`` when the first design cannot be assembled or any has parts that are not what they
    should be.
    """
    first = make_system(build_model(designs[0]), keep)
    n = len(first.model.names)
    points = np.array([list(p.nodes.values()) for p in designs])
    flat = points.reshape(-1, 3)
    master = first.model.master
    arm = points - points[:, master]
    laid = _Laid(designs, flat, _along(master, len(designs), n).ravel(), arm.reshape(-1, 3))
    condensed, late, errors = _condensed(first, laid, arm)
    model = replace(
        first.model,
        points=points,
        wires=tuple(laid.wires(k, own) for k, own in enumerate(first.model.wires)),
        held_wires=laid.held_wires(first.model.held_wires),
        chords=laid.chords(first.model.chords),
        joints=laid.joints(first.model.joints),
        contacts=laid.contacts(first.model.contacts),
        late=replace(first.model.late, stiffness=late),
    )
    system = replace(
        first,
        model=model,
        condensed=condensed,
        extent=np.ptp(points, axis=1).max(axis=-1),
        designs=np.arange(len(designs)),
    )
    return system, errors


class _Laid:
    """Parts of all designs, one design after the other, their nodes numbered through: points
    (d n, 3), master (d n,), arm (d n, 3).
    """

    def __init__(
        self, designs: Sequence[Collected], points: Array, master: Numbers, arm: Array
    ) -> None:
        self.designs, self.points, self.master, self.arm = designs, points, master, arm
        self.count, self.nodes = len(designs), len(points) // len(designs)
        self.number = designs[0].number
        self.beams = [b for p in designs for b in p.beams]
        self.straight = self._through(ends_of(designs[0].beams, self.number))

    def _through(self, nodes: Sequence[Sequence[int]] | Numbers) -> Numbers:
        """Node numbers (m, k) of one design → (d m, k) of all."""
        one = np.array(nodes, dtype=np.intp)
        return _along(one, self.count, self.nodes).reshape(-1, *one.shape[1:])

    def _led(self, array: Array) -> Array:
        """(d m, ...) → (d, m, ...)."""
        return array.reshape(self.count, -1, *array.shape[1:])

    def member_stiffness(self) -> Array:
        """(d, m, 12, 12) of members, straight ones first, then springs; global axes."""
        arcs = [a for p in self.designs for a in p.arcs]
        curved = self._through(ends_of(self.designs[0].arcs, self.number))
        ends = np.concatenate([self.straight.reshape(-1, 2), curved.reshape(-1, 2)])
        K = stack_members(self.beams, arcs, ends, self.points).stiffness()
        springs = np.array([s[3] for p in self.designs for s in p.springs]).reshape(-1, 12, 12)
        parts = [K[: len(self.beams)], K[len(self.beams) :], springs]
        return np.concatenate([self._led(part) for part in parts], axis=1)

    def chords(self, one: Chords) -> Chords:
        ends = self.straight.reshape(-1, 2)
        return self._arrays(one, stack_chords(self.beams, ends, self.points, self.master, self.arm))

    def wires(self, which: int, one: Wires) -> Wires:
        """Of the set number ``which`` of ideal wires."""
        nodes = self._through(stations_of(ideal_wires(self.designs[0].wires)[which], self.number))
        parts = [w for p in self.designs for w in ideal_wires(p.wires)[which]]
        return self._arrays(one, stack_wires(parts, nodes, self.points, self.master, self.arm))

    def held_wires(self, one: HeldWires | None) -> HeldWires | None:
        if one is None:
            return None
        nodes = self._through(stations_of(_general(self.designs[0]), self.number))
        parts = [w for p in self.designs for w in _general(p)]
        every = stack_held(parts, nodes.tolist(), self.points, self.master, self.arm)
        assert every is not None
        return HeldWires(self._arrays(one.wires, every.wires), every.holds.each(self._led))

    def joints(self, one: Joints) -> Joints:
        parts = [j for p in self.designs for j in p.joints]
        ends = self._through(pairs_of(self.designs[0].joints, self.number)).reshape(-1, 2)
        return self._arrays(one, make_joints(parts, ends, self.master, self.arm))

    def contacts(self, one: Contacts) -> Contacts:
        parts = [c for p in self.designs for c in p.contacts]
        ends = self._through(pairs_of(self.designs[0].contacts, self.number)).reshape(-1, 2)
        return self._arrays(one, make_contacts(parts, ends, self.points, self.master))

    def _arrays(self, one: "_Parts", every: "_Parts") -> "_Parts":
        """Parts of one design with the arrays of all."""
        arrays = {name: self._led(getattr(every, name)) for name in one.BY_DESIGN}
        return replace(one, **arrays)  # type: ignore[arg-type]  # no names among them


_Parts = TypeVar("_Parts", Wires, Chords, Joints, Contacts)


def _general(parts: Collected) -> list[WirePart]:
    """Wires of the general law."""
    return [w for w in parts.wires if w.hold]


def _along(numbers: Numbers, designs: int, nodes: int) -> Numbers:
    """(m, ...) node numbers of one design → (d, m, ...), numbered through."""
    steps = nodes * np.arange(designs)
    return np.asarray(numbers + steps.reshape(-1, *([1] * numbers.ndim)))


def _condensed(
    first: System, laid: _Laid, arm: Array
) -> tuple[Condensed, Array, tuple[FemError | None, ...]]:
    """Assembled on the masters and condensed (``fem.assembly``, ``fem.condensation``), and the
    stiffness (d, b, 12, 12) of the late members, which are not.
    """
    model = first.model
    ends = np.concatenate([model.members.ends, model.springs.ends])
    blocks = on_masters(laid.member_stiffness(), arm[:, ends])
    there = np.ones(len(ends), dtype=bool)
    there[model.late.rows] = False
    late, blocks, ends = blocks[:, ~there], blocks[:, there], ends[there]
    masters = np.flatnonzero(model.master == np.arange(len(model.names)))
    column = np.searchsorted(masters, model.master[ends])
    size = 6 * len(masters)
    kept = 6 * np.searchsorted(masters, first.kept // 6) + first.kept % 6
    internal, n = np.setdiff1d(np.arange(size), kept), len(kept)
    place = np.empty(size, dtype=np.intp)  # kept freedoms first, then the internal ones
    place[np.concatenate([kept, internal])] = np.arange(size)
    dofs = place[(6 * column[:, :, None] + np.arange(6)).reshape(len(ends), 12)]
    cells, into = np.unique(
        (dofs[:, :, None] * size + dofs[:, None, :]).ravel(), return_inverse=True
    )
    numbers = np.repeat(6 * masters, 6) + np.tile(np.arange(6), len(masters))
    stiffness, diagonal = np.zeros((laid.count, n, n)), np.zeros((laid.count, n))
    errors: list[FemError | None] = [None] * laid.count
    for design in range(laid.count):
        entries = np.zeros(size * size)
        entries[cells] = np.bincount(into, blocks[design].ravel(), minlength=len(cells))
        K = entries.reshape(size, size)
        S = K[:n, :n]
        diagonal[design] = np.diagonal(S)
        if len(internal):
            factor = Factor(K[n:, n:])
            try:
                refuse_mechanism(factor, model.names, numbers[internal], "the members alone")
            except MechanismError as error:
                errors[design] = error
                continue
            V = factor.half_solve(K[n:, :n])
            S = S - V.T @ V  # K_bi K_ii⁻¹ K_ib
        stiffness[design] = (S + S.T) / 2.0
    nothing = np.zeros((laid.count, 0, n))
    condensed = replace(first.condensed, stiffness=stiffness, diagonal=diagonal, recover=nothing)
    return condensed, late, tuple(errors)
