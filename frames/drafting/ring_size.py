"""The smallest ring to hand that leaves the room asked for, and where its centre goes.

The swollen skin at the levels of the rings, moved outwards by the room asked for in each direction,
is a set of points P_k; a ring of inner radius R about c leaves that room when |P_k - c| <= R for
all. The smallest such circle is sought by minimising R under these bounds (convex, SLSQP). The bone
lies forward and more room is asked for behind, so c comes out behind the bone axis by itself.

All rings are of one size about one line, so that rods run straight: at the levels measured between
the outermost rings the rods, which stand further out than the rings' inner edge by half of a width
less half of a rod, have to leave the same room. A tilted ring is taken in its own plane
(``frames.drafting.slant``).
"""

from collections.abc import Sequence

import numpy as np
from scipy.optimize import minimize

from fem.algebra import Array
from frames.casefile import CaseError, Problem
from frames.casefile.limb import Room
from frames.drafting.slant import PlannedRing, skin_at
from frames.fracture import SIDES
from frames.limb_outline import Outline
from frames.part_sizes import RING_SECTION_MM

STEP_DEG = 4.0
ROD_INSIDE_MM = RING_SECTION_MM[0] / 2.0 - 3.0
"""How far the surface of a rod (M6) stands outside the inner edge of its rings."""


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


def wanted_points(outline: Outline, room: Room, rings: Sequence[PlannedRing]) -> Array:
    """(k, 2) anterior, medial: the swollen skin at the rings, and between them at the rods, with
    the room asked for.

    At a border between two directions the larger room counts for both.
    """
    bearing = np.arange(0.0, 360.0, STEP_DEG)
    asked = _asked(room, bearing)
    way = np.column_stack([np.cos(np.radians(bearing)), np.sin(np.radians(bearing))])
    found = []
    for ring in rings:
        slope = np.tan(np.radians(ring.tilt_deg)) * way[:, 1]
        for face in (-RING_SECTION_MM[1] / 2.0, RING_SECTION_MM[1] / 2.0):
            r = skin_at(outline, np.full_like(bearing, ring.level_mm + face), bearing)
            for _ in range(3):  # at the level at which the ring passes this far out
                r = skin_at(outline, ring.level_mm + face + (r + asked) * slope, bearing)
            own = (r + asked)[:, None] * way
            found.append(own / [1.0, np.cos(np.radians(ring.tilt_deg))])
    low, high = (f(one.level_mm for one in rings) for f in (min, max))
    for level in outline.levels_mm:
        if low < level < high:
            r = skin_at(outline, np.full_like(bearing, level), bearing) + asked - ROD_INSIDE_MM
            found.append(r[:, None] * way)
    return np.concatenate(found)


def _asked(room: Room, bearing: Array) -> Array:
    asked = np.zeros_like(bearing)
    sides = {"anterior": room.front_mm, "posterior": room.back_mm}
    for side, middle in SIDES.items():
        off = np.abs((bearing - middle + 180.0) % 360.0 - 180.0)
        own = np.where(off <= 45.0 + STEP_DEG, sides.get(side, room.side_mm), 0.0)
        asked = np.maximum(asked, own)
    return asked


def ring_size(
    points: Array, sizes: Sequence[float], spare_mm: float = 0.5
) -> tuple[float, tuple[float, float]]:
    """Inner diameter and centre (anterior, medial), mm. Raises ``CaseError`` when none is large
    enough; spare_mm: spare room for what sampling leaves out."""
    centre, radius = enclosing_circle(points)
    need = 2.0 * (radius + spare_mm)
    fitting = [s for s in sorted(sizes) if s >= need]
    if not fitting:
        raise CaseError(
            [
                Problem(
                    "parts, ring_sizes_mm",
                    f"the largest ring is too small: the swollen leg with the room asked for needs "
                    f"an inner diameter of {need:.0f} mm. Take larger rings, or ask for less room",
                    max(sizes),
                )
            ]
        )
    return fitting[0], (round(float(centre[0]), 1), round(float(centre[1]), 1))
