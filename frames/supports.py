"""How the bone is held while it is loaded: always statically determinate, so that supports strain
nothing.

Axial loads run along the line from knee to ankle: the distal end stays in place and does not twist,
the proximal end is guided on the line; both may tilt, as joints let them. Forces and moments at a
point act while the distal end is held altogether. Without axial load the choice changes nothing at
the gap; under axial load it decides how far the load's own line takes part in tilting the bone
(P-Δ).
"""

import numpy as np
from numpy.typing import NDArray

from fem import FREEDOMS, System
from frames.discretise import Discretised

Mask = NDArray[np.bool_]


def held_at_ankle(parts: Discretised, system: System) -> Mask:
    """(n,) all freedoms of the distal end of the bone."""
    return _held(parts, system, {"ankle": FREEDOMS})


def held_on_line(parts: Discretised, system: System) -> Mask:
    """(n,) place and twist of the distal end, sideways place of the proximal end."""
    return _held(parts, system, {"ankle": ("ux", "uy", "uz", "rz"), "knee": ("ux", "uy")})


def _held(parts: Discretised, system: System, points: dict[str, tuple[str, ...]]) -> Mask:
    mask = np.zeros(system.size, dtype=bool)
    for point, freedoms in points.items():
        mask[system.dofs(parts.point_node[point])[[FREEDOMS.index(f) for f in freedoms]]] = True
    return mask
