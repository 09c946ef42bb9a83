"""The nonlinear system: condensed linear part, wires and columns, on the freedoms that these, loads and supports touch.

Everything takes leading axes (load cases).  Total stored energy, its gradient and its tangent:

    Π(u) = ½ uᵀ S u + Σ Π_wire(u) + Σ ΔU_column(u),     f(u) = ∂Π/∂u,     H(u) = ∂²Π/∂u²;

equilibrium under loads p is f(u) = p on the free freedoms.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.assembly import assemble_masters
from fem.chord import chord_state
from fem.condensation import Condensed, condense
from fem.constraints import master_transform
from fem.errors import ModelError
from fem.model import Model
from fem.wire import Wires, WireState, natural_length, wire_state


@dataclass(frozen=True)
class System:
    """model; condensed linear part; ``nodes`` (k,) kept nodes, six freedoms each in this order; ``free`` (6k,) mask;
    ``wire_dofs``: for each wire set (w, 6S) places in the vector u; ``chord_dofs`` (c, 12) the same for the columns;
    ``length`` mm, scale of moments against forces."""

    model: Model
    condensed: Condensed
    nodes: NDArray[np.intp]
    free: NDArray[np.bool_]
    wire_dofs: tuple[NDArray[np.intp], ...]
    chord_dofs: NDArray[np.intp]
    length: float

    @property
    def size(self) -> int:
        """Number of freedoms of u."""
        return 6 * len(self.nodes)

    @property
    def wire_names(self) -> tuple[str, ...]:
        """Names of all wires in the order of every per-wire array."""
        return tuple(n for w in self.model.wires for n in w.names)

    def dofs(self, node: str) -> NDArray[np.intp]:
        """(6,) places of a kept node's freedoms in u."""
        number = self.model.node(node)
        found = np.flatnonzero(self.nodes == number)
        if not len(found):
            raise ModelError(f"node {node!r} was condensed; name it in ``keep``.", part=node)
        return np.asarray(6 * found[0] + np.arange(6))


@dataclass(frozen=True)
class WireLaw:
    """How the wires answer: ``tension`` (..., w) N held at a value, or ``natural`` (..., w) mm, locked (see ``fem.wire``)."""

    tension: Array | None = None
    natural: Array | None = None

    def part(self, wires: Sequence[Wires]) -> list[dict[str, Array]]:
        """Keyword arguments of ``wire_state`` for each wire set."""
        key, values = ("tension", self.tension) if self.tension is not None else ("natural", self.natural)
        if values is None:
            raise ModelError("a wire law needs tensions or natural lengths.")
        edges = np.cumsum([len(w.names) for w in wires])[:-1]
        return [{key: v} for v in np.split(values, edges, axis=-1)]


@dataclass(frozen=True)
class Response:
    """energy (...,) N·mm, force (..., n), tangent (..., n, n) (or (..., 0, 0) when it was not asked for), state of each
    wire set, tension (..., w) of all wires."""

    energy: Array
    force: Array
    tangent: Array
    wires: tuple[WireState, ...]
    tension: Array


def make_system(model: Model, keep: Sequence[str] = ()) -> System:
    """Assemble and condense once.  ``keep``: further nodes to keep (loads, results); slaves cannot be kept."""
    masters = np.flatnonzero(model.master == np.arange(len(model.names)))
    wanted = {model.node(n) for n in keep}
    for node in wanted:
        if model.master[node] != node:
            raise ModelError(
                f"node {model.names[node]!r} hangs on a rigid arm; keep its master instead.",
                part=model.names[node],
            )
    for wires in model.wires:
        wanted |= set(wires.nodes.ravel().tolist())
    wanted |= set(model.chords.nodes.ravel().tolist())
    wanted |= set(np.flatnonzero(model.fixed.any(axis=1)).tolist())
    nodes = np.array(sorted(wanted), dtype=np.intp)
    place = np.searchsorted(masters, nodes)
    kept = (6 * place[:, None] + np.arange(6)).ravel()
    names = tuple(model.names[m] for m in masters)
    condensed = condense(assemble_masters(model), kept, names, "the members alone")
    def dofs(at: NDArray[np.intp]) -> NDArray[np.intp]:
        """(m, s) nodes → (m, 6s) places in u."""
        return (6 * np.searchsorted(nodes, at)[:, :, None] + np.arange(6)).reshape(len(at), -1)

    size = float(np.ptp(model.points, axis=0).max())
    return System(
        model=model,
        condensed=condensed,
        nodes=nodes,
        free=~model.fixed[nodes].ravel(),
        wire_dofs=tuple(dofs(w.nodes) for w in model.wires),
        chord_dofs=dofs(model.chords.nodes).reshape(-1, 12),
        length=size / 4.0 if size > 0 else 1.0,
    )


def respond(system: System, u: Array, law: WireLaw, *, with_tangent: bool = True) -> Response:
    """Energy, internal forces and tangent at displacements u (..., n)."""
    S = system.condensed.stiffness
    n, lead, model = system.size, u.shape[:-1], system.model
    linear = u @ S
    states = tuple(
        wire_state(wires, u[..., dofs], with_tangent=with_tangent, **how)
        for wires, dofs, how in zip(
            model.wires, system.wire_dofs, law.part(model.wires), strict=True
        )
    )
    columns = chord_state(model.chords, u[..., system.chord_dofs], with_tangent=with_tangent)
    parts = [
        *zip(system.wire_dofs, states, strict=True),
        (system.chord_dofs, columns),
    ]
    energy = np.sum(u * linear, axis=-1) / 2.0 + sum(np.sum(p.energy, axis=-1) for _, p in parts)
    where = np.concatenate([dofs.ravel() for dofs, _ in parts])
    force = linear.reshape(-1, n)
    rows = len(force)
    forces = np.concatenate([p.gradient.reshape(rows, -1) for _, p in parts], axis=1)
    for row in range(rows):
        force[row] += np.bincount(where, forces[row], minlength=n)
    tangent = np.zeros((rows, 0))
    if with_tangent:
        square = [(dofs[:, :, None] * n + dofs[:, None, :]).ravel() for dofs, _ in parts]
        where = np.concatenate(square)
        blocks = np.concatenate([p.tangent.reshape(rows, -1) for _, p in parts], axis=1)
        tangent = np.empty((rows, n * n))
        for row in range(rows):
            np.add(S.ravel(), np.bincount(where, blocks[row], minlength=n * n), out=tangent[row])
    tension = np.concatenate([np.zeros((*lead, 0)), *(s.tension for s in states)], axis=-1)
    shape = (n, n) if with_tangent else (0, 0)
    return Response(
        np.asarray(energy),
        force.reshape(*lead, n),
        tangent.reshape(*lead, *shape),
        states,
        tension,
    )


def lock(system: System, response: Response) -> WireLaw:
    """The law of wires locked at their present tension and place."""
    parts = [
        natural_length(w, s) for w, s in zip(system.model.wires, response.wires, strict=True)
    ]
    return WireLaw(natural=np.concatenate(parts, axis=-1) if parts else np.zeros(0))


def node_displacements(system: System, u: Array) -> Array:
    """(..., n_nodes, 6) displacement (mm) and rotation (rad) of every node of the model, to first order of the arms."""
    c = system.condensed
    T = master_transform(system.model.master, system.model.arm)
    d = np.zeros((*u.shape[:-1], T.shape[1]))
    d[..., c.kept] = u
    d[..., c.internal] = u @ c.recover.T
    flat = d.reshape(-1, T.shape[1])
    return np.asarray((T @ flat.T).T.reshape(*u.shape[:-1], -1, 6))
