"""Rings, rods, posts and clamps of the fine-mesh model: the part that gives under tension.

- rings: polygons of at most ``ring_deg`` with their corners on the centre line, a corner at every
  attachment; two corners at each cut of a ring in halves, joined by springs.
- rods: from hole to hole, hung on the ring's corners by rigid arms, springs at ends that turn.
- clamps: on rigid arms from the ring's corners, or on posts.

Why rings must be corotational. A ring in equilibrium with its wires carries the reaction of their
tension. Turned by a small angle t about the bone, a wire whose clamps move by R t along straight
lines is stretched by R t^2, which costs T R t^2: a ring that follows small displacements only is
held to the ground by 2 T R for each wire, although a rigid turn of the whole frame is free. The
ring's own second-order shortening cancels it, and only ``corotational`` members have it. With
"linear" members torsion, bending and shear at the gap depend on where the frame is supported
(torsion by a factor of 1.6 in the frames tried); axial stiffness does not, where nothing turns.
"""

from dataclasses import replace
from itertools import pairwise
from math import ceil

import numpy as np

from .geometry import SHORTEST_POST
from .model import Mesh, Model, across, new_model, place
from .plan import FramePlan, PinPlan, RingPlan, RodPlan, WirePlan
from .space import Vector

ROD_PIECES = 8  # elements in one bay of a rod when members are corotational
POST_PIECES = 4
FACES = 1e7  # joints of halves against shifting, N/mm
END = 1e8  # ends of rods: N/mm, and N mm/rad about the rod


def build_rings_and_rods(plan: FramePlan, mesh: Mesh) -> Model:
    """A new model with rings, rods and clamps."""
    model = new_model(plan, mesh)
    for ring in plan.rings.values():
        _ring(model, ring)
    for rod in plan.rods:
        _rod(model, rod)
    for wire in plan.wires:
        model.clamps[wire.name] = tuple(_clamp(model, wire, point) for point in wire.clamps)
    for pin in plan.pins:
        model.clamps[pin.name] = (_clamp(model, pin, pin.clamp),)
    return model


def _corner(model: Model, ring: str, point: Vector) -> int:
    """Node of a ring's centre line at the bearing of ``point``."""
    return model.corners[ring][_key(model.plan.rings[ring].bearing(point))]


def _key(bearing_deg: float) -> float:
    return round(bearing_deg % 360.0, 6) % 360.0


def _ring(model: Model, ring: RingPlan) -> None:
    fixed = {_key(ring.bearing(point)) for point in model.plan.on_ring(ring.name)}
    cuts = {_key(bearing): turning for bearing, turning in ring.cuts.items()}
    if fixed & set(cuts):
        raise ValueError(f"ring {ring.name}: the reference model knows nothing on a joint")
    fixed |= set(cuts)
    gap = None
    if ring.opening is not None:
        middle, extent = ring.opening
        gap = (_key(np.degrees(middle + extent / 2)), _key(np.degrees(middle - extent / 2)))
        fixed |= set(gap)
    bearings = sorted(fixed)
    arcs = []
    for start, end in pairwise([*bearings, bearings[0] + 360.0]):
        if gap is not None and start == _key(gap[1]):
            continue
        pieces = max(1, ceil((end - start) / model.mesh.ring_deg - 1e-9))
        arcs.append([_key(start + (end - start) * k / pieces) for k in range(pieces + 1)])
    corners = {
        bearing: model.node(ring.at(bearing, ring.radius))
        for bearing in sorted({b for arc in arcs for b in arc})
    }
    model.corners[ring.name] = corners
    behind = corners | {bearing: model.node(ring.at(bearing, ring.radius)) for bearing in cuts}
    for arc in arcs:
        nodes = [corners[arc[0]], *(behind[b] for b in arc[1:])]
        model.member(nodes, ring.section, "ring", up=ring.normal)
    for bearing, turning in cuts.items():
        stiff = dict(enumerate((FACES, FACES, FACES, *turning), start=1))
        axes = ring.towards(bearing + 90.0), ring.towards(bearing)
        model.spring(behind[bearing], corners[bearing], stiff, *axes)


def _rod(model: Model, rod: RodPlan) -> None:
    holes = [
        model.arm(_corner(model, name, point), point)
        for name, point in zip(rod.rings, rod.points, strict=True)
    ]
    ends = list(holes)
    if rod.end_turn is not None:
        for k, inward in ((0, 1), (-1, -2)):
            along = rod.points[inward] - rod.points[k]
            ends[k] = model.node(rod.points[k])
            turning = (END, rod.end_turn, rod.end_turn)
            stiff = dict(enumerate((END, END, END, *turning), start=1))
            model.spring(holes[k], ends[k], stiff, along, np.cross(across(along), along))
    for i, j in pairwise(ends):
        s = rod.section
        if rod.axial is not None:
            s = replace(s, A=rod.axial * float(np.linalg.norm(place(j) - place(i))) / s.E)
        model.straight(i, j, ROD_PIECES, s, "rod")


def _clamp(model: Model, part: WirePlan | PinPlan, point: Vector) -> int:
    """Node of a clamp at ``point`` (3,)."""
    ring = model.plan.rings[part.ring]
    corner, height = _corner(model, ring.name, point), ring.height(point)
    if part.post is None or abs(height) < SHORTEST_POST:
        return model.arm(corner, point)
    foot = model.arm(corner, point - height * ring.normal)
    clamp = model.node(point)
    model.straight(foot, clamp, POST_PIECES, part.post, "rod")
    return clamp
