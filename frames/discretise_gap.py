"""What lies in the fracture gap: nothing, callus, or faces that may touch.

**Callus** is a beam between the centres of the two faces, a tube with its own diameters and modulus
E. Its length is the gap g; a callus of another thickness h stands for it with the modulus E g / h.
Stretch, turn, twist and shear of a tube under a given force are proportional to length / modulus,

    F h / EA = F g / E'A,   M h / EI = M g / E'I,   V h / GA_s = V g / G'A_s,   E' = E g / h,

so all of these are those of the thickness h; only the bending under a shear force, h² against g²,
is not, and beside the shear itself it is small while callus is shorter than it is wide. The beam is
no column: its chord turns by as much as it shears, and a fibre's length is not the chord's. It
grows in the frame as it stands before load and is free of force there (``fem.late``,
``frames.pretension``).

**Contact**: the faces meet at points at equal bearings on the outer edge of the cortex and as many
on its inner edge, in the middle of the gap. A plane oblique by φ towards the bearing β rises
there, with the normal from the distal to the proximal face

    n = cos φ z - sin φ t,   t = (cos β, sign sin β, 0);

its points have the x and y of the two circles. The gap along n is g cos φ when the bone is square
on its axis. With N points on each edge, sharing the area A evenly, the faces carry bending like
k Σ y² = k (N r_o² + N r_i²) / 2, that is with A (r_o² + r_i²) / 4 = I of the tube. A layer of bone
of thickness l gives in: k_n = E A / l for all points together, k_t = k_n G / E.
"""

import math

import numpy as np

from fem import Material, ModelBuilder, tube
from fem.algebra import Array
from frames.casefile.bone import Bone, Contact
from frames.construct import Construct
from frames.wire_line import unit_direction


def add_gap(build: ModelBuilder, place: Construct, distal: str, proximal: str) -> tuple[str, ...]:
    """Callus or contact between the faces' nodes; names of the members of the callus."""
    bone = place.case.bone
    if bone.callus is not None:
        return _callus(build, bone, distal, proximal)
    if bone.contact is not None:
        _contact(build, bone, bone.contact, place.sign, distal, proximal)
    return ()


def _callus(build: ModelBuilder, bone: Bone, distal: str, proximal: str) -> tuple[str, ...]:
    assert bone.callus is not None
    outer, inner, thickness = bone.callus_tube
    E = bone.callus.E_MPa * bone.gap_mm / thickness
    section = tube(outer, inner, bone.callus.nu, "callus")
    material = Material(E, bone.callus.nu, "callus")
    build.beam("callus", distal, proximal, section, material, late=True)
    return ("callus",)


def _contact(
    build: ModelBuilder, bone: Bone, contact: Contact, sign: float, distal: str, proximal: str
) -> None:
    normal = fracture_normal(contact, sign)
    gap = bone.gap_mm * math.cos(math.radians(contact.obliquity_deg))
    area = math.pi * (bone.outer_mm**2 - bone.inner_mm**2) / 4.0
    k_n = bone.E_MPa * area / contact.layer_mm / (2 * contact.points)
    k_t = k_n / (2.0 * (1.0 + bone.nu))
    for edge, diameter in (("outer", bone.outer_mm), ("inner", bone.inner_mm)):
        for k in range(contact.points):
            bearing = 360.0 * k / contact.points
            dx, dy = unit_direction(sign, bearing)
            x, y = diameter / 2.0 * dx, diameter / 2.0 * dy
            z = -(normal[0] * x + normal[1] * y) / normal[2]
            build.contact(
                f"faces at {bearing:g}°, {edge} edge",
                distal,
                proximal,
                (x, y, float(z)),
                normal,
                gap,
                k_n,
                k_t,
                contact.friction,
            )


def fracture_normal(contact: Contact, sign: float) -> Array:
    """(3,) unit normal of the fracture plane, from the distal to the proximal face."""
    tilt = math.radians(contact.obliquity_deg)
    tx, ty = unit_direction(sign, contact.obliquity_bearing_deg)
    return np.array([-math.sin(tilt) * tx, -math.sin(tilt) * ty, math.cos(tilt)])
