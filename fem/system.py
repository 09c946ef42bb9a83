"""The nonlinear system: condensed linear part, and on the freedoms that they, loads and supports
touch: wires, columns, joints with play, contacts.

Everything takes leading axes (load cases). A system may stand for several designs of one topology,
each load case of its own (``fem.side_by_side``). Total potential of the inner forces, its gradient
and its tangent:

    Π(u) = ½ uᵀ S u + Σ Π_wire(u) + Σ ΔU_column(u) + …,     f(u) = ∂Π/∂u,     H(u) = ∂²Π/∂u²;

equilibrium under loads p is f(u) = p on the free freedoms. Π is the stored energy; of parts that
slip or yield (``fem.held_wire``, ``fem.contact``) what they dissipate within the present step of
load stands in it too, their past held fixed (``fem.law``).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.assembly import assemble_masters
from fem.chord import chord_state
from fem.condensation import Condensed, condense
from fem.constraints import master_transform
from fem.contact import ContactState, contact_state
from fem.errors import ModelError
from fem.held_wire import HeldState, held_state
from fem.joint import JointState, joint_state
from fem.late import LateState, late_state
from fem.law import Law
from fem.model import Model
from fem.scatter import Scatter, make_scatter, summed
from fem.wire import WireState, natural_length, wire_state, wire_tangent


@dataclass(frozen=True)
class System:
    """model; condensed linear part; ``kept`` (n,) freedoms of u, numbered 6 node + freedom,
    ascending; ``free`` (n,) mask of those that the model does not fix; ``extent`` mm, size of the
    structure.

    ``wire_dofs``: for each set of ideal wires (w, 6S) places in u; ``held_wire_dofs`` those of the
    wires of the general law, joint_dofs, late_dofs, contact_dofs (…, 12) of joints, late members
    and contacts; ``chord_dofs`` (c, 12) the same for the columns (a freedom that was condensed,
    because no arm makes it matter, has the place of another, and no effect). ``scatter``: where the
    concatenated forces and tangents of all these go.

    ``designs``: (c,) which of the designs each load case belongs to, None for a system that is one
    design. Then points, wires, columns, joints … of the model have a leading axis (c), ``extent``
    is (c,), and the arrays of ``condensed`` have a leading axis of designs.
    """

    model: Model
    condensed: Condensed
    kept: NDArray[np.intp]
    free: NDArray[np.bool_]
    wire_dofs: tuple[NDArray[np.intp], ...]
    held_wire_dofs: NDArray[np.intp]
    chord_dofs: NDArray[np.intp]
    joint_dofs: NDArray[np.intp]
    late_dofs: NDArray[np.intp]
    contact_dofs: NDArray[np.intp]
    scatter: Scatter
    extent: float | Array
    designs: NDArray[np.intp] | None = None

    @property
    def length(self) -> float | Array:
        """mm, scale of moments against forces; (c,) of several designs."""
        if self.designs is None:
            return self.extent / 4.0 if self.extent > 0.0 else 1.0
        return np.where(np.asarray(self.extent) > 0.0, np.asarray(self.extent) / 4.0, 1.0)

    @property
    def size(self) -> int:
        """Number of freedoms of u."""
        return len(self.kept)

    @property
    def units(self) -> Array:
        """(n,) factors that make forces of moments: 1, or 1 / length; (c, n) of several designs."""
        return np.where(self.kept % 6 < 3, 1.0, 1.0 / np.asarray(self.length)[..., None])

    @property
    def wire_names(self) -> tuple[str, ...]:
        """Names of all wires in the order of every per-wire array."""
        held = self.model.held_wires.wires.names if self.model.held_wires else ()
        return (*(n for w in self.model.wires for n in w.names), *held)

    def stiffness_of(self, case: int) -> Array:
        """(n, n) condensed linear stiffness of the design of a load case."""
        S = self.condensed.stiffness
        return S if self.designs is None else np.asarray(S[self.designs[case]])

    def linear_force(self, u: Array) -> Array:
        """(..., n) forces of the linear part at u (..., n)."""
        S = self.condensed.stiffness
        if self.designs is None:
            return np.asarray(u @ S)
        force = np.empty_like(u)
        edges = np.flatnonzero(np.diff(self.designs, prepend=-1, append=-1))  # runs of one design
        for start, end in pairwise(edges.tolist()):
            own = u[..., start:end, :]
            product = own.reshape(-1, self.size) @ S[self.designs[start]]
            force[..., start:end, :] = product.reshape(own.shape)
        return force

    def measure_of(self, case: int, tangent: Array) -> Array:
        """(n,) diagonal of a load case's tangent (n, n) as it was before condensation
        (``fem.mechanisms``)."""
        condensed = self.condensed
        row = () if self.designs is None else self.designs[case]
        lost = condensed.diagonal[row] - np.diagonal(condensed.stiffness[row])
        return np.asarray(np.diagonal(tangent) + lost)

    def take(self, cases: NDArray[np.intp]) -> "System":
        """The system of some of the load cases."""
        if self.designs is None:
            return self
        model = replace(
            self.model,
            points=self.model.points[cases],
            wires=tuple(w.take(cases) for w in self.model.wires),
            held_wires=self.model.held_wires and self.model.held_wires.take(cases),
            chords=self.model.chords.take(cases),
            joints=self.model.joints.take(cases),
            contacts=self.model.contacts.take(cases),
            late=self.model.late.take(cases),
        )
        extent = np.asarray(self.extent)[cases]
        return replace(self, model=model, extent=extent, designs=self.designs[cases])

    def dofs(self, node: str) -> NDArray[np.intp]:
        """(6,) places of a kept node's freedoms in u."""
        wanted = 6 * self.model.node(node) + np.arange(6)
        found = np.searchsorted(self.kept, wanted)
        if not np.array_equal(self.kept[np.minimum(found, self.size - 1)], wanted):
            raise ModelError(f"node {node!r} was condensed; name it in ``keep``.", part=node)
        return np.asarray(found)


