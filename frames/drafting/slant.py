"""Heights of a ring that is tilted like a joint line, seen from the bone.

A ring whose middle is at the level z0 above the place c (anterior, medial) and whose medial side is
raised by the angle t passes the point (a, m) at z = z0 + (m - c_m) tan t. Along the bearing β, at
the distance r from the bone axis, m = r sin β. In the ring's own plane what lies across the tilt
axis appears longer by 1 / cos t.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import radians, tan

import numpy as np

from fem.algebra import Array
from frames.limb_outline import Outline

SkinLevels = Callable[[float], tuple[float, float]]
"""Lowest and highest level at which a wire of a ring can pass the skin along a bearing (deg)."""


@dataclass(frozen=True)
class PlannedRing:
    """level_mm of the middle; tilt_deg, medial side up; outer: the one next to a joint."""

    level_mm: float
    tilt_deg: float
    outer: bool


def height(tilt_deg: float, medial_mm: float) -> float:
    """Lift of a tilted ring at a place beside its centre."""
    return medial_mm * tan(radians(tilt_deg))


def lifts(
    tilt_deg: float, radii_mm: tuple[float, float], bearings_deg: tuple[float, float] | None
) -> tuple[float, float]:
    """Least and largest lift over a range of bearings (turning upwards; None: all round) and
    between two radii."""
    start, end = bearings_deg or (0.0, 360.0)
    bearing = start + np.linspace(0.0, 360.0 if bearings_deg is None else (end - start) % 360.0, 91)
    medial = np.outer(radii_mm, np.sin(np.radians(bearing)))
    lift = medial * tan(radians(tilt_deg))
    return float(lift.min()), float(lift.max())


def skin_levels(
    outline: Outline, ring: PlannedRing, centre_medial_mm: float, half_mm: float
) -> SkinLevels:
    """half_mm : how far the axes of its wires are from the ring's mid-plane."""

    def at(bearing: float) -> tuple[float, float]:
        r = skin_at(outline, np.array([ring.level_mm]), np.array([bearing]))[0]
        medial = float(r) * float(np.sin(np.radians(bearing)))
        middle = ring.level_mm + height(ring.tilt_deg, medial - centre_medial_mm)
        return middle - half_mm, middle + half_mm

    return at


def skin_at(outline: Outline, level: Array, bearing: Array) -> Array:
    """Distance from the bone axis to the skin; beyond the measured levels that of the nearest."""
    low, high = outline.span_mm
    return outline.radius(np.clip(level, low, high), bearing)
