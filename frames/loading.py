"""Load cases as forces on the model.

Every load is a balanced pair: what acts on the proximal fragment is borne at the ankle, what acts
on the distal one at the knee.  An axial load P (compression positive) acts on the knee end along a
line that may be offset from the bone's axis, and is borne at the ankle end along the same line.
How the ends are held meanwhile: ``frames.supports``.
"""

from dataclasses import dataclass

import numpy as np

from fem import System
from fem.algebra import Array
from frames.bone_points import BonePoints, bone_points
from frames.casefile import Load
from frames.discretise import Discretised
from frames.gap import mirror
from frames.supports import AT_ANKLE, ON_LINE, Mask, held_at


@dataclass(frozen=True)
class LoadVector:
    """force (n,) on the kept freedoms, N and N·mm, global axes; wrench (6,) that passes through the
    gap about its centre, anatomical axes, positive as it acts on the proximal face; axial_N:
    compression, None for a wrench; held (n,): freedoms supported while it acts."""

    name: str
    force: Array
    wrench: Array
    axial_N: float | None
    held: Mask


def load_vector(load: Load, parts: Discretised, system: System) -> LoadVector:
    """Forces of one load case."""
    return load_on(load, bone_points(parts, system))


def load_on(load: Load, bone: BonePoints) -> LoadVector:
    """Forces of one load case on the named points of the bone."""
    case, sign = bone.case, bone.sign
    axial = load.axial_force_N(case.case.body_mass_kg) if load.is_axial else None
    if axial is not None:
        at = "knee"
        anterior, medial = load.offset_mm
        force = np.array([0.0, 0.0, -axial])
        moment = np.cross([anterior, sign * medial, 0.0], force)
        given = np.concatenate([force, moment])
    else:
        at = load.at
        anatomical = np.array([*(load.force_N or (0.0,) * 3), *(load.moment_Nm or (0.0,) * 3)])
        given = anatomical * mirror(sign) * np.array([1.0, 1.0, 1.0, 1e3, 1e3, 1e3])
    vector = np.zeros(bone.size)
    on = bone.places[at]
    vector[bone.dofs[at]] += given
    if axial is not None:  # borne along the same line; what is held there takes its part anyway
        vector[bone.dofs["ankle"]] -= given
    proximal = at in ("knee", "proximal face")
    if not proximal:  # borne at the knee
        vector[bone.dofs["knee"]] -= _carry(given, on - bone.places["knee"])
    through = _carry(given, on) * (1.0 if proximal else -1.0)
    held = held_at(bone, ON_LINE if axial is not None else AT_ANKLE)
    return LoadVector(load.name, vector, through * mirror(sign), axial, held)


def _carry(wrench: Array, arm: Array) -> Array:
    """The same wrench about a point that lies ``-arm`` away: M + arm × F."""
    return np.concatenate([wrench[:3], wrench[3:] + np.cross(arm, wrench[:3])])
