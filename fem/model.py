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
from fem.contact import ContactPart, Contacts, contact_part, make_contacts
from fem.errors import ModelError
from fem.hold import HeldWires, Hold, make_holds
from fem.joint import JointPart, Joints, joint_part, make_joints
from fem.materials import Material
from fem.member import Members, Shapes
from fem.member_ends import check_axial, check_ends
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
    ideal wires (one set per number of stations), wires of the general law (None: there are none),
    joints with play, contact points.
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
    held: HeldWires | None
    joints: Joints
    contacts: Contacts

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
    axial: float | None
    ends: Array


class _Arc(NamedTuple):
    name: str
    a: str
    b: str
    section: Section
    material: Material
    centre: Array
    axis: Array


class _Wire(NamedTuple):
    name: str
    stations: tuple[str, ...]
    turns: tuple[bool, ...]
    EA: float
    EI: float
    hold: Hold | None


def _wire_set(
    chosen: list[_Wire],
    number: dict[str, int],
    points: Array,
    master: NDArray[np.intp],
    arm: Array,
) -> Wires:
    nodes = np.array([[number[s] for s in w.stations] for w in chosen], dtype=np.intp)
    return make_wires(
        tuple(w.name for w in chosen),
        master[nodes],
        points[nodes],
        arm[nodes],
        np.array([w.turns for w in chosen], dtype=bool),
        np.array([w.EA for w in chosen], dtype=float),
        np.array([w.EI for w in chosen], dtype=float),
    )


