"""The model: nodes with six freedoms, members, springs, rigid arms, wires, supports; all by name.

Build with ``ModelBuilder`` and read back as a frozen ``Model``. Units N, mm, MPa, rad; global axes;
freedoms of a node in the order ux, uy, uz, rx, ry, rz.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fem.algebra import Array
from fem.arc import arc_end_flexibility, check_arc
from fem.beam import beam_end_flexibility, beam_frames
from fem.chord import Chords, make_chords
from fem.constraints import resolve_arms
from fem.errors import ModelError
from fem.materials import Material
from fem.member import Members, Shapes
from fem.sections import Section, section_flexibility
from fem.spring import spring_stiffness
from fem.wire import Wires, make_wires

FREEDOMS = ("ux", "uy", "uz", "rx", "ry", "rz")


@dataclass(frozen=True)
class Springs:
    """names (s,), ends (s, 2) node numbers (-1: ground), stiffness (s, 12, 12)."""

    names: tuple[str, ...]
    ends: NDArray[np.intp]
    stiffness: Array


@dataclass(frozen=True)
class Model:
    """Frozen model. names (n,), points (n, 3) mm, master (n,) and arm (n, 3) of every node (itself
    and 0 when free), fixed (n, 6) supported freedoms, members, springs, chords of the columns,
    wires (one set per number of stations).
    """

    names: tuple[str, ...]
    points: Array
    master: NDArray[np.intp]
    arm: Array
    fixed: NDArray[np.bool_]
    members: Members
    springs: Springs
    chords: Chords
    wires: tuple[Wires, ...]

    def node(self, name: str) -> int:
        """Number of the node called ``name``."""
        try:
            return self.names.index(name)
        except ValueError:
            raise ModelError(f"no node is called {name!r}.", part=name) from None


class _Beam(NamedTuple):
    name: str
    a: str
    b: str
    section: Section
    material: Material
    up: Array | None
    column: bool


class _Arc(NamedTuple):
    name: str
    a: str
    b: str
    section: Section
    material: Material
    centre: Array
    axis: Array


class ModelBuilder:
    """Collects parts by name; ``build`` checks them and gives the ``Model``."""

    def __init__(self) -> None:
        self._nodes: dict[str, Array] = {}
        self._beams: list[_Beam] = []
        self._arcs: list[_Arc] = []
        self._springs: list[tuple[str, str, str | None, Array]] = []
        self._arms: dict[str, str] = {}
        self._fixed: dict[str, set[int]] = {}
        self._wires: list[tuple[str, tuple[str, ...], tuple[bool, ...], float, float]] = []
        self._parts: set[str] = set()

    def node(self, name: str, point: ArrayLike) -> str:
        """A node at ``point`` (3,) mm.  Returns its name."""
        xyz = np.array(point, dtype=float)
        if xyz.shape != (3,) or not np.isfinite(xyz).all():
            raise ModelError(
                f"node {name!r}: needs three finite coordinates (got {point!r}).", part=name
            )
        if name in self._nodes:
            raise ModelError(
                f"two nodes are called {name!r}; give each a name of its own.", part=name
            )
        self._nodes[name] = xyz
        return name

    def beam(
        self,
        name: str,
        a: str,
        b: str,
        section: Section,
        material: Material,
        up: ArrayLike | None = None,
        *,
        column: bool = False,
    ) -> None:
        """Straight Timoshenko beam from node a to node b; ``up`` (3,) in the local x-z plane.

        column : its axial force follows the displaced chord (P-Δ, see ``fem.chord``).
        """
        self._new(name, a, b)
        up_ = None if up is None else np.asarray(up, float)
        self._beams.append(_Beam(name, a, b, section, material, up_, column))

    def arc(
        self,
        name: str,
        a: str,
        b: str,
        centre: ArrayLike,
        axis: ArrayLike,
        section: Section,
        material: Material,
    ) -> None:
        """Arc from a to b, right-handed about ``axis`` through ``centre``; section local y away
        from the centre.
        """
        self._new(name, a, b)
        n = np.asarray(axis, float)
        size = float(np.linalg.norm(n))
        if not (np.isfinite(size) and size > 0.0):
            raise ModelError(
                f"arc {name!r}: its axis {n.tolist()} has no direction; "
                "give a vector that is not zero.",
                part=name,
            )
        n = n / size
        middle = np.asarray(centre, float)
        self._arcs.append(_Arc(name, a, b, section, material, middle, n))

    def spring(self, name: str, a: str, b: str | None, constants: ArrayLike) -> None:
        """Spring between coincident nodes a and b, or a and the ground (None); see
        ``fem.spring``.
        """
        self._new(name, a, *(() if b is None else (b,)))
        if b is not None:
            apart = float(np.linalg.norm(self._nodes[a] - self._nodes[b]))
            if apart > 1e-6:
                raise ModelError(
                    f"spring {name!r}: nodes {a!r} and {b!r} lie {apart:.3g} mm apart; "
                    "put a rigid arm between.",
                    part=name,
                )
        self._springs.append((name, a, b, spring_stiffness(np.asarray(constants, float), name)))

    def arm(self, slave: str, master: str) -> None:
        """Rigid arm: ``slave`` follows ``master``."""
        self._known("rigid arm", slave, master)
        if slave in self._arms:
            raise ModelError(
                f"node {slave!r} already follows {self._arms[slave]!r}; "
                f"it cannot follow {master!r} too.",
                part=slave,
            )
        self._arms[slave] = master

    def fix(self, node: str, freedoms: Sequence[str] = FREEDOMS) -> None:
        """Support the named freedoms of a node (all six when not named)."""
        self._known("support", node)
        for f in freedoms:
            if f not in FREEDOMS:
                raise ModelError(
                    f"no freedom is called {f!r}; use {', '.join(FREEDOMS)}.", part=node
                )
            self._fixed.setdefault(node, set()).add(FREEDOMS.index(f))

    def wire(
        self, name: str, stations: Sequence[str], turns: Sequence[bool], EA: float, EI: float
    ) -> None:
        """Tensioned wire over the nodes ``stations``; ``turns``: whether each turns the wire (see
        ``fem.wire``).
        """
        self._new(name, *stations)
        if len(turns) != len(stations):
            raise ModelError(
                f"wire {name!r}: {len(stations)} stations, but {len(turns)} words on whether "
                "they turn it; give one for each.",
                part=name,
            )
        self._wires.append((name, tuple(stations), tuple(turns), EA, EI))

    def build(self) -> Model:
        """Check and freeze."""
        names = tuple(self._nodes)
        if not names:
            raise ModelError("the model has no nodes.")
        points = np.array([self._nodes[n] for n in names])
        number = {n: i for i, n in enumerate(names)}
        master, arm = resolve_arms(
            names, points, {number[s]: number[m] for s, m in self._arms.items()}
        )
        fixed = np.zeros((len(names), 6), dtype=bool)
        for node, freedoms in self._fixed.items():
            if node in self._arms:
                raise ModelError(
                    f"node {node!r} hangs on a rigid arm; support its master {self._arms[node]!r}.",
                    part=node,
                )
            fixed[number[node], sorted(freedoms)] = True
        springs = Springs(
            tuple(s[0] for s in self._springs),
            np.array(
                [(number[s[1]], -1 if s[2] is None else number[s[2]]) for s in self._springs],
                dtype=np.intp,
            ).reshape(-1, 2),
            np.array([s[3] for s in self._springs]).reshape(-1, 12, 12),
        )
        wires = tuple(
            self._wire_set(count, number, points, master, arm)
            for count in sorted({len(w[1]) for w in self._wires})
        )
        members = self._members(number, points)
        chords = self._chords(number, points, master, arm)
        return Model(names, points, master, arm, fixed, members, springs, chords, wires)

    def _members(self, number: dict[str, int], points: Array) -> Members:
        straight, curved = self._beams, self._arcs
        names = [*(m.name for m in straight), *(m.name for m in curved)]
        ends_by_name = [*((m.a, m.b) for m in straight), *((m.a, m.b) for m in curved)]
        made_of = [
            *((m.section, m.material) for m in straight),
            *((m.section, m.material) for m in curved),
        ]
        ends = np.array([(number[a], number[b]) for a, b in ends_by_name], dtype=np.intp)
        ends = ends.reshape(-1, 2)
        A, B = points[ends[:, 0]], points[ends[:, 1]]
        n, count = len(straight), len(names)
        f = np.array([section_flexibility(s, m) for s, m in made_of]).reshape(-1, 6)
        F, frame = np.zeros((count, 6, 6)), np.zeros((count, 3, 3))
        length, angle = np.linalg.norm(B - A, axis=-1), np.zeros(count)
        centre, axis = np.zeros((count, 3)), np.zeros((count, 3))
        if straight:
            frame[:n] = beam_frames(A[:n], B[:n], [m.up for m in straight], names[:n])
            F[:n] = beam_end_flexibility(length[:n], frame[:n], f[:n])
        if curved:
            centre[n:], axis[n:] = [m.centre for m in curved], [m.axis for m in curved]
            angle[n:] = _angles(centre[n:], axis[n:], A[n:], B[n:], names[n:])
            out = A[n:] - centre[n:]
            radius = np.linalg.norm(out, axis=-1)
            length[n:] = radius * angle[n:]
            out = out / radius[:, None]
            frame[n:] = np.stack([np.cross(axis[n:], out), out, axis[n:]], axis=1)
            F[n:] = arc_end_flexibility(centre[n:], axis[n:], A[n:], angle[n:], f[n:])
        sections = tuple(section for section, _ in made_of)
        shapes = Shapes(sections, f, frame, length, angle, centre, axis)
        return Members(tuple(names), ends, F, B - A, shapes)

    def _chords(
        self, number: dict[str, int], points: Array, master: NDArray[np.intp], arm: Array
    ) -> Chords:
        columns = [m for m in self._beams if m.column]
        ends = np.array([(number[m.a], number[m.b]) for m in columns], dtype=np.intp).reshape(-1, 2)
        reach = points[ends[:, 1]] - points[ends[:, 0]]
        EA = np.array([m.material.E * m.section.area for m in columns])
        k = EA / np.linalg.norm(reach, axis=-1)
        return make_chords(tuple(m.name for m in columns), master[ends], arm[ends], reach, k)

    def _wire_set(
        self,
        count: int,
        number: dict[str, int],
        points: Array,
        master: NDArray[np.intp],
        arm: Array,
    ) -> Wires:
        chosen = [w for w in self._wires if len(w[1]) == count]
        nodes = np.array([[number[s] for s in w[1]] for w in chosen], dtype=np.intp)
        return make_wires(
            tuple(w[0] for w in chosen),
            master[nodes],
            points[nodes],
            arm[nodes],
            np.array([w[2] for w in chosen], dtype=bool),
            np.array([w[3] for w in chosen], dtype=float),
            np.array([w[4] for w in chosen], dtype=float),
        )

    def _known(self, what: str, *nodes: str) -> None:
        for node in nodes:
            if node not in self._nodes:
                raise ModelError(
                    f"{what}: no node is called {node!r}; add the node first.", part=node
                )

    def _new(self, name: str, *nodes: str) -> None:
        self._known(f"part {name!r}", *nodes)
        if name in self._parts:
            raise ModelError(
                f"two parts are called {name!r}; give each a name of its own.", part=name
            )
        self._parts.add(name)


def _angles(centre: Array, axis: Array, a: Array, b: Array, names: list[str]) -> Array:
    """(m,) rad in (0, 2π): turn from a to b about the axis; both must lie on one circle."""
    ra, rb = a - centre, b - centre
    angle = np.arctan2(np.sum(np.cross(ra, rb) * axis, axis=-1), np.sum(ra * rb, axis=-1))
    angle = np.where(angle <= 0.0, angle + 2.0 * np.pi, angle)
    for i, name in enumerate(names):
        check_arc(centre[i], axis[i], a[i], float(angle[i]), name)
        off = abs(float(np.linalg.norm(ra[i]) - np.linalg.norm(rb[i])))
        if off > 1e-6 * float(np.linalg.norm(ra[i])) or abs(float(rb[i] @ axis[i])) > 1e-6:
            raise ModelError(
                f"arc {name!r}: its end does not lie on its circle (off by {off:.3g} mm).",
                part=name,
            )
    return np.asarray(angle)
