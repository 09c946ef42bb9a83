"""Movement and stiffness at the fracture gap.

Relative motion of the proximal to the distal face, both carried rigidly to the gap's centre (the
origin):

    Δ = (u_p - θ_p × X_p) - (u_d - θ_d × X_d),      Δθ = θ_p - θ_d.

Equal and opposite unit forces and moments at the gap's centre on the two faces are the transpose of
this, so C = Dᵀ H⁻¹ D is the 6 × 6 compliance, its inverse the stiffness.  No outside support
enters: the held freedoms take no reaction.

Anatomical axes (anterior, medial, proximal).  Translations are positive that way.  Rotations are
positive when they turn: about the anterior axis medial towards proximal; about the medial axis
proximal towards anterior; about the long axis anterior towards medial.  On a right leg that is the
right-handed sense of (x, y, z); on a left leg, its mirror image, y and the turns about x and z
change sign, so that mirrored frames give the same numbers.

The named stiffnesses are 1 / C_ii, the other motions being free: axial and the two shears in N/mm;
bending in the sagittal plane (about the medial axis, "ap"), in the coronal plane (about the
anterior axis, "ml") and torsion in N·m/deg.
"""

from math import pi

import numpy as np

from fem import System, compliance
from fem.algebra import Array
from fem.mechanisms import Factor
from frames.bone_points import BonePoints, bone_points
from frames.discretise import Discretised
from frames.quantities import STIFFNESSES
from frames.supports import Mask

NM_PER_DEG = pi / 180.0 / 1000.0
"""N·m/deg of one N·mm/rad."""

_AXIS = {
    "axial_N_per_mm": 2,
    "shear_ap_N_per_mm": 0,
    "shear_ml_N_per_mm": 1,
    "bending_ap_Nm_per_deg": 4,
    "bending_ml_Nm_per_deg": 3,
    "torsion_Nm_per_deg": 5,
}
AXIS_OF = {name: _AXIS[name] for name in STIFFNESSES}
"""Row of the compliance behind each named stiffness."""


def mirror(sign: float) -> Array:
    """(6,) signs from global to anatomical components of a motion or a wrench."""
    return np.array([1.0, sign, 1.0, sign, 1.0, sign])


def gap_directions(parts: Discretised, system: System) -> Array:
    """(n, 6) D: loads on the kept freedoms of unit relative forces and moments, anatomical order;
    Dᵀu is the movement."""
    return gap_motion(bone_points(parts, system))


def gap_motion(bone: BonePoints) -> Array:
    """(n, 6) D of ``gap_directions``."""
    D = np.zeros((bone.size, 6))
    for face, way in (("proximal face", 1.0), ("distal face", -1.0)):
        x, y, z = bone.places[face]
        carry = np.eye(6)  # motion of the face's own centre → at the origin: u - θ × X
        carry[:3, 3:] = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
        D[bone.dofs[face]] += way * carry.T
    return np.asarray(D * mirror(bone.sign))


def gap_compliance(
    parts: Discretised,
    system: System,
    tangent: Array,
    state: str,
    held: Mask,
    factor: Factor | None = None,
) -> Array:
    """(6, 6) C at a state with ``tangent`` (n, n): mm/N, rad/(N·mm); anatomical axes.

    held : (n,) see ``frames.supports``.  factor : of the tangent, when it is there already.
    """
    D = gap_directions(parts, system)
    return compliance(system, tangent, D, state, held=held, factor=factor)


def named_stiffnesses(C: Array) -> dict[str, float]:
    """The six stiffnesses of a compliance."""
    return {
        name: float(1.0 / C[i, i]) * (NM_PER_DEG if i > 2 else 1.0) for name, i in AXIS_OF.items()
    }
