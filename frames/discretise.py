"""From places to the finite-element model, names kept from part to element.

Rings: arcs between neighbouring attachments.  Rods: beams between the rings they join, hung on the
rings by rigid arms from the section's centre line to the hole circle.  Bone: two tubes, nodes at
the faces of the gap, at each wire's level and at the ends.  Wires: four stations, the clamps on
arms from their rings, the cortices on arms from the bone's axis.  Nothing is
supported here: how the bone is held belongs to the load (``frames.supports``).
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import pi

from fem import Material, Model, ModelBuilder, Section, rectangle, solid_circle, tube
from frames.casefile.parts import Ring
from frames.construct import (
    FRAGMENTS,
    STATIONS,
    Construct,
    RingPlace,
    attachment,
    bone_levels,
    rod_name,
)

POINTS = ("knee", "proximal face", "distal face", "ankle")
"""Named points of the bone's axis: its ends and the centres of the fracture faces."""


Part = tuple[str, str]
"""Kind ("ring", "rod" or "bone") and name."""


@dataclass(frozen=True)
class Discretised:
    """model; ``owner``: node name → part ("ring R1", "proximal fragment"); ``wire_names`` in the
    model's order; ``point_node``: named point → node; ``members``: (kind, name) of a ring, rod or
    bone fragment → its members in order along it."""

    construct: Construct
    model: Model
    owner: dict[str, str]
    wire_names: tuple[str, ...]
    point_node: dict[str, str]
    members: dict[Part, tuple[str, ...]]


def discretise(place: Construct) -> Discretised:
    """Build the model of a construct."""
    build = ModelBuilder()
    owner: dict[str, str] = {}
    members: dict[Part, tuple[str, ...]] = {}
    for ring in place.rings:
        members["ring", ring.ring.name] = _ring(build, ring, owner)
    members |= _rods(build, place)
    points: dict[str, str] = {}
    for fragment in FRAGMENTS:
        ends, members["bone", fragment] = _fragment(build, place, fragment, owner)
        points |= ends
    for w in place.wires:
        hold = (w.wire.bone_hold or place.case.model.bone_hold) == "built in"
        E, _ = w.wire.elastic
        d = w.wire.diameter_mm
        build.wire(
            w.wire.name,
            [attachment(w.wire.name, s) for s in STATIONS],
            (True, hold, hold, True),
            EA=E * pi * d**2 / 4.0,
            EI=E * pi * d**4 / 64.0,
        )
    wire_names = tuple(w.wire.name for w in place.wires)
    return Discretised(place, build.build(), owner, wire_names, points, members)


@lru_cache(maxsize=128)
def _ring_section(width: float, thickness: float, nu: float, factor: float, name: str) -> Section:
    return rectangle(width, thickness, nu, name).scaled(factor)


def ring_section(ring: Ring) -> Section:
    """Radial width along the section's y, thickness along z, with the share left by the holes."""
    return _ring_section(
        ring.width_mm, ring.thickness_mm, ring.elastic[1], ring.section_factor, f"ring {ring.name}"
    )


def _material(elastic: tuple[float, float], name: str) -> Material:
    return Material(E=elastic[0], nu=elastic[1], name=name)


def _ring(build: ModelBuilder, place: RingPlace, owner: dict[str, str]) -> tuple[str, ...]:
    ring = place.ring
    part = f"ring {ring.name}"
    nodes = [build.node(f"{part} node {i + 1}", place.point(i)) for i in range(len(place.angles))]
    owner |= dict.fromkeys(nodes, part)
    section, material = ring_section(ring), _material(ring.elastic, part)
    names = []
    for i, j in place.spans():
        name = f"{part} from node {i + 1} to {j + 1}"
        names.append(name)
        build.arc(name, nodes[i], nodes[j], place.centre, (0.0, 0.0, 1.0), section, material)
    return tuple(names)


def _rods(build: ModelBuilder, place: Construct) -> dict[Part, tuple[str, ...]]:
    members: dict[Part, tuple[str, ...]] = {}
    ring_place = {r.ring.name: r for r in place.rings}
    for number, r in enumerate(place.rods):
        name = rod_name(number, r)
        section = solid_circle(r.rod.effective_diameter_mm, r.rod.elastic[1], name)
        material = _material(r.rod.elastic, name)
        ends = []
        for ring, point in zip(r.rings, r.points, strict=True):
            here = attachment(name, f"in {ring}")
            ends.append(build.node(here, point))
            build.arm(here, f"ring {ring} node {ring_place[ring].node_of[here] + 1}")
        pieces = [f"{name}, {a} to {b}" for a, b in pairwise(r.rings)]
        for piece, (a, b) in zip(pieces, pairwise(ends), strict=True):
            build.beam(piece, a, b, section, material, column=True)
        members["rod", name] = tuple(pieces)
    return members


def _fragment(
    build: ModelBuilder, place: Construct, fragment: str, owner: dict[str, str]
) -> tuple[dict[str, str], tuple[str, ...]]:
    """Named points of the bone → nodes, and the members from gap to end."""
    bone = place.case.bone
    levels, node_of = bone_levels(place, fragment)
    nodes = [
        build.node(f"{fragment} at {level:.2f} mm ({i + 1})", (0.0, 0.0, level))
        for i, level in enumerate(levels)
    ]
    owner |= dict.fromkeys(nodes, fragment)
    section = tube(bone.outer_mm, bone.inner_mm, bone.nu, fragment)
    material = Material(E=bone.E_MPa, nu=bone.nu, name=fragment)
    names = [
        f"{fragment} from {levels[i]:.2f} to {levels[i + 1]:.2f} mm ({i + 1})"
        for i in range(len(nodes) - 1)
    ]
    for i, name in enumerate(names):
        build.beam(name, nodes[i], nodes[i + 1], section, material, column=True)
    for w in place.wires:
        if w.fragment != fragment:
            continue
        for k in (1, 2):
            cortex = build.node(attachment(w.wire.name, STATIONS[k]), w.stations[k])
            build.arm(cortex, nodes[node_of[w.wire.name]])
        for k in (0, 3):
            clamp = build.node(attachment(w.wire.name, STATIONS[k]), w.stations[k])
            ring = next(r for r in place.rings if r.ring.name == w.wire.ring)
            build.arm(clamp, f"ring {w.wire.ring} node {ring.node_of[clamp] + 1}")
    face, end = ("proximal face", "knee") if fragment == FRAGMENTS[1] else ("distal face", "ankle")
    return {face: nodes[0], end: nodes[-1]}, tuple(names)
