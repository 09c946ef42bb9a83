"""Rods between neighbouring rings: free holes for four of them, the shortest stock length that
reaches."""

from collections.abc import Sequence
from math import radians, sin

from frames.casefile import CaseError, Problem
from frames.part_sizes import NUTS_MM

CORNERS = (45.0, 135.0, 225.0, 315.0)
STEP_DEG = 5.0


def free_bearings(taken: Sequence[float], hole_circle_mm: float, spacing_mm: float) -> list[float]:
    """Four bearings about the ring's centre, each the nearest to a corner that stays clear of what
    is taken by the spacing of holes (chord)."""

    def clear(b: float, others: Sequence[float]) -> bool:
        return all(
            hole_circle_mm * abs(sin(radians(b - o) / 2.0)) >= spacing_mm + 2.0 for o in others
        )

    found: list[float] = []
    for corner in CORNERS:
        tries = sorted(
            ((corner + s * k * STEP_DEG) % 360.0 for k in range(36) for s in (1, -1)),
            key=lambda b, corner=corner: abs((b - corner + 180.0) % 360.0 - 180.0),  # type: ignore[misc]
        )
        found.append(next(b for b in tries if clear(b, [*taken, *found])))
    return found


def stock_length(between_mm: float, thickness_mm: float, stock: Sequence[float]) -> float:
    """Shortest rod to hand that joins two rings so far apart (middle to middle), with its nuts."""
    need = between_mm + thickness_mm + 2.0 * NUTS_MM
    fitting = [s for s in sorted(stock) if s >= need]
    if not fitting:
        raise CaseError(
            [
                Problem(
                    "parts, rod_lengths_mm",
                    f"the longest rod is too short: rings {between_mm:.0f} mm apart need "
                    f"{need:.0f} mm with their nuts",
                    max(stock),
                )
            ]
        )
    return fitting[0]
