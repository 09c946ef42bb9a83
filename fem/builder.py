"""Building a model part by part, each by name, each checked when it is added."""

from collections.abc import Sequence
from math import hypot, isfinite

import numpy as np
from numpy.typing import ArrayLike

from fem.algebra import Array
from fem.building import Collected, build_model
from fem.contact import ContactPart, contact_part
from fem.errors import ModelError
from fem.hold import Hold
from fem.joint import JointPart, joint_part
from fem.materials import Material
from fem.member_ends import check_axial, check_ends
from fem.model import FREEDOMS, Model
from fem.points import checked_point
from fem.sections import Section
from fem.spring import spring_stiffness
from fem.stacking import ArcPart, BeamPart, WirePart


class ModelBuilder:
    """Collects parts by name; ``build`` checks them and gives the ``Model``."""

    def __init__(self) -> None:
        self._nodes: dict[str, Array] = {}
        self._beams: list[BeamPart] = []
        self._arcs: list[ArcPart] = []
        self._springs: list[tuple[str, str, str | None, Array]] = []
        self._arms: dict[str, str] = {}
        self._fixed: dict[str, set[int]] = {}
        self._wires: list[WirePart] = []
        self._joints: list[JointPart] = []
        self._contacts: list[ContactPart] = []
        self._parts: set[str] = set()

    def node(self, name: str, point: ArrayLike) -> str:
        """A node at ``point`` (3,) mm.  Returns its name."""
        xyz = checked_point("node", name, point)
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
        late: bool = False,
    ) -> None:
        """Straight Timoshenko beam from node a to node b; ``up`` (3,) in the local x-z plane.

        column : its axial force follows the displaced chord (P-Δ, see ``fem.chord``).
        axial : N/mm of the whole member instead of EA/L, for one that telescopes; bending, shear
        and torsion stay those of the section.  ends : (2,) N·mm/rad, turning stiffness of the
        joints at a and b about the two axes across, infinite rigid, 0 hinge (``fem.member_ends``).
        late : it joins only when the law says so (``fem.late``).
        """
        self._new(name, a, b)
        check_axial(axial, name)
        joints = np.asarray(ends, float)
        check_ends(joints, name)
        up_ = None if up is None else np.asarray(up, float)
        self._beams.append(
            BeamPart(name, a, b, section, material, up_, column, axial, joints, late)
        )

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
        size = hypot(*n.tolist())
        if not (isfinite(size) and size > 0.0):
            raise ModelError(
                f"arc {name!r}: its axis {n.tolist()} has no direction; "
                "give a vector that is not zero.",
                part=name,
            )
        n = n / size
        middle = np.asarray(centre, float)
        self._arcs.append(ArcPart(name, a, b, section, material, middle, n))

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
        self._wires.append(WirePart(name, tuple(stations), tuple(turns), EA, EI, hold))

    def collected(self) -> Collected:
        """All parts so far, as they are put together by ``fem.building``."""
        return Collected(
            self._nodes,
            self._beams,
            self._arcs,
            self._springs,
            self._arms,
            self._fixed,
            self._wires,
            self._joints,
            self._contacts,
        )

    def build(self) -> Model:
        """Check and freeze."""
        return build_model(self.collected())

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
