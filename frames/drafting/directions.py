"""Directions of wires: inside the corridors, crossing as near to a right angle as they allow."""

from collections.abc import Sequence

import numpy as np

from frames.casefile import CaseError, Problem
from frames.casefile.limb import Corridor, Wound
from frames.drafting.slant import SkinLevels
from frames.fitting.directions import outside_deg

STEP_DEG = 2.5
INSIDE_DEG = 2.0
"""Wires keep this far from the edge of a corridor: own choice, no source."""
ASIDE_DEG = 15.0
"""How far the reference wire may turn from the line from medial to lateral: own choice."""
WITHOUT_CORRIDORS = (60.0, 120.0)
"""Bearings where no corridor is given: an angle that is common, no anatomy."""
REFERENCE_WITHOUT = (90.0, 30.0)
"""The same on a ring next to a joint."""


def open_bearings(
    corridors: Sequence[Corridor], wounds: Sequence[Wound], levels: SkinLevels
) -> list[float]:
    """Bearings (0 to 180) of lines both of whose ends lie in corridors, clear of wounds, at the
    levels where they pass the skin. Without corridors every direction is open."""

    def passes(bearing: float) -> bool:
        low, high = levels(bearing)
        wounded = any(
            w.from_level_mm <= high and w.to_level_mm >= low and _on(w, bearing) for w in wounds
        )
        return not wounded and (
            not corridors
            or any(
                c.from_level_mm <= low
                and high <= c.to_level_mm
                and outside_deg(bearing - INSIDE_DEG, c.from_bearing_deg, c.to_bearing_deg) == 0.0
                and outside_deg(bearing + INSIDE_DEG, c.from_bearing_deg, c.to_bearing_deg) == 0.0
                for c in corridors
            )
        )

    every = np.arange(0.0, 180.0, STEP_DEG).tolist()
    return [b for b in every if passes(b) and passes(b + 180.0)]


def _on(wound: Wound, bearing: float) -> bool:
    """Whether a wound reaches a bearing."""
    if wound.from_bearing_deg is None or wound.to_bearing_deg is None:
        return True
    return outside_deg(bearing, wound.from_bearing_deg, wound.to_bearing_deg) < INSIDE_DEG


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
    levels: SkinLevels,
    corridors: Sequence[Corridor],
    wounds: Sequence[Wound],
    *,
    reference: bool,
) -> tuple[float, float]:
    """Bearings of the two wires of a ring; without corridors placeholders, turned only where a
    wound lies. Raises ``CaseError`` when no two wires pass."""
    free = open_bearings(corridors, wounds, levels)
    if not corridors:
        usual = REFERENCE_WITHOUT if reference else WITHOUT_CORRIDORS
        if set(usual) <= set(free):
            return usual
    found = pair(free, reference=reference) if free else (0.0, 0.0)
    if crossing(*found) == 0.0:
        low, high = levels(90.0)
        here = [c.name for c in corridors if c.from_level_mm <= low and high <= c.to_level_mm]
        said = f"; corridors there: {', '.join(here) or 'none'}" if corridors else ""
        raise CaseError(
            [
                Problem(
                    "corridor" if corridors else "wound",
                    f"no two wires of ring {ring} (level {(low + high) / 2.0:.0f} mm) that cross "
                    f"have both ends {'in corridors and ' if corridors else ''}clear of wounds"
                    f"{said}. Give the opposite side too, or move the ring ([layout])",
                )
            ]
        )
    return found
