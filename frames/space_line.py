"""Where wires and pins run in space: lines, clamps, cortices.

Axes, signs and the own axes e1, e2, N of a ring, to which the turn R takes x, y, z:
``frames.ring_plane``.

A wire or pin at the height h of its ring is laid through Q, where the bone axis pierces the plane
through C + h N across N, and

    Q + o n + t d,     d = R (cos b, sign sin b, 0),     n = R (-sin b, sign cos b, 0)

with o its offset and b its bearing. Its tilt θ turns it about n, so that the start end rises
towards N: d → cos θ d + sin θ N. It is clamped where it meets the cylinder of the hole circle about
the ring's axis, and meets the bone on the cylinder of its outer radius about z. (The two clamps of
a tilted wire then stand at different heights, by the sine of θ times their distance.)

A line p + t d meets a cylinder about the axis a + s m, |m| = 1, where t = τ0 ± sqrt(R² - e²) /
sin γ: γ the angle of d and m, τ0 the place nearest to the axis and e its distance there. Square
rings and wires take the plane formulas of ``frames.wire_line``.

Plain floats, no arrays: the case file's checks and the discretisation share these functions.
"""

import math
from dataclasses import dataclass

from frames.ring_plane import ORIGIN, RingPlane, Vector, Z, along, apart, dot
from frames.wire_line import meet_circle, unit_direction, wire_line


@dataclass(frozen=True)
class Line:
    """A line in space: a point on it (mm) and its unit direction, towards the start end."""

    point: Vector
    direction: Vector

    def at(self, t: float) -> Vector:
        """The point at t mm along it."""
        return along(self.point, (t, self.direction))


def meet_cylinder(
    line: Line, axis_point: Vector, axis: Vector, radius: float
) -> tuple[float, float] | None:
    """Places (mm along the line) where it meets a cylinder: on the side of its direction, then the
    other; None when it misses or merely touches it. axis : unit vector."""
    arm = apart(line.point, axis_point)
    slant, lift = dot(line.direction, axis), dot(arm, axis)
    across = 1.0 - slant * slant  # sin² γ
    if across < 1e-12:
        return None
    nearest = (dot(arm, line.direction) - slant * lift) / across
    off = apart(line.at(nearest), axis_point)
    rise = dot(off, axis)
    distance = math.sqrt(max(dot(off, off) - rise * rise, 0.0))
    if distance >= radius:
        return None
    half_chord = math.sqrt((radius - distance) * (radius + distance) / across)
    return nearest + half_chord, nearest - half_chord


@dataclass(frozen=True)
class LinePlaces:
    """The line of a wire or pin with its clamps on the hole circle's cylinder and its cortices on
    that of the bone, start first, mm; None where the line misses the cylinder."""

    line: Line
    clamps: tuple[Vector, Vector] | None
    cortices: tuple[Vector, Vector] | None


def line_places(
    sign: float,
    plane: RingPlane,
    hole_circle_mm: float,
    bone_mm: float,
    bearing_deg: float,
    offset_mm: float,
    height_mm: float,
    tilt_deg: float = 0.0,
) -> LinePlaces:
    """Line, clamps and cortices of a wire or pin on a ring.

    hole_circle_mm, bone_mm : diameters of hole circle and bone. height_mm : of the line above the
    ring's mid-plane, along N. tilt_deg : start end raised. Bone of another diameter gives the
    places inside its wall.
    """
    if plane.square and tilt_deg == 0.0:
        return _square_places(
            sign, plane, hole_circle_mm, bone_mm, bearing_deg, offset_mm, height_mm
        )
    dx, dy = unit_direction(sign, bearing_deg)
    aside = plane.direction(-sign * dy, sign * dx)
    c, s = math.cos(math.radians(tilt_deg)), math.sin(math.radians(tilt_deg))
    line = Line(
        along(plane.on_axis(height_mm), (offset_mm, aside)),
        plane.direction(c * dx, c * dy, s),
    )
    clamps = meet_cylinder(line, plane.centre, plane.normal, hole_circle_mm / 2.0)
    cortices = meet_cylinder(line, ORIGIN, Z, bone_mm / 2.0)
    return LinePlaces(
        line,
        None if clamps is None else (line.at(clamps[0]), line.at(clamps[1])),
        None if cortices is None else (line.at(cortices[0]), line.at(cortices[1])),
    )


def _square_places(
    sign: float,
    plane: RingPlane,
    hole_circle_mm: float,
    bone_mm: float,
    bearing_deg: float,
    offset_mm: float,
    height_mm: float,
) -> LinePlaces:
    flat = wire_line(sign, bearing_deg, offset_mm)
    level = plane.centre[2] + height_mm
    clamps = meet_circle(flat, (plane.centre[0], plane.centre[1]), hole_circle_mm / 2.0)
    cortices = meet_circle(flat, (0.0, 0.0), bone_mm / 2.0)
    return LinePlaces(
        Line((*flat.foot, level), (*flat.direction, 0.0)),
        None if clamps is None else ((*clamps[0], level), (*clamps[1], level)),
        None if cortices is None else ((*cortices[0], level), (*cortices[1], level)),
    )
