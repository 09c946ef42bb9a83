"""The smallest ring to hand that leaves the room asked for, and where its centre goes.

The swollen skin at the levels of the rings, moved outwards by the room asked for in each direction,
is a set of points P_k; a ring of inner radius R about c leaves that room when |P_k - c| <= R for
all. The smallest such circle is sought by minimising R under these bounds (convex, SLSQP). The bone
lies forward and more room is asked for behind, so c comes out behind the bone axis by itself. All
rings are of one size about one line, so that rods run straight.
"""

from collections.abc import Sequence

import numpy as np
from scipy.optimize import minimize

from fem.algebra import Array
from frames.casefile import CaseError, Problem
from frames.casefile.limb import Limb, Room
from frames.fracture import SIDES
from frames.limb_outline import Outline

STEP_DEG = 4.0


def enclosing_circle(points: Array) -> tuple[Array, float]:
    """Centre (2,) and radius of the smallest circle round points (k, 2)."""
    start = points.mean(axis=0)
    reach = float(np.linalg.norm(points - start, axis=1).max())
    found = minimize(
        lambda x: x[2],
        np.array([*start, reach]),
        jac=lambda x: np.array([0.0, 0.0, 1.0]),
        constraints={
            "type": "ineq",
            "fun": lambda x: x[2] ** 2 - np.sum((points - x[:2]) ** 2, axis=1),
            "jac": lambda x: np.column_stack(
                [2.0 * (points - x[:2]), np.full(len(points), 2.0 * x[2])]
            ),
        },
        method="SLSQP",
        options={"maxiter": 200, "ftol": 1e-10},
    )
    centre = found.x[:2]
    return centre, float(np.linalg.norm(points - centre, axis=1).max())


def wanted_points(limb: Sequence[Limb], room: Room, levels: Sequence[float]) -> Array:
    """(k, 2) anterior, medial: the swollen skin at the rings' levels with the room asked for.

    At a border between two directions the larger room counts for both.
    """
    outline = Outline(
        tuple(sorted(limb, key=lambda one: one.level_mm)),
        room.swelling_mm or 0.0,
        (room.swelling_percent or 0.0) / 100.0,
    )
    low, high = outline.span_mm
    bearing = np.arange(0.0, 360.0, STEP_DEG)
    asked = np.zeros_like(bearing)
    sides = {"anterior": room.front_mm, "posterior": room.back_mm}
    for side, middle in SIDES.items():
        off = np.abs((bearing - middle + 180.0) % 360.0 - 180.0)
        own = np.where(off <= 45.0 + STEP_DEG, sides.get(side, room.side_mm), 0.0)
        asked = np.maximum(asked, own)
    way = np.column_stack([np.cos(np.radians(bearing)), np.sin(np.radians(bearing))])
    r = [outline.radius(min(max(z, low), high), bearing) + asked for z in levels]
    return np.concatenate([own[:, None] * way for own in r])


def ring_size(
    points: Array, sizes: Sequence[float], thick_mm: float = 0.5
) -> tuple[float, tuple[float, float]]:
    """Inner diameter and centre (anterior, medial), mm. Raises ``CaseError`` when none is large
    enough; thick_mm: spare room for what sampling leaves out."""
    centre, radius = enclosing_circle(points)
    need = 2.0 * (radius + thick_mm)
    fitting = [s for s in sorted(sizes) if s >= need]
    if not fitting:
        raise CaseError(
            [
                Problem(
                    "parts, ring_sizes_mm",
                    f"the largest ring is too small: the swollen leg with the room asked for needs "
                    f"an inner diameter of {need:.0f} mm",
                    max(sizes),
                )
            ]
        )
    return fitting[0], (round(float(centre[0]), 1), round(float(centre[1]), 1))
