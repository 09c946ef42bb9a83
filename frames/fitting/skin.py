"""How far a point is from the skin, and where a line passes it.

At every measured level the skin is a closed curve r_k(β) about the bone axis, and between two of
them it runs straight at every bearing (``frames.limb_outline``). With a point at the bearing β0,
the level z and the distance ρ from the axis, the skin's line at the bearing β lies in a half-plane
that the point misses by ρ |sin(β - β0)|, with its foot at (ρ cos(β - β0), z) in it, so

    gap² = min over β of  ρ² sin²(β - β0) + d²(β),

d the distance in that half-plane from the foot to the broken line through the points (r_k, z_k). β
is sought first at the point's own level, where the sum is ρ² + r² - 2 ρ r cos(β - β0): sampled
within ``REACH_DEG`` to either side, refined by the parabola through the three lowest. What the
leg's taper adds then follows exactly for that β; the change of β by the taper is of second order.
The gap is negative where the point lies inside the leg. Skin beyond the measured levels is unknown
and not counted; a point beyond them has no gap (NaN).
"""

import numpy as np

from fem.algebra import Array
from frames.limb_outline import Outline

REACH_DEG = 60.0
STEP_DEG = 5.0
_OFF: Array = np.arange(-REACH_DEG, REACH_DEG + STEP_DEG / 2.0, STEP_DEG)

HALVINGS = 24
"""A wire's leg of 200 mm is halved down to 0.00001 mm."""


def polar(points: Array, sign: float) -> tuple[Array, Array, Array]:
    """Distance from the bone axis (mm), bearing (degrees, 0 to 360) and level (mm) of points
    (..., 3) in x, y, z; sign +1 on a right leg."""
    x, y, z = points[..., 0], sign * points[..., 1], points[..., 2]
    return np.hypot(x, y), np.degrees(np.arctan2(y, x)) % 360.0, z


def skin_gap(outline: Outline, points: Array, sign: float) -> Array:
    """(n,) mm from points (n, 3) to the skin, negative inside the leg; NaN where the leg was not
    measured."""
    rho, bearing, level = polar(points, sign)
    here = outline.radius(level, bearing)
    known = np.isfinite(here)
    z = np.where(known, level, outline.span_mm[0])
    off = _nearest_off(outline, rho, bearing, z)
    gap = np.minimum(
        _in_half_plane(outline, rho, bearing, z, off),
        _in_half_plane(outline, rho, bearing, z, np.zeros_like(off)),
    )
    return np.where(known, np.where(rho < here, -gap, gap), np.nan)


def _nearest_off(outline: Outline, rho: Array, bearing: Array, z: Array) -> Array:
    """(n,) degrees from each point's bearing to the nearest skin of its own level."""
    r = outline.radius(z[:, None], bearing[:, None] + _OFF)
    apart = r**2 - 2.0 * rho[:, None] * r * np.cos(np.radians(_OFF))
    low = np.clip(apart.argmin(axis=1), 1, len(_OFF) - 2)
    a, b, c = (np.take_along_axis(apart, low[:, None] + k, 1)[:, 0] for k in (-1, 0, 1))
    bend = a - 2.0 * b + c
    aside = np.where(bend > 0.0, (a - c) / (2.0 * np.where(bend > 0.0, bend, 1.0)), 0.0)
    return np.asarray(_OFF[low] + STEP_DEG * np.clip(aside, -1.0, 1.0))


def _in_half_plane(outline: Outline, rho: Array, bearing: Array, z: Array, off: Array) -> Array:
    """(n,) mm from each point to the skin's line at its bearing + off."""
    h, aside = rho * np.cos(np.radians(off)), rho * np.sin(np.radians(off))
    r, levels = outline.measured(bearing + off), outline.levels_mm[:, None]  # (k, n), (k, 1)
    if len(levels) > 1:
        dr, dz = np.diff(r, axis=0), np.diff(levels, axis=0)
        share = ((h - r[:-1]) * dr + (z - levels[:-1]) * dz) / (dr**2 + dz**2)
        share = np.clip(share, 0.0, 1.0)
        r, levels = r[:-1] + share * dr, levels[:-1] + share * dz
    return np.asarray(np.sqrt(aside**2 + ((h - r) ** 2 + (z - levels) ** 2).min(axis=0)))


def through_skin(
    outline: Outline, inner: Array, outer: Array, sign: float
) -> tuple[Array, Array, Array]:
    """Bearing (degrees) and level (mm) at which lines from inner (n, 3), in the bone, to outer
    (n, 3) leave the leg, and whether they do within what was measured."""

    def at(share: Array) -> tuple[Array, Array, Array]:
        """Depth under the skin (NaN where not measured), bearing, level."""
        rho, bearing, level = polar(inner + share[:, None] * (outer - inner), sign)
        return outline.radius(level, bearing) - rho, bearing, level

    low, high = np.zeros(len(inner)), np.ones(len(inner))
    leaves = (at(low)[0] > 0.0) & (at(high)[0] <= 0.0)
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        within = at(middle)[0] > 0.0
        low, high = np.where(within, middle, low), np.where(within, high, middle)
    depth, bearing, level = at(high)
    return bearing, level, np.asarray(leaves & np.isfinite(depth))
