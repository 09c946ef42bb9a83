"""Directions of wires: inside the corridors, crossing as near to a right angle as they allow."""

from collections.abc import Sequence

import numpy as np

from frames.casefile import CaseError, Problem
from frames.casefile.limb import Corridor, Wound
from frames.fitting.directions import outside_deg

STEP_DEG = 2.5
INSIDE_DEG = 2.0
"""Wires keep this far from the edge of a corridor: own choice, no source."""
ASIDE_DEG = 15.0
"""How far the reference wire may turn from the line from medial to lateral: own choice."""
WITHOUT_CORRIDORS = (60.0, 120.0)
"""Bearings where no corridor is given: an angle that is common, no anatomy."""


def open_bearings(
    corridors: Sequence[Corridor], wounds: Sequence[Wound], level: float
) -> list[float]:
    """Bearings (0 to 180) of lines both of whose ends lie in corridors at a level, clear of
    wounds."""

    def passes(bearing: float) -> bool:
        wounded = any(
            w.from_level_mm <= level <= w.to_level_mm
            and w.from_bearing_deg is not None
            and w.to_bearing_deg is not None
            and outside_deg(bearing, w.from_bearing_deg, w.to_bearing_deg) < INSIDE_DEG
            for w in wounds
        )
        return not wounded and any(
            c.from_level_mm <= level <= c.to_level_mm
            and outside_deg(bearing - INSIDE_DEG, c.from_bearing_deg, c.to_bearing_deg) == 0.0
            and outside_deg(bearing + INSIDE_DEG, c.from_bearing_deg, c.to_bearing_deg) == 0.0
            for c in corridors
        )

    every = np.arange(0.0, 180.0, STEP_DEG).tolist()
    return [b for b in every if passes(b) and passes(b + 180.0)]


def crossing(a: float, b: float) -> float:
    """Angle (0 to 90 degrees) between two lines."""
    off = abs(a - b) % 180.0
    return min(off, 180.0 - off)


def pair(free: Sequence[float], *, reference: bool) -> tuple[float, float]:
    """Two of the bearings. reference: the first one runs within ``ASIDE_DEG`` of the line from
    medial to lateral (90) where the corridors allow, the second crosses it at the largest angle (on
    a ring tilted like the joint line every wire looks parallel to that line from the front); else
    the two that cross at the largest angle, the first the smaller bearing."""
    if reference:
        near = [b for b in free if crossing(b, 90.0) <= ASIDE_DEG]
        near = near or [min(free, key=lambda b: (crossing(b, 90.0), b))]
        both = [(a, b) for a in near for b in free]
        return max(both, key=lambda ab: (min(crossing(*ab), 60.0), -crossing(ab[0], 90.0), -ab[0]))
    pairs = [(a, b) for i, a in enumerate(free) for b in free[i:]]
    return max(pairs, key=lambda ab: (crossing(*ab), -abs(sum(ab) - 180.0)))


def bearings_for(
    ring: str,
    level: float,
    corridors: Sequence[Corridor],
    wounds: Sequence[Wound],
    *,
    reference: bool,
) -> tuple[float, float]:
    """Bearings of the two wires of a ring. Raises ``CaseError`` when corridors are given and no
    wire passes."""
    if not corridors:
        return (90.0, 30.0) if reference else WITHOUT_CORRIDORS
    free = open_bearings(corridors, wounds, level)
    if not free:
        here = [c.name for c in corridors if c.from_level_mm <= level <= c.to_level_mm]
        said = ", ".join(here) or "none reaches it"
        raise CaseError(
            [
                Problem(
                    "corridor",
                    f"no wire of ring {ring} (level {level:.0f} mm) has both ends in corridors and "
                    f"clear of wounds; corridors there: {said}. Give the opposite side too, or "
                    "move the ring ([layout])",
                )
            ]
        )
    return pair(free, reference=reference)