class ModelBuilder:
    """Collects parts by name; ``build`` checks them and gives the ``Model``."""

    def __init__(self) -> None:
        self._nodes: dict[str, Array] = {}
        self._beams: list[_Beam] = []
        self._arcs: list[_Arc] = []
        self._springs: list[tuple[str, str, str | None, Array]] = []
        self._arms: dict[str, str] = {}
        self._fixed: dict[str, set[int]] = {}
        self._wires: list[_Wire] = []
        self._joints: list[JointPart] = []
        self._contacts: list[ContactPart] = []
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
        axial: float | None = None,
        ends: ArrayLike = (np.inf, np.inf),
    ) -> None:
        """Straight Timoshenko beam from node a to node b; ``up`` (3,) in the local x-z plane.

        column : its axial force follows the displaced chord (P-Δ, see ``fem.chord``).
        axial : N/mm of the whole member instead of EA/L, for one that telescopes; bending, shear
        and torsion stay those of the section.  ends : (2,) N·mm/rad, turning stiffness of the
        joints at a and b about the two axes across, infinite rigid, 0 hinge (``fem.member_ends``).
        """
        self._new(name, a, b)
        check_axial(axial, name)
        joints = np.asarray(ends, float)
        check_ends(joints, name)
        up_ = None if up is None else np.asarray(up, float)
        self._beams.append(_Beam(name, a, b, section, material, up_, column, axial, joints))

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
            self._coincide(f"spring {name!r}", name, a, b)
        self._springs.append((name, a, b, spring_stiffness(np.asarray(constants, float), name)))

    def joint(
        self,
        name: str,
        a: str,
        b: str,
        constants: ArrayLike,
        play: ArrayLike = 0.0,
        axes: ArrayLike | None = None,
    ) -> None:
        """Spring with play between coincident nodes, along and about its ``axes`` (3, 3), rows x,
        y, z; see ``fem.joint``.
        """
        self._new(name, a, b)
        self._coincide(f"joint {name!r}", name, a, b)
        self._joints.append(joint_part(name, a, b, constants, play, axes))

    def contact(
        self,
        name: str,
        a: str,
        b: str,
        point: ArrayLike,
        normal: ArrayLike,
        gap: float,
        k_n: float,
        k_t: float,
        friction: float,
    ) -> None:
        """Contact with friction at ``point`` between the bodies of a and b, ``normal`` from a to b;
        see ``fem.contact``.
        """
        self._new(name, a, b)
        part = contact_part(name, a, b, point, normal, gap, k_n, k_t, friction)
        self._contacts.append(part)

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
        self,
        name: str,
        stations: Sequence[str],
        turns: Sequence[bool],
        EA: float,
        EI: float,
        hold: Hold | None = None,
    ) -> None:
        """Tensioned wire over the nodes ``stations``; ``turns``: whether each turns the wire (see
        ``fem.wire``). ``hold``: grips, olive, slip and yield (``fem.wire_holds``); None: an ideal
        wire, smooth, elastic and clamped for good. All wires with a hold run over equally many
        stations.
        """
        self._new(name, *stations)
        if len(turns) != len(stations):
            raise ModelError(
                f"wire {name!r}: {len(stations)} stations, but {len(turns)} words on whether "
                "they turn it; give one for each.",
                part=name,
            )
        self._wires.append(_Wire(name, tuple(stations), tuple(turns), EA, EI, hold))

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
        ideal = [w for w in self._wires if w.hold is None]
        wires = tuple(
            _wire_set([w for w in ideal if len(w.stations) == count], number, points, master, arm)
            for count in sorted({len(w.stations) for w in ideal})
        )
        held = self._held([w for w in self._wires if w.hold], number, points, master, arm)
        members = self._members(number, points)
        chords = self._chords(number, points, master, arm)
        joints = make_joints(self._joints, number, master, arm)
        contacts = make_contacts(self._contacts, number, points, master)
        return Model(
            names, points, master, arm, fixed, members, springs, chords, wires, held, joints, contacts
        )

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
        joints = np.full((count, 2), np.inf)
        if straight:
            joints[:n] = [m.ends for m in straight]
            frame[:n] = beam_frames(A[:n], B[:n], [m.up for m in straight], names[:n])
            for i, m in enumerate(straight):
                if m.axial is not None:  # spread evenly along it, for recovery
                    f[i, 0] = 1.0 / (m.axial * length[i])
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
        return Members(tuple(names), ends, F, B - A, joints, shapes)

    def _chords(
        self, number: dict[str, int], points: Array, master: NDArray[np.intp], arm: Array
    ) -> Chords:
        columns = [m for m in self._beams if m.column]
        ends = np.array([(number[m.a], number[m.b]) for m in columns], dtype=np.intp).reshape(-1, 2)
        reach = points[ends[:, 1]] - points[ends[:, 0]]
        EA = np.array([m.material.E * m.section.area for m in columns])
        k = EA / np.linalg.norm(reach, axis=-1)
        telescopes = [i for i, m in enumerate(columns) if m.axial is not None]
        k[telescopes] = [m.axial for m in columns if m.axial is not None]
        return make_chords(tuple(m.name for m in columns), master[ends], arm[ends], reach, k)

    def _held(
        self,
        wires: list[_Wire],
        number: dict[str, int],
        points: Array,
        master: NDArray[np.intp],
        arm: Array,
    ) -> HeldWires | None:
        if not wires:
            return None
        count = len(wires[0].stations)
        for w in wires:
            if len(w.stations) != count:
                raise ModelError(
                    f"wire {w.name!r}: runs over {len(w.stations)} stations and {wires[0].name!r} "
                    f"over {count}; all wires with a hold must run over equally many.",
                    part=w.name,
                )
        holds = make_holds([w.name for w in wires], count, [w.hold for w in wires if w.hold])
        return HeldWires(_wire_set(wires, number, points, master, arm), holds)

    def _coincide(self, what: str, part: str, a: str, b: str) -> None:
        apart = float(np.linalg.norm(self._nodes[a] - self._nodes[b]))
        if apart > 1e-6:
            raise ModelError(
                f"{what}: nodes {a!r} and {b!r} lie {apart:.3g} mm apart; put a rigid arm between.",
                part=part,
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
