"""Rings as arcs between their nodes, and the joints of rings in halves.

Where halves meet, two nodes at one place are joined by an elastic joint along and about the
tangent, the radius and the ring's axis. Bolted faces do not shift: 1e6 N/mm each way, some ten
times the stretching stiffness EA / l of the piece of ring between two neighbouring rods
(``tests/frames/test_halves.py`` measures that ten times as much changes nothing). They turn like
20 mm of the ring's own section, EI / 20 mm about the ring's axis and about the radius, each with
the second moment that belongs to it, and GJ / 20 mm about the tangent (own convention, no source);
or, about all three, by the case file's joint_Nm_per_deg. Inside the play a joint turns freely about
the ring's axis and about the radius. A hinge turns freely about the ring's axis, whatever else
holds.
"""

from functools import lru_cache

import numpy as np

from fem import Material, ModelBuilder, Section, rectangle
from fem.algebra import Array
from frames.casefile.parts import Ring
from frames.casefile.rings import NMM_PER_RAD
from frames.ring_nodes import RingPlace

FACES_N_PER_MM = 1e6
JOINT_MM = 20.0


@lru_cache(maxsize=128)
def _ring_section(width: float, thickness: float, nu: float, factor: float, name: str) -> Section:
    return rectangle(width, thickness, nu, name).scaled(factor)


def ring_section(ring: Ring) -> Section:
    """Radial width along the section's y, thickness along z, with the share left by the holes."""
    return _ring_section(
        ring.width_mm, ring.thickness_mm, ring.elastic[1], ring.section_factor, f"ring {ring.name}"
    )


def add_ring(build: ModelBuilder, place: RingPlace, owner: dict[str, str]) -> tuple[str, ...]:
    """Nodes, arcs and joints of a ring; the names of its arcs, in the sense of growing angle."""
    ring = place.ring
    part = f"ring {ring.name}"
    nodes = [build.node(place.node_name(i), place.point(i)) for i in range(len(place.angles))]
    owner |= dict.fromkeys(nodes, part)
    section = ring_section(ring)
    material = Material(E=ring.elastic[0], nu=ring.elastic[1], name=part)
    names = []
    for i, j in place.spans():
        name = f"{part} from node {i + 1} to {j + 1}"
        names.append(name)
        build.arc(name, nodes[i], nodes[j], place.centre, place.normal, section, material)
    for number, (i, j) in enumerate(place.joints):
        turning = joint_turning(ring, section, material)
        if ring.halves == "hinged" and number == 0:
            turning[2] = 0.0
        play = np.radians(ring.joint_play_deg)
        out = place.outward(i)
        build.joint(
            f"{part} joint {number + 1}",
            nodes[i],
            nodes[j],
            [*[FACES_N_PER_MM] * 3, *turning],
            [0.0, 0.0, 0.0, 0.0, play, play],
            [-np.cross(place.normal, out), out, place.normal],
        )
    return tuple(names)


def joint_turning(ring: Ring, section: Section, material: Material) -> Array:
    """(3,) N·mm/rad of a bolted joint about the tangent, the radius and the ring's axis."""
    if ring.joint_Nm_per_deg is not None:
        return np.full(3, ring.joint_Nm_per_deg * NMM_PER_RAD)
    E, G = material.E, material.G
    return np.array([G * section.J, E * section.I_y, E * section.I_z]) / JOINT_MM
