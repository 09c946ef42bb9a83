"""Builds the fine-mesh model of a planned frame in openseespy.

- rings: polygons of at most ``ring_deg`` with their corners on the centre line, a corner at every
  attachment; rods and bone: beams. Members are Timoshenko beams; with ``corotational`` they are
  force-based beams in a corotational frame, so that their own large displacement is followed.
- wires: beams in a corotational frame, of ``wire_mm`` at clamps and cortices and growing in
  between, with an initial strain e in

      N = EA (strain + e),   M = EI curvature

  from clamp to clamp in one piece, never tied to the bone along their own line.
- rigid arms (hole circle to centre line, ring mid-plane to wire, bone axis to cortex, fracture
  face to gap centre): very stiff corotational beams, so that they turn by any angle.
- cortex: the wire's node and the end of the bone's arm are held together by stiff springs in the
  two directions across the wire's first line; "built in" adds the two slopes, and ``hold_spin``
  the turn about the wire's own line.

Why rings must be corotational. A ring in equilibrium with its wires carries the reaction of their
tension. Turned by a small angle t about the bone, a wire whose clamps move by R t along straight
lines is stretched by R t^2, which costs T R t^2: a ring that follows small displacements only is
held to the ground by 2 T R for each wire, although a rigid turn of the whole frame is free. The
ring's own second-order shortening cancels it, and only ``corotational`` members have it. With
"linear" members torsion, bending and shear at the gap depend on where the frame is supported
(torsion by a factor of 1.6 in the frames tried); axial stiffness does not, where nothing turns.

What is left out: the hold stays on the wire's first line and at the wire's first node, while a
bone that slides along the wire by s moves its hold by s. That is third order, T (across)^2 s / L^2.

openseespy keeps one model for the whole process: building wipes what was there before.
Units N, mm, rad. Local axis 1 of a member from node i to node j, axis 3 nearest to its "up".
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import count, pairwise
from math import ceil, log1p

import numpy as np
import openseespy.opensees as ops

from .geometry import FramePlan, RingPlan, RodPlan, Vector, WirePlan, bearing_of, bearing_vector
from .sections import Section

ARM_AXIAL = 1e9  # EA of a rigid arm, N
ARM_BENDING = 1e10  # EI and GJ of a rigid arm, N mm2
HOLD = 1e7  # springs between cortex and wire, N/mm
HOLD_TURN = 1e9  # the same against slopes and spin, N mm/rad
LINEAR_UP_Z, LINEAR_UP_X, FOLLOW_UP_Z, FOLLOW_UP_X = 1, 2, 3, 4  # transformation tags
GROWTH = 0.1  # of a wire's elements, per mm
SAME = 1e-9  # mm, below which two points are one
ROD_PIECES = 8  # elements in one bay of a rod when members are corotational


@dataclass(frozen=True)
class Mesh:
    """Choices of the discretisation; lengths in mm, angles in degrees."""

    wire_mm: float
    ring_deg: float
    corotational: bool
    shear: frozenset[str] = frozenset({"ring", "rod", "bone"})
    hold_spin: bool = False
    support: str = "distal end"


@dataclass
class Model:
    """Tags of what is asked for later; filled while building."""

    plan: FramePlan
    mesh: Mesh
    nodes: "count[int]" = field(default_factory=lambda: count(1))
    elements: "count[int]" = field(default_factory=lambda: count(1))
    sections: "count[int]" = field(default_factory=lambda: count(1))
    materials: "count[int]" = field(default_factory=lambda: count(1))
    corners: dict[str, dict[float, int]] = field(default_factory=dict)
    clamps: dict[str, tuple[int, int]] = field(default_factory=dict)
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

    def arm(self, start: int, point: Vector) -> int:
        """Node at ``point`` on a rigid arm from node ``start``; that node itself if they meet."""
        along = point - np.array(ops.nodeCoord(start))
        if np.linalg.norm(along) < SAME:
            return start
        end = self.node(point)
        up = FOLLOW_UP_X if abs(along[2]) > 0.7 * np.linalg.norm(along) else FOLLOW_UP_Z
        stiff = (ARM_AXIAL, 1.0, 1.0, ARM_BENDING, ARM_BENDING, ARM_BENDING)
        ops.element("elasticBeamColumn", next(self.elements), start, end, *stiff, up)
        return end

    def member(self, nodes: Iterable[int], section: Section, kind: str, upright: bool) -> None:
        """Beams through ``nodes``; ``upright`` if they run along the bone."""
        s, shear = section, kind in self.mesh.shear
        follow = self.mesh.corotational
        frame = {
            (False, False): LINEAR_UP_Z,
            (False, True): LINEAR_UP_X,
            (True, False): FOLLOW_UP_Z,
            (True, True): FOLLOW_UP_X,
        }[follow, upright]
        rule = 0
        if follow and shear:
            rule = next(self.sections)
            factors = (s.As2 / s.A, s.As3 / s.A)
            ops.section("Elastic", rule, s.E, s.A, s.I3, s.I2, s.G, s.J, *factors)
            ops.beamIntegration("Legendre", rule, rule, 2)
        for i, j in pairwise(nodes):
            tag = next(self.elements)
            if rule:
                ops.element("forceBeamColumn", tag, i, j, frame, rule)
            elif shear:
                shearing = (s.E, s.G, s.A, s.J, s.I2, s.I3, s.As2, s.As3)
                ops.element("ElasticTimoshenkoBeam", tag, i, j, *shearing, frame)
            else:
                slender = (s.A, s.E, s.G, s.J, s.I2, s.I3)
                ops.element("elasticBeamColumn", tag, i, j, *slender, frame)


def build_rings_and_rods(plan: FramePlan, mesh: Mesh) -> Model:
    """Wipe, then rings, rods and the clamps' arms: the part that gives under tension."""
    ops.wipe()
    ops.model("basic", "-ndm", 3, "-ndf", 6)
    for tag, name, up in (
        (LINEAR_UP_Z, "Linear", (0, 0, 1)),
        (LINEAR_UP_X, "Linear", (1, 0, 0)),
        (FOLLOW_UP_Z, "Corotational", (0, 0, 1)),
        (FOLLOW_UP_X, "Corotational", (1, 0, 0)),
    ):
        ops.geomTransf(name, tag, *up)
    model = Model(plan, mesh)
    for ring in plan.rings.values():
        _ring(model, ring)
    for rod in plan.rods:
        ends = []
        for name, point in zip(rod.rings, rod.points, strict=True):
            ends.append(model.arm(_corner(model, name, point), point))
        for i, j in pairwise(ends):
            a, b = (np.array(ops.nodeCoord(tag)) for tag in (i, j))
            pieces = ROD_PIECES if mesh.corotational else 1
            between = [model.node(a + (b - a) * k / pieces) for k in range(1, pieces)]
            model.member([i, *between, j], rod.section, "rod", upright=True)
    for wire in plan.wires:
        start, end = (model.arm(_corner(model, wire.ring, point), point) for point in wire.clamps)
        model.clamps[wire.name] = start, end
    return model


