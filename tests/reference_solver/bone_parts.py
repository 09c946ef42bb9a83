"""Bone, wires and half-pins of the fine-mesh model.

- wires: beams in a corotational frame, of ``wire_mm`` at clamps and cortices and growing in
  between, with an initial strain e in

      N = EA (strain + e),   M = EI curvature

  from clamp to clamp in one piece, never tied to the bone along their own line.
- cortex: the wire's node and the end of the bone's arm are held together by stiff springs in the
  two directions across the wire's first line; "built in" adds the two slopes, and ``hold_spin``
  the turn about the wire's own line.
- half-pins: beams from the clamp to the middle of each wall, held there by springs to the end of
  the bone's arm.
- callus: springs between the two rigid arms that reach from the faces to the gap's centre.

What is left out: the hold stays on the wire's first line and at the wire's first node, while a
bone that slides along the wire by s moves its hold by s. That is third order in the energy,
T (across)^2 s / L^2, and does not touch the stiffness without load; under load it leaves the bone
a side force and a moment as if its load stood by some tenths of a millimetre beside its place.
"""

from itertools import pairwise
from math import ceil, log1p

import numpy as np
import openseespy.opensees as ops

from .frame_parts import build_rings_and_rods
from .model import FORWARD, Mesh, Model, across, merged, place
from .plan import FramePlan, PinPlan, WirePlan
from .space import UP, Vector

HOLD = 1e7  # springs between cortex and wire, N/mm
HOLD_TURN = 1e9  # the same against slopes and spin, N mm/rad
GROWTH = 0.1  # of a wire's elements, per mm
NEAR = 0.05  # mm: levels nearer than this share a node of the bone
PIN_PIECES = 6
LEFT = np.array([0.0, 1.0, 0.0])

Axis = dict[float, int]
"""Level of a cortex -> node of the bone's axis."""


def build_frame(plan: FramePlan, mesh: Mesh) -> Model:
    """The whole frame, its wires without strain."""
    model = build_rings_and_rods(plan, mesh)
    axis = _bone(model)
    for number, wire in enumerate(plan.wires, 1):
        _wire(model, wire, number, axis)
    for pin in plan.pins:
        _pin(model, pin, axis)
    return model


def strain_wires(strains: Vector) -> None:
    """Give the wires (n_wires,) initial strains, positive taut, in the model last built."""
    for number, strain in enumerate(strains.tolist(), 1):
        ops.updateParameter(number, strain)


def _bone(model: Model) -> Axis:
    """Both fragments, the arms to the gap centre and callus."""
    plan = model.plan
    proximal_end, upper_face, lower_face, distal_end = plan.bone_levels
    levels = [float(at[2]) for part in (*plan.wires, *plan.pins) for at in part.cortices]
    stray = [z for z in levels if lower_face < z < upper_face]
    stray += [z for z in levels if not distal_end <= z <= proximal_end]
    if stray:
        raise ValueError(f"wires or pins at levels {stray} mm pass beside the bone fragments")
    axis: Axis = {}
    for ends in ((distal_end, lower_face), (upper_face, proximal_end)):
        own = [z for z in levels if ends[0] <= z <= ends[1]]
        shared = merged([*ends, *own], NEAR)
        nodes = {z: model.node(z * UP) for z in sorted(set(shared.values()))}
        model.member(nodes.values(), plan.bone, "bone")
        axis |= {z: nodes[level] for z, level in shared.items()}
    model.bone_ends = axis[proximal_end], axis[distal_end]
    model.faces = axis[upper_face], axis[lower_face]
    centre = np.zeros(3)
    model.gap_centres = model.arm(model.faces[0], centre), model.arm(model.faces[1], centre)
    if plan.callus is not None:
        c = plan.callus
        springs = dict(enumerate((c.slide, c.slide, c.close, c.bend, c.bend, c.twist), start=1))
        model.spring(model.gap_centres[1], model.gap_centres[0], springs, FORWARD, LEFT)
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


def _wire(model: Model, wire: WirePlan, number: int, axis: Axis) -> None:
    s = wire.section
    tags = [next(model.materials) for _ in range(4)]
    ops.uniaxialMaterial("Elastic", tags[0], s.E * s.A)
    ops.uniaxialMaterial("InitStrainMaterial", tags[1], tags[0], 0.0)
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
    frame = model.transformation(across(wire.direction), follow=True)
    first = 0
    for i, j in pairwise(chain):
        tag = next(model.elements)
        first = first or tag
        ops.element("dispBeamColumn", tag, i, j, frame, rule)
        length = float(np.linalg.norm(place(j) - place(i)))
        model.wire_elements[wire.name].append((tag, length))
        collect = ops.addToParameter if tag > first else ops.parameter
        collect(number, "element", tag, "material", tags[1], "epsInit")

    holds = {2: HOLD, 3: HOLD}
    if wire.built_in:
        holds |= {5: HOLD_TURN, 6: HOLD_TURN}
    if model.mesh.hold_spin:
        holds |= {4: HOLD_TURN}
    for node, cortex in zip(held, wire.cortices, strict=True):
        end = model.arm(axis[float(cortex[2])], cortex)
        model.spring(end, node, holds, wire.direction, np.cross(UP, wire.direction))


def _pin(model: Model, pin: PinPlan, axis: Axis) -> None:
    about, side = pin.turn
    stiff = dict(enumerate((pin.shift, pin.shift, pin.shift, about, side, side), start=1))
    start = model.clamps[pin.name][0]
    for cortex in pin.cortices:
        end = model.node(cortex)
        model.straight(start, end, PIN_PIECES, pin.section, "pin")
        wall = model.arm(axis[float(cortex[2])], cortex)
        model.spring(wall, end, stiff, pin.direction, np.cross(UP, pin.direction))
        start = end
