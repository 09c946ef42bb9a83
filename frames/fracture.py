"""What passes between the bone ends: through touching faces, or through callus.

Bone and frame share the load in the gap: what the faces or the callus carry along the bone, the
wires, pins and rods need not. The share of the bone is the growth of that compression over the
load's (nuts turned before may have pressed the ends together already).
"""

import numpy as np

from fem.algebra import Array
from fem.contact import ContactState
from fem.system import Response
from frames.result_parts import FacesResult
from frames.supports import Mask

SIDES = {"anterior": 0.0, "medial": 90.0, "posterior": 180.0, "lateral": 270.0}
EIGHT_SIDES = (
    "anterior",
    "anteromedial",
    "medial",
    "posteromedial",
    "posterior",
    "posterolateral",
    "lateral",
    "anterolateral",
)
"""Every 45° of bearing from 0, anterior, over 90, medial."""


def bone_compression(response: Response, case: int | None) -> float | None:
    """N along the bone between the fragments; None where nothing can pass it.

    case : row of the response, None when it has no axis of cases.
    """
    faces, late = response.contacts, response.late
    if faces is not None:
        force = faces.force if case is None else faces.force[case]
        return float(force[:, 2].sum()) + 0.0
    if late is None:
        return None
    pull = late.gradient if case is None else late.gradient[case]
    return -float(pull[0, 8]) + 0.0  # along the bone, on the proximal face


def faces_result(faces: ContactState, case: int, normal: Array) -> FacesResult:
    """The faces under one load; normal (3,) from the distal to the proximal one."""
    pressure = faces.pressure[case]
    touching = pressure > 0.0
    rubbed = faces.force[case].sum(axis=0)
    rubbed = rubbed - normal * float(normal @ rubbed)
    return FacesResult(
        pressed_N=float(pressure.sum()),
        rubbed_N=float(np.linalg.norm(rubbed)),
        touching=float(touching.mean()),
        sliding=float(faces.slipping[case][touching].mean()) if touching.any() else 0.0,
    )


def points_of_side(side: str, points: int) -> Mask:
    """(2 points,) bool: contact points of one side of the cortex, a quarter of it to either side of
    its middle; outer edge first, then inner, both by bearing from 0.
    """
    bearing = 360.0 * np.arange(points) / points
    off = np.abs((bearing - SIDES[side] + 180.0) % 360.0 - 180.0)
    return np.tile(off <= 45.0 + 1e-9, 2)
