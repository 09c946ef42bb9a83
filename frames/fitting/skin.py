"""How far a point is from the skin.

At the point's own level the outline of the leg is the closed curve r(β) about the bone axis
(``frames.limb_outline``). With the point at the bearing β0 and the distance ρ from the axis,

    gap² = min over β of  ρ² + r(β)² - 2 ρ r(β) cos(β - β0),

negative where the point lies inside the leg. The leg's taper along the bone is left out: for a
taper of 1 in 5 the true distance is 2 % shorter. The minimum is sampled within ``REACH_DEG`` to
either side every 2.5 degrees, and refined by the parabola through the three lowest.
"""

import numpy as np

from fem.algebra import Array
from frames.limb_outline import Outline

REACH_DEG = 60.0
_OFF: Array = np.linspace(-REACH_DEG, REACH_DEG, 49)


def polar(points: Array, sign: float) -> tuple[Array, Array, Array]:
    """Distance from the bone axis (mm), bearing (degrees, 0 to 360) and level (mm) of points
    (..., 3) in x, y, z; sign +1 on a right leg."""
    x, y, z = points[..., 0], sign * points[..., 1], points[..., 2]
    return np.hypot(x, y), np.degrees(np.arctan2(y, x)) % 360.0, z


def skin_gap(outline: Outline, points: Array, sign: float) -> Array:
    """(...,) mm from points (..., 3) to the skin, negative inside the leg; NaN where the leg was
    not measured."""
    rho, bearing, level = polar(points, sign)
    r = outline.radius(level[..., None], bearing[..., None] + _OFF)
    apart = rho[..., None] ** 2 + r**2 - 2.0 * rho[..., None] * r * np.cos(np.radians(_OFF))
    known = np.asarray(np.isfinite(apart).all(axis=-1))
    safe = np.where(known[..., None], apart, 0.0)
    lowest = np.clip(safe.argmin(axis=-1), 1, len(_OFF) - 2)
    a, b, c = (np.take_along_axis(safe, lowest[..., None] + k, -1)[..., 0] for k in (-1, 0, 1))
    bend = a - 2.0 * b + c
    drop = np.where(bend > 0.0, (a - c) ** 2 / (8.0 * np.where(bend > 0.0, bend, 1.0)), 0.0)
    nearest = np.minimum(b - drop, safe.min(axis=-1))
    gap = np.sqrt(np.maximum(nearest, 0.0))
    here = outline.radius(level, bearing)
    return np.where(known, np.where(rho < here, -gap, gap), np.nan)


def through_skin(
    outline: Outline, inner: Array, outer: Array, sign: float
) -> tuple[float, float] | None:
    """Bearing and level at which the line from inner (3,), in the bone, to outer (3,) leaves the
    leg; None where it does not, or where the leg was not measured."""
    low, high = 0.0, 1.0
    for share in (low, high):
        rho, bearing, level = polar(inner + share * (outer - inner), sign)
        r = float(outline.radius(level, bearing))
        if not np.isfinite(r) or (share == high and rho < r):
            return None
    for _ in range(40):
        share = (low + high) / 2.0
        rho, bearing, level = polar(inner + share * (outer - inner), sign)
        r = float(outline.radius(level, bearing))
        if not np.isfinite(r):
            return None
        low, high = (share, high) if rho < r else (low, share)
    return float(bearing), float(level)
