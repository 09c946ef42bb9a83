"""The named points of the bone in a system: where loads act, supports hold and the gap opens."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem import System
from fem.algebra import Array
from frames.casefile import Case
from frames.discretise import POINTS, Discretised


@dataclass(frozen=True)
class BonePoints:
    """Of one frame. case, sign: as ``frames.construct.Construct``; size: number of freedoms of its
    system; dofs: (6,) places of each point's freedoms among them; places: (3,) mm of each point.
    """

    case: Case
    sign: float
    size: int
    dofs: dict[str, NDArray[np.intp]]
    places: dict[str, Array]


def bone_points(parts: Discretised, system: System) -> BonePoints:
    """Of a frame and its system."""
    model, node = parts.model, parts.point_node
    return BonePoints(
        parts.construct.case,
        parts.construct.sign,
        system.size,
        {p: system.dofs(node[p]) for p in POINTS},
        {p: np.asarray(model.points[model.node(node[p])]) for p in POINTS},
    )
