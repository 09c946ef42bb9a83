"""The nonlinear system: condensed linear part, wires and columns, on the freedoms that these, loads
and supports touch.

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
from fem.chord import ChordState, chord_state
from fem.condensation import Condensed, condense
from fem.constraints import master_transform
from fem.errors import ModelError
from fem.model import Model
from fem.wire import Wires, WireState, natural_length, wire_state


@dataclass(frozen=True)
class System:
    """model; condensed linear part; ``kept`` (n,) freedoms of u, numbered 6 node + freedom,
    ascending; ``free`` (n,) mask of those that the model does not fix; ``extent`` mm, size of the
    structure.

    ``wire_dofs``: for each wire set (w, 6S) places in u; ``chord_dofs`` (c, 12) the same for the
    columns (a freedom that was condensed, because no arm makes it matter, has the place of another,
    and no effect). ``scatter``: where the concatenated forces and tangents of wires and columns go.
    """

    model: Model
    condensed: Condensed
    kept: NDArray[np.intp]
    free: NDArray[np.bool_]
    wire_dofs: tuple[NDArray[np.intp], ...]
    chord_dofs: NDArray[np.intp]
    scatter: "_Scatter"
    extent: float

    @property
    def length(self) -> float:
        """mm, scale of moments against forces."""
        return self.extent / 4.0 if self.extent > 0.0 else 1.0

    @property
    def size(self) -> int:
        """Number of freedoms of u."""
        return len(self.kept)

    @property
    def units(self) -> Array:
        """(n,) factors that make forces of moments: 1, or 1 / length."""
        return np.where(self.kept % 6 < 3, 1.0, 1.0 / self.length)

    @property
    def wire_names(self) -> tuple[str, ...]:
        """Names of all wires in the order of every per-wire array."""
        return tuple(n for w in self.model.wires for n in w.names)

    def dofs(self, node: str) -> NDArray[np.intp]:
        """(6,) places of a kept node's freedoms in u."""
        wanted = 6 * self.model.node(node) + np.arange(6)
        found = np.searchsorted(self.kept, wanted)
        if not np.array_equal(self.kept[np.minimum(found, self.size - 1)], wanted):
            raise ModelError(f"node {node!r} was condensed; name it in ``keep``.", part=node)
        return np.asarray(found)


@dataclass(frozen=True)
class _Scatter:
    """force (m,) and tangent (k,) places (in u, in the flattened matrix) of those entries for which
    ``has_force`` (M,) and ``has_tangent`` (K,) say that they have one.
    """

    force: NDArray[np.intp]
    tangent: NDArray[np.intp]
    has_force: NDArray[np.bool_]
    has_tangent: NDArray[np.bool_]


def _scatter(places: Sequence[NDArray[np.intp]], size: int) -> _Scatter:
    """From places (m, k) of elements in u, -1 where condensed."""
    force = np.concatenate([p.ravel() for p in places])
    rows = np.concatenate([np.repeat(p, p.shape[1], axis=1).ravel() for p in places])
    cols = np.concatenate([np.tile(p, (1, p.shape[1])).ravel() for p in places])
    both = (rows >= 0) & (cols >= 0)
    return _Scatter(force[force >= 0], (rows * size + cols)[both], force >= 0, both)


@dataclass(frozen=True)
class WireLaw:
    """How the wires answer: ``tension`` (..., w) N held at a value, or ``natural`` (..., w) mm,
    locked (see ``fem.wire``).
    """

    tension: Array | None = None
    natural: Array | None = None

    def part(self, wires: Sequence[Wires]) -> list[dict[str, Array]]:
        """Keyword arguments of ``wire_state`` for each wire set."""
        key, values = (
            ("tension", self.tension) if self.tension is not None else ("natural", self.natural)
        )
        if values is None:
            raise ModelError("a wire law needs tensions or natural lengths.")
        if not wires:
            return []
        edges = np.cumsum([len(w.names) for w in wires])[:-1]
        return [{key: v} for v in np.split(values, edges, axis=-1)]


@dataclass(frozen=True)
class Response:
    """energy (...,) N·mm, force (..., n), tangent (..., n, n) (or (..., 0, 0) when it was not asked
    for), state of each wire set, tension (..., w) of all wires.
    """

    energy: Array
    force: Array
    tangent: Array
    wires: tuple[WireState, ...]
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
    chord_dofs = places(model.chords.nodes)
    return System(
        model=model,
        condensed=condensed,
        kept=kept,
        free=~model.fixed.ravel()[kept],
        wire_dofs=wire_dofs,
        chord_dofs=np.maximum(chord_dofs, 0),
        scatter=_scatter([*wire_dofs, chord_dofs], len(kept)),
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
    wanted[model.fixed.any(axis=1)] = True
    wanted[model.chords.nodes.ravel(), :3] = True
    wanted[model.chords.nodes[model.chords.on_arm]] = True
    return np.flatnonzero(wanted.ravel())


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
    parts: list[WireState | ChordState] = [*states, columns]
    scatter = system.scatter
    energy = np.sum(u * linear, axis=-1) / 2.0 + sum(np.sum(p.energy, axis=-1) for p in parts)
    force = linear.reshape(-1, n)
    rows = len(force)
    forces = np.concatenate([p.gradient.reshape(rows, -1) for p in parts], axis=1)
    for row in range(rows):
        force[row] += np.bincount(scatter.force, forces[row, scatter.has_force], minlength=n)
    tangent = np.zeros((rows, 0))
    if with_tangent:
        blocks = np.concatenate([p.tangent.reshape(rows, -1) for p in parts], axis=1)
        tangent = np.empty((rows, n * n))
        for row in range(rows):
            entries = blocks[row, scatter.has_tangent]
            added = np.bincount(scatter.tangent, entries, minlength=n * n)
            np.add(S.ravel(), added, out=tangent[row])
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
    parts = [natural_length(w, s) for w, s in zip(system.model.wires, response.wires, strict=True)]
    return WireLaw(natural=np.concatenate(parts, axis=-1) if parts else np.zeros(0))


def node_displacements(system: System, u: Array) -> Array:
    """(..., n_nodes, 6) displacement (mm) and rotation (rad) of every node of the model, to first
    order of the arms.
    """
    c = system.condensed
    T = master_transform(system.model.master, system.model.arm)
    d = np.zeros((*u.shape[:-1], T.shape[1]))
    d[..., c.kept] = u
    d[..., c.internal] = u @ c.recover.T
    flat = d.reshape(-1, T.shape[1])
    return np.asarray((T @ flat.T).T.reshape(*u.shape[:-1], -1, 6))
