"""The fine-mesh model in openseespy: nodes, rigid arms, beams and springs, and the tags to ask for.

- members are Timoshenko beams; with ``corotational`` they are force-based beams in a corotational
  frame, so that their own large displacement is followed.
- rigid arms are very stiff corotational beams, so that they turn by any angle.
- springs join two nodes at one place along and about axes fixed in space; what they join turns by
  some hundredths of a radian at most, and a pair of forces at one place turns nothing.

openseespy keeps one model for the whole process: building wipes what was there before.
Units N, mm, rad. Local axis 1 of a member from node i to node j, axis 3 nearest to its "up".
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import count, pairwise

import numpy as np
import openseespy.opensees as ops

from .plan import FramePlan
from .sections import Section
from .space import UP, Vector

ARM_AXIAL = 1e9  # EA of a rigid arm, N
ARM_BENDING = 1e11  # EI and GJ of a rigid arm, N mm2
FORWARD = np.array([1.0, 0.0, 0.0])
SAME = 1e-5  # mm, below which two points are one: bearings of corners are rounded


@dataclass(frozen=True)
class Mesh:
    """Choices of the discretisation; lengths in mm, angles in degrees."""

    wire_mm: float
    ring_deg: float
    corotational: bool
    shear: frozenset[str] = frozenset({"ring", "rod", "bone", "pin"})
    hold_spin: bool = False
    support: str = "distal end"
    finer: int = 1  # times as many pieces of straight members


@dataclass
class Model:
    """Tags of what is asked for later; filled while building."""

    plan: FramePlan
    mesh: Mesh
    nodes: "count[int]" = field(default_factory=lambda: count(1))
    elements: "count[int]" = field(default_factory=lambda: count(1))
    sections: "count[int]" = field(default_factory=lambda: count(1))
    materials: "count[int]" = field(default_factory=lambda: count(1))
    frames: dict[tuple[str, float, float, float], int] = field(default_factory=dict)
    corners: dict[str, dict[float, int]] = field(default_factory=dict)
    clamps: dict[str, tuple[int, ...]] = field(default_factory=dict)
    wire_elements: dict[str, list[tuple[int, float]]] = field(default_factory=dict)
    bone_ends: tuple[int, int] = (0, 0)
    faces: tuple[int, int] = (0, 0)
    gap_centres: tuple[int, int] = (0, 0)
    loaded: bool = False

    def node(self, point: Vector) -> int:
        """Add a node at ``point`` (3,)."""
        tag = next(self.nodes)
        ops.node(tag, *point.tolist())
        return tag

    def transformation(self, up: Vector, *, follow: bool) -> int:
        """Tag of the geometry of beams with axis 3 nearest to ``up`` (3,)."""
        name = "Corotational" if follow else "Linear"
        key = (name, *np.round(up, 9).tolist())
        if key not in self.frames:
            self.frames[key] = len(self.frames) + 1
            ops.geomTransf(name, self.frames[key], *up.tolist())
        return self.frames[key]

    def arm(self, start: int, point: Vector) -> int:
        """Node at ``point`` on a rigid arm from node ``start``; that node itself if they meet."""
        along = point - place(start)
        if np.linalg.norm(along) < SAME:
            return start
        end = self.node(point)
        stiff = (ARM_AXIAL, 1.0, 1.0, ARM_BENDING, ARM_BENDING, ARM_BENDING)
        frame = self.transformation(across(along), follow=True)
        ops.element("elasticBeamColumn", next(self.elements), start, end, *stiff, frame)
        return end

    def member(
        self, nodes: Iterable[int], section: Section, kind: str, up: Vector | None = None
    ) -> None:
        """Beams through ``nodes``; ``up`` (3,) may be left out for round sections."""
        s, shear = section, kind in self.mesh.shear
        follow = self.mesh.corotational
        rule = 0
        if follow and shear:
            rule = next(self.sections)
            factors = (s.As2 / s.A, s.As3 / s.A)
            ops.section("Elastic", rule, s.E, s.A, s.I3, s.I2, s.G, s.J, *factors)
            ops.beamIntegration("Legendre", rule, rule, 2)
        for i, j in pairwise(nodes):
            tag = next(self.elements)
            upward = across(place(j) - place(i)) if up is None else up
            frame = self.transformation(upward, follow=follow)
            if rule:
                ops.element("forceBeamColumn", tag, i, j, frame, rule)
            elif shear:
                shearing = (s.E, s.G, s.A, s.J, s.I2, s.I3, s.As2, s.As3)
                ops.element("ElasticTimoshenkoBeam", tag, i, j, *shearing, frame)
            else:
                slender = (s.A, s.E, s.G, s.J, s.I2, s.I3)
                ops.element("elasticBeamColumn", tag, i, j, *slender, frame)

    def straight(self, start: int, end: int, pieces: int, section: Section, kind: str) -> None:
        """A straight round member in equal pieces; in one piece if members are linear."""
        a, b = place(start), place(end)
        n = pieces * self.mesh.finer if self.mesh.corotational else 1
        between = [self.node(a + (b - a) * k / n) for k in range(1, n)]
        self.member([start, *between, end], section, kind)

    def spring(
        self, i: int, j: int, stiffness: dict[int, float], first: Vector, second: Vector
    ) -> None:
        """Springs between two nodes at one place.

        stiffness : direction (1 to 3 along, 4 to 6 about the axes) -> N/mm or N mm/rad, nothing for
        those left out; ``first`` and ``second``: axes 1 and 2 (3,).
        """
        tags = []
        for size in stiffness.values():
            tags.append(next(self.materials))
            ops.uniaxialMaterial("Elastic", tags[-1], size)
        axes = ("-orient", *first.tolist(), *second.tolist())
        parts = ("-mat", *tags, "-dir", *stiffness)
        ops.element("zeroLength", next(self.elements), i, j, *parts, *axes)


def new_model(plan: FramePlan, mesh: Mesh) -> Model:
    """An empty model; wipes the one before."""
    ops.wipe()
    ops.model("basic", "-ndm", 3, "-ndf", 6)
    return Model(plan, mesh)


def place(tag: int) -> Vector:
    """(3,) of a node as built."""
    return np.array(ops.nodeCoord(tag))


def across(along: Vector) -> Vector:
    """(3,) x or z, whichever lies well across a direction."""
    return FORWARD if abs(along[2]) > 0.7 * np.linalg.norm(along) else UP


def merged(levels: Sequence[float], near: float) -> dict[float, float]:
    """Levels -> one level for all that follow each other by less than ``near``."""
    same: dict[float, float] = {}
    for level in sorted(levels):
        last = next(reversed(same), None)
        same[level] = same[last] if last is not None and level - last < near else level
    return same
