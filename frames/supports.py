"""How the bone is held while it is loaded: always statically determinate, so that supports strain
nothing.

Axial loads run along the line from knee to ankle: the distal end stays in place and does not twist,
the proximal end is guided on the line; both may tilt, as joints let them. Forces and moments at a
point act while the distal end is held altogether. Without axial load the choice changes nothing at
the gap; under axial load it decides how far the load's own line takes part in tilting the bone
(P-Δ).
"""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from fem import FREEDOMS, System
from frames.bone_points import BonePoints, bone_points
from frames.discretise import Discretised

Mask = NDArray[np.bool_]

AT_ANKLE = {"ankle": FREEDOMS}
ON_LINE = {"ankle": ("ux", "uy", "uz", "rz"), "knee": ("ux", "uy")}


def held_at_ankle(parts: Discretised, system: System) -> Mask:
    """(n,) all freedoms of the distal end of the bone."""
    return held_at(bone_points(parts, system), AT_ANKLE)


def held_on_line(parts: Discretised, system: System) -> Mask:
    """(n,) place and twist of the distal end, sideways place of the proximal end."""
    return held_at(bone_points(parts, system), ON_LINE)


def held_at(bone: BonePoints, freedoms: Mapping[str, Sequence[str]]) -> Mask:
    """(n,) freedoms by their point: ``AT_ANKLE`` or ``ON_LINE``."""
    mask = np.zeros(bone.size, dtype=bool)
    for point, names in freedoms.items():
        mask[bone.dofs[point][[FREEDOMS.index(f) for f in names]]] = True
    return mask
