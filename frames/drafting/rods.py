"""Rods between neighbouring rings: free holes for four of them, the shortest stock length that
reaches."""

from collections.abc import Sequence
from math import radians, sin

from frames.casefile import CaseError, Problem
from frames.part_sizes import NUTS_MM

CORNERS = (45.0, 135.0, 225.0, 315.0)
STEP_DEG = 5.0
SPARE_MM = 2.0
"""Between holes, beyond their spacing: own choice, no source."""


def free_bearings(taken: Sequence[float], hole_circle_mm: float, spacing_mm: float) -> list[float]:
    """Four bearings about the ring's centre, each the nearest to a corner that stays clear of what
    is taken by the spacing of holes (chord). Raises ``CaseError`` where four have no room."""

    def clear(b: float, others: Sequence[float]) -> bool:
        return all(
            hole_circle_mm * abs(sin(radians(b - o) / 2.0)) >= spacing_mm + SPARE_MM for o in others
        )

    found: list[float] = []
    for corner in CORNERS:
        away = sorted(range(-35, 36), key=lambda k: (abs(k), -k))
        tries = ((corner + k * STEP_DEG) % 360.0 for k in away)
        free = next((b for b in tries if clear(b, [*taken, *found])), None)
        if free is None:
            raise CaseError(
                [
                    Problem(
                        "room, hole_spacing_mm",
                        f"is too large: on a hole circle of {hole_circle_mm:g} mm there is no "
                        "place left for four rods beside the wires",
                        spacing_mm,
                    )
                ]
            )
        found.append(free)
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
                    f"{need:.0f} mm with their nuts. Take longer rods, or bring the rings nearer "
                    "to each other ([layout])",
                    max(stock),
                )
            ]
        )
    return fitting[0]