@dataclass(frozen=True)
class Response:
    """energy (...,) N·mm, force (..., n), tangent (..., n, n) (or (..., 0, 0) when it was not asked
    for); state of each set of ideal wires, of the wires of the general law, of joints, late members
    and contacts (None where there are none, or contacts are out of action); tension (..., w) of all
    wires, the largest along each.
    """

    energy: Array
    force: Array
    tangent: Array
    wires: tuple[WireState, ...]
    held_wires: HeldState | None
    joints: JointState | None
    late: LateState | None
    contacts: ContactState | None
    tension: Array


def make_system(model: Model, keep: Sequence[str] = ()) -> System:
    """Assemble and condense once. ``keep``: further nodes to keep (loads, results); slaves cannot
    be kept.
    """
    kept = _kept(model, [model.node(n) for n in keep])
    masters = np.flatnonzero(model.master == np.arange(len(model.names)))
    columns = 6 * np.searchsorted(masters, kept // 6) + kept % 6
    names = tuple(model.names[m] for m in masters)
    condensed = condense(assemble_masters(model), columns, names, "the members alone")
    place = np.full(6 * len(model.names), -1, dtype=np.intp)
    place[kept] = np.arange(len(kept))

    def places(at: NDArray[np.intp]) -> NDArray[np.intp]:
        """(m, s) nodes → (m, 6s) places in u."""
        numbers = 6 * at[:, :, None] + np.arange(6)
        return np.asarray(place[numbers.reshape(len(at), 6 * at.shape[1])])

    wire_dofs = tuple(places(w.nodes) for w in model.wires)
    held_wire_dofs = (
        places(model.held_wires.wires.nodes)
        if model.held_wires
        else np.zeros((0, 0), dtype=np.intp)
    )
    chord_dofs = places(model.chords.nodes)
    joint_dofs, contact_dofs = places(model.joints.nodes), places(model.contacts.nodes)
    late_dofs = places(model.late.nodes)
    return System(
        model=model,
        condensed=condensed,
        kept=kept,
        free=~model.fixed.ravel()[kept],
        wire_dofs=wire_dofs,
        held_wire_dofs=held_wire_dofs,
        chord_dofs=np.maximum(chord_dofs, 0),
        joint_dofs=joint_dofs,
        late_dofs=late_dofs,
        contact_dofs=contact_dofs,
        scatter=make_scatter(
            [*wire_dofs, chord_dofs, held_wire_dofs, joint_dofs, late_dofs, contact_dofs], len(kept)
        ),
        extent=float(np.ptp(model.points, axis=0).max()),
    )


def _kept(model: Model, extra: Sequence[int]) -> NDArray[np.intp]:
    """Freedoms to keep: all six of nodes with wires, supports, loads; of columns' ends the
    rotations only on arms.
    """
    wanted = np.zeros((len(model.names), 6), dtype=bool)
    for node in extra:
        if model.master[node] != node:
            raise ModelError(
                f"node {model.names[node]!r} hangs on a rigid arm; keep its master instead.",
                part=model.names[node],
            )
        wanted[node] = True
    for wires in model.wires:
        wanted[wires.nodes.ravel()] = True
    if model.held_wires:
        wanted[model.held_wires.wires.nodes.ravel()] = True
    wanted[model.joints.nodes.ravel()] = True
    wanted[model.contacts.nodes.ravel()] = True
    wanted[model.late.nodes.ravel()] = True
    wanted[model.fixed.any(axis=1)] = True
    wanted[model.chords.nodes.ravel(), :3] = True
    wanted[model.chords.nodes[model.chords.on_arm]] = True
    return np.flatnonzero(wanted.ravel())


def respond(system: System, u: Array, law: Law, *, with_tangent: bool = True) -> Response:
    """Energy, internal forces and tangent at displacements u (..., n)."""
    response, added = _responded(system, u, law, with_tangent)
    if not with_tangent:
        return response
    n, lead = system.size, u.shape[:-1]
    flat = added.reshape(int(np.prod(lead)), -1)
    cases = lead[-1] if lead else 1  # the last of the leading axes
    tangent = np.empty((len(flat), n, n))
    for row, own in enumerate(flat):
        tangent_of(system, row % cases, own, out=tangent[row])
    return replace(response, tangent=tangent.reshape(*lead, n, n))


def respond_added(system: System, u: Array, law: Law) -> tuple[Response, Array]:
    """``respond`` without the tangent, and what the nonlinear parts add to that of the linear one
    (..., e), at the cells of the scatter: a small part of a tangent, from which ``tangent_of``
    makes the whole when it is wanted.
    """
    return _responded(system, u, law, with_tangent=True)


def tangent_of(system: System, case: int, added: Array, out: Array | None = None) -> Array:
    """(n, n) tangent of a load case from what was added (e,)."""
    tangent = np.array(system.stiffness_of(case)) if out is None else out
    if out is not None:
        out[...] = system.stiffness_of(case)
    tangent.reshape(-1)[system.scatter.cells] += added
    return tangent


def _responded(system: System, u: Array, law: Law, with_tangent: bool) -> tuple[Response, Array]:
    n, lead, model = system.size, u.shape[:-1], system.model
    linear = system.linear_force(u)
    states = tuple(
        wire_state(wires, u[..., dofs], with_tangent=with_tangent, **how)
        for wires, dofs, how in zip(
            model.wires, system.wire_dofs, law.part(model.wires), strict=True
        )
    )
    columns = chord_state(
        model.chords, u[..., system.chord_dofs], law.misfit, with_tangent=with_tangent
    )
    others = _others(system, u, law, with_tangent)
    held, joints, late, contacts = others
    parts: list[Any] = [*states, columns, *(p for p in others if p is not None)]
    scatter = system.scatter
    energy = np.sum(u * linear, axis=-1) / 2.0 + sum(np.sum(p.energy, axis=-1) for p in parts)
    force = linear.reshape(-1, n)
    rows = len(force)
    forces = np.concatenate([p.gradient.reshape(rows, -1) for p in parts], axis=1)
    has_force = scatter.has_force[: forces.shape[1]]  # contacts, last, may be out of action
    at = scatter.force[: np.count_nonzero(has_force)]
    force = force + summed(at, forces[:, has_force], n)
    tension = np.concatenate(
        [np.zeros((*lead, 0)), *(s.tension for s in states), *([held.tension] if held else [])],
        axis=-1,
    )
    response = Response(
        np.asarray(energy),
        force.reshape(*lead, n),
        np.zeros((*lead, 0, 0)),
        states,
        held,
        joints,
        late,
        contacts,
        tension,
    )
    if not with_tangent:
        return response, np.zeros((*lead, 0))
    return response, _added(system, lead, [p.tangent for p in parts])


def added_at(system: System, u: Array, law: Law, response: Response) -> Array:
    """(..., e) of ``respond_added`` at u, where ``response`` was found without; of a law without a
    past.
    """
    wires = zip(system.model.wires, response.wires, strict=True)
    q = u[..., system.chord_dofs]
    parts = [wire_tangent(w, s) for w, s in wires]
    parts.append(chord_state(system.model.chords, q, law.misfit).tangent)
    others = _others(system, u, law, with_tangent=True)
    parts += [p.tangent for p in others if p is not None]
    return _added(system, u.shape[:-1], parts)


def _added(system: System, lead: tuple[int, ...], parts: Sequence[Array]) -> Array:
    """(..., e) sums of the tangents of all nonlinear parts, by cells."""
    scatter, rows = system.scatter, int(np.prod(lead))
    blocks = np.concatenate([p.reshape(rows, -1) for p in parts], axis=1)
    has_tangent = scatter.has_tangent[: blocks.shape[1]]
    places = scatter.tangent[: np.count_nonzero(has_tangent)]
    sums = summed(places, blocks[:, has_tangent], len(scatter.cells))
    return sums.reshape(*lead, -1)


def _others(
    system: System, u: Array, law: Law, with_tangent: bool
) -> tuple[HeldState | None, JointState | None, LateState | None, ContactState | None]:
    """Parts that most structures have none of; late members that are not there yet answer with
    nothing.
    """
    model = system.model
    held = joints = late = contacts = None
    if model.held_wires is not None:
        if law.held_wires is None:
            raise ModelError("the law says nothing of the wires that grip, slip or yield.")
        held = held_state(
            model.held_wires.wires,
            model.held_wires.holds,
            u[..., system.held_wire_dofs],
            law.held_wires,
            with_tangent=with_tangent,
        )
    if len(model.joints.names):
        joints = joint_state(model.joints, u[..., system.joint_dofs], with_tangent=with_tangent)
    if len(model.late.rows):
        q = u[..., system.late_dofs]
        late = late_state(
            model.late, q, q if law.late is None else law.late, with_tangent=with_tangent
        )
        if law.late is None:
            late = replace(late, tangent=np.zeros_like(late.tangent))
    if len(model.contacts.names) and law.contact is not None:
        q = u[..., system.contact_dofs]
        contacts = contact_state(model.contacts, q, law.contact, with_tangent=with_tangent)
    return held, joints, late, contacts


def lock(system: System, response: Response) -> Law:
    """The law of ideal wires locked at their present tension and place."""
    parts = [natural_length(w, s) for w, s in zip(system.model.wires, response.wires, strict=True)]
    return Law(natural=np.concatenate(parts, axis=-1) if parts else np.zeros(0))


def node_displacements(system: System, u: Array) -> Array:
    """(..., n_nodes, 6) displacement (mm) and rotation (rad) of every node of the model, to first
    order of the arms. Of one design: a system of several does not keep what it condensed.
    """
    if system.designs is not None:
        raise ModelError("displacements of nodes need a system of one design.")
    c = system.condensed
    T = master_transform(system.model.master, system.model.arm)
    d = np.zeros((*u.shape[:-1], T.shape[1]))
    d[..., c.kept] = u
    d[..., c.internal] = u @ c.recover.T
    flat = d.reshape(-1, T.shape[1])
    return np.asarray((T @ flat.T).T.reshape(*u.shape[:-1], T.shape[0] // 6, 6))