def build_frame(plan: FramePlan, mesh: Mesh, strains: Vector) -> Model:
    """The whole frame; ``strains`` (n_wires,) are the wires' initial strains, positive taut."""
    model = build_rings_and_rods(plan, mesh)
    axis = _bone(model)
    for wire, strain in zip(plan.wires, strains, strict=True):
        _wire(model, wire, float(strain), axis[float(wire.axis_point[2])])
    return model


def _corner(model: Model, ring: str, point: Vector) -> int:
    """Node of a ring's centre line at the bearing of ``point``."""
    bearing = bearing_of(point, model.plan.rings[ring].centre, model.plan.side)
    return model.corners[ring][_key(bearing)]


def _key(bearing_deg: float) -> float:
    return round(bearing_deg % 360.0, 6) % 360.0


def _ring(model: Model, ring: RingPlan) -> None:
    plan = model.plan
    parts: list[RodPlan | WirePlan] = [*plan.rods, *plan.wires]
    fixed = {
        _key(bearing_of(point, ring.centre, plan.side))
        for part in parts
        for name, point in _attachments(part)
        if name == ring.name
    }
    gap = None
    if ring.opening is not None:
        middle, extent = ring.opening
        gap = (_key(np.degrees(middle + extent / 2)), _key(np.degrees(middle - extent / 2)))
        fixed |= set(gap)
    bearings = sorted(fixed)
    corners: dict[float, int] = {}
    arcs = []
    for start, end in pairwise([*bearings, bearings[0] + 360.0]):
        if gap is not None and start == _key(gap[1]):
            continue
        pieces = max(1, ceil((end - start) / model.mesh.ring_deg - 1e-9))
        arcs.append([_key(start + (end - start) * k / pieces) for k in range(pieces + 1)])
    for bearing in sorted({b for arc in arcs for b in arc}):
        point = ring.centre + ring.radius * bearing_vector(bearing, plan.side)
        corners[bearing] = model.node(point)
    model.corners[ring.name] = corners
    for arc in arcs:
        model.member([corners[b] for b in arc], ring.section, "ring", upright=False)


def _attachments(part: RodPlan | WirePlan) -> list[tuple[str, Vector]]:
    if isinstance(part, WirePlan):
        return [(part.ring, point) for point in part.clamps]
    return list(zip(part.rings, part.points, strict=True))


