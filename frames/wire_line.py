"""Lines and circles in the transverse plane: where a wire that lies across the bone runs, and where
it meets ring and bone. Tilted rings, wires and pins: ``frames.space_line``.

Axes: x anterior, y towards the patient's left, origin on the bone axis. Medial is +y on a right
leg and -y on a left one; ``sign`` (see `side_sign`) is +1 or -1 accordingly, so a point given as
(anterior a, medial m) lies at (a, sign m). A bearing b turns from anterior towards medial::

    d = (cos b, sign sin b)        along the bearing
    n = (-sin b, sign cos b)       along the bearing + 90 degrees

A wire's line is p(t) = o n + t d: o is its offset from the bone axis, positive towards the
bearing + 90 degrees, and o n the foot of the perpendicular from the axis. The line meets a circle
of centre c and radius R where t = d.(c - o n) -+ sqrt(R**2 - e**2), with e the distance of c from
the line. The *start* of a wire is the end on the side of its bearing (larger t), its *end* the
opposite one. A left leg is the mirror image of a right one, exactly: only signs of y change.

Plain floats, no arrays: the case file's checks and the discretisation share these functions.
"""

import math
from dataclasses import dataclass

Point = tuple[float, float]
"""x (anterior) and y (patient's left), mm; or a unit vector in that plane."""


@dataclass(frozen=True)
class WireLine:
    """Unit `direction` along the bearing, `foot` of the perpendicular from the bone axis (mm)."""

    direction: Point
    foot: Point


def side_sign(side: str) -> float:
    """+1 for a "right" leg (medial is +y), -1 for a "left" one."""
    if side not in ("left", "right"):
        raise ValueError(f'side must be "left" or "right" (got {side!r})')
    return 1.0 if side == "right" else -1.0


def to_xy(sign: float, anterior_medial_mm: Point) -> Point:
    """(anterior, medial) as (x, y), mm."""
    anterior, medial = anterior_medial_mm
    return anterior, sign * medial


def unit_direction(sign: float, bearing_deg: float) -> Point:
    """Unit vector d along a bearing."""
    angle = math.radians(bearing_deg)
    return math.cos(angle), sign * math.sin(angle)


def circle_point(sign: float, bearing_deg: float, centre: Point, radius: float) -> Point:
    """Point of a circle (centre as (x, y), radius, mm) at a bearing about its own centre."""
    dx, dy = unit_direction(sign, bearing_deg)
    return centre[0] + radius * dx, centre[1] + radius * dy


def bearing_about(sign: float, centre: Point, point: Point) -> float:
    """Bearing (degrees, 0 to 360) of a point seen from a centre, both as (x, y)."""
    anterior, medial = point[0] - centre[0], sign * (point[1] - centre[1])
    return math.degrees(math.atan2(medial, anterior)) % 360.0


def wire_line(sign: float, bearing_deg: float, offset_mm: float = 0.0) -> WireLine:
    """The line of a wire with a bearing and an offset (positive towards the bearing + 90°)."""
    dx, dy = unit_direction(sign, bearing_deg)
    # n is d turned by a quarter from anterior towards medial: (-sin b, sign cos b)
    return WireLine(direction=(dx, dy), foot=(-offset_mm * sign * dy, offset_mm * sign * dx))


def meet_circle(line: WireLine, centre: Point, radius: float) -> tuple[Point, Point] | None:
    """Where a line meets a circle: the point on the side of its bearing, then the other one.

    centre : (x, y), mm; radius : mm. None when the line misses or merely touches the circle.
    """
    (dx, dy), (fx, fy) = line.direction, line.foot
    cx, cy = centre[0] - fx, centre[1] - fy
    distance = dx * cy - dy * cx
    if abs(distance) >= radius:
        return None
    middle = dx * cx + dy * cy
    half_chord = math.sqrt((radius - distance) * (radius + distance))
    start, end = middle + half_chord, middle - half_chord
    return (fx + start * dx, fy + start * dy), (fx + end * dx, fy + end * dy)
