"""The nonlinear system: condensed linear part plus wires, on the freedoms that wires, loads and supports touch.

Everything takes leading axes (load cases).  Total stored energy, its gradient and its tangent:

    Π(u) = ½ uᵀ S u + Σ Π_wire(u),     f(u) = ∂Π/∂u,     H(u) = ∂²Π/∂u²;

equilibrium under loads p is f(u) = p on the free freedoms.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.assembly import assemble_masters
from fem.condensation import Condensed, condense
from fem.constraints import master_transform
from fem.errors import ModelError
from fem.model import Model
from fem.wire import Wires, WireState, natural_length, wire_state


@dataclass(frozen=True)
class System:
    """model; condensed linear part; ``nodes`` (k,) kept nodes, six freedoms each in this order; ``free`` (6k,) mask;
    ``wire_dofs``: for each wire set (w, 6S) places in the vector u; ``length`` mm, scale of moments against forces."""

    model: Model
    condensed: Condensed
    nodes: NDArray[np.intp]
    free: NDArray[np.bool_]
    wire_dofs: tuple[NDArray[np.intp], ...]
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
    wanted |= set(np.flatnonzero(model.fixed.any(axis=1)).tolist())
    nodes = np.array(sorted(wanted), dtype=np.intp)
    place = np.searchsorted(masters, nodes)
    kept = (6 * place[:, None] + np.arange(6)).ravel()
    names = tuple(model.names[m] for m in masters)
    condensed = condense(assemble_masters(model), kept, names, "the members alone")
    wire_dofs = tuple(
        (6 * np.searchsorted(nodes, w.nodes)[:, :, None] + np.arange(6)).reshape(len(w.names), -1)
        for w in model.wires
    )
    size = float(np.ptp(model.points, axis=0).max())
    return System(
        model=model,
        condensed=condensed,
        nodes=nodes,
        free=~model.fixed[nodes].ravel(),
        wire_dofs=wire_dofs,
        length=size / 4.0 if size > 0 else 1.0,
    )


def respond(system: System, u: Array, law: WireLaw, *, with_tangent: bool = True) -> Response:
    """Energy, internal forces and tangent at displacements u (..., n)."""
    S = system.condensed.stiffness
    n, lead = system.size, u.shape[:-1]
    linear = u @ S
    energy = np.sum(u * linear, axis=-1) / 2.0
    force = linear.reshape(-1, n)
    rows = len(force)
    tangent = np.repeat(S.reshape(1, -1), rows, axis=0) if with_tangent else np.zeros((rows, 0))
    states = []
    for wires, dofs, how in zip(
        system.model.wires, system.wire_dofs, law.part(system.model.wires), strict=True
    ):
        state = wire_state(wires, u[..., dofs], with_tangent=with_tangent, **how)
        states.append(state)
        energy = energy + np.sum(state.energy, axis=-1)
        gradient = state.gradient.reshape(rows, -1)
        blocks = state.tangent.reshape(rows, -1)
        where = (dofs[:, :, None] * n + dofs[:, None, :]).ravel()
        for row in range(rows):
            force[row] += np.bincount(dofs.ravel(), gradient[row], minlength=n)
            if with_tangent:
                tangent[row] += np.bincount(where, blocks[row], minlength=n * n)
    tension = np.zeros((*lead, 0))
    if states:
        tension = np.concatenate([s.tension for s in states], axis=-1)
    shape = (n, n) if with_tangent else (0, 0)
    return Response(
        energy,
        force.reshape(*lead, n),
        tangent.reshape(*lead, *shape),
        tuple(states),
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