def _bone(model: Model) -> dict[float, int]:
    """Both fragments and the arms to the gap centre; returns the axis nodes by level."""
    plan = model.plan
    proximal_end, upper_face, lower_face, distal_end = plan.bone_levels
    levels = {float(wire.axis_point[2]) for wire in plan.wires}
    stray = [z for z in levels if lower_face < z < upper_face]
    stray += [z for z in levels if not distal_end <= z <= proximal_end]
    if stray:
        raise ValueError(f"wires at levels {stray} mm pass beside the bone fragments")
    above = sorted({z for z in levels if z > 0} | {upper_face, proximal_end})
    below = sorted({z for z in levels if z < 0} | {lower_face, distal_end})
    axis = {z: model.node(np.array([0.0, 0.0, z])) for z in (*below, *above)}
    for fragment in (below, above):
        model.member([axis[z] for z in fragment], plan.bone, "bone", upright=True)
    model.bone_ends = axis[proximal_end], axis[distal_end]
    model.faces = axis[upper_face], axis[lower_face]
    centre = np.zeros(3)
    model.gap_centres = model.arm(model.faces[0], centre), model.arm(model.faces[1], centre)
    if model.mesh.support == "distal end":
        held = model.bone_ends[1]
    elif model.mesh.support == "proximal end":
        held = model.bone_ends[0]
    else:
        held = min(model.corners[model.mesh.support].values())
    ops.fix(held, 1, 1, 1, 1, 1, 1)
    return axis


def _shares(a: Vector, b: Vector, fine: float) -> list[float]:
    """Inner mesh points of a wire's piece as shares of its length.

    Elements are ``fine`` mm long at both ends, where bending dies out, and grow by GROWTH mm for
    each mm away from the nearer end.
    """
    half = 0.5 * float(np.linalg.norm(b - a))
    reach = log1p(GROWTH * half / fine)
    pieces = max(2, ceil(reach / GROWTH - 1e-9))
    rising = 0.5 * np.expm1(reach * np.arange(1, pieces + 1) / pieces) / np.expm1(reach)
    return [*rising.tolist(), *(1.0 - rising[-2::-1]).tolist()]


def _wire(model: Model, wire: WirePlan, strain: float, axis_node: int) -> None:
    s = wire.section
    tags = [next(model.materials) for _ in range(4)]
    ops.uniaxialMaterial("Elastic", tags[0], s.E * s.A)
    ops.uniaxialMaterial("InitStrainMaterial", tags[1], tags[0], strain)
    ops.uniaxialMaterial("Elastic", tags[2], s.E * s.I2)
    ops.uniaxialMaterial("Elastic", tags[3], s.G * s.J)
    rule = next(model.sections)
    parts = (tags[1], "P", tags[2], "Mz", tags[2], "My", tags[3], "T")
    ops.section("Aggregator", rule, *parts)
    ops.beamIntegration("Legendre", rule, rule, 2)

    stops = np.array([wire.clamps[0], wire.cortices[0], wire.cortices[1], wire.clamps[1]])
    chain = [model.clamps[wire.name][0]]
    held = []
    for index, (a, b) in enumerate(pairwise(stops)):
        chain += [model.node(a + (b - a) * share) for share in _shares(a, b, model.mesh.wire_mm)]
        if index < 2:
            chain.append(model.node(b))
            held.append(chain[-1])
    chain.append(model.clamps[wire.name][1])
    model.wire_elements[wire.name] = []
    for i, j in pairwise(chain):
        tag = next(model.elements)
        ops.element("dispBeamColumn", tag, i, j, FOLLOW_UP_Z, rule)
        length = float(np.linalg.norm(np.subtract(ops.nodeCoord(j), ops.nodeCoord(i))))
        model.wire_elements[wire.name].append((tag, length))

    push, turn = next(model.materials), next(model.materials)
    ops.uniaxialMaterial("Elastic", push, HOLD)
    ops.uniaxialMaterial("Elastic", turn, HOLD_TURN)
    holds = {2: push, 3: push}
    if wire.built_in:
        holds |= {5: turn, 6: turn}
    if model.mesh.hold_spin:
        holds |= {4: turn}
    across = np.cross([0.0, 0.0, 1.0], wire.direction)
    for node, cortex in zip(held, wire.cortices, strict=True):
        end = model.arm(axis_node, cortex)
        spring = ("-mat", *holds.values(), "-dir", *holds.keys())
        orient = ("-orient", *wire.direction.tolist(), *across.tolist())
        ops.element("zeroLength", next(model.elements), end, node, *spring, *orient)
