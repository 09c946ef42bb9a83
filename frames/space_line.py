"""Where wires and pins run in space: planes of tilted rings, tilted lines, clamps, cortices.

Axes: x anterior, y towards the patient's left, z proximal, origin at the gap's centre on the bone
axis; ``sign`` +1 when medial is +y (right leg), -1 on a left leg (``frames.wire_line``).

A ring with tilt τ towards bearing β is a square one turned about its centre C, so that its side at
β is raised. With t = (cos β, sign sin β, 0) and u = z × t the turn takes

    u → u,     t → cos τ t + sin τ z,     z → N = cos τ z - sin τ t,

and the ring's own axes are e1, e2, N, to which it takes x, y, z. Bearings of what is fixed on the
ring are angles in its own plane.

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

from frames.wire_line import circle_point, meet_circle, to_xy, unit_direction, wire_line

Vector = tuple[float, float, float]

X: Vector = (1.0, 0.0, 0.0)
Y: Vector = (0.0, 1.0, 0.0)
Z: Vector = (0.0, 0.0, 1.0)
ORIGIN: Vector = (0.0, 0.0, 0.0)


def dot(a: Vector, b: Vector) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def along(start: Vector, *steps: tuple[float, Vector]) -> Vector:
    """start + Σ size × direction."""
    x, y, z = start
    for size, v in steps:
        x, y, z = x + size * v[0], y + size * v[1], z + size * v[2]
    return x, y, z


def apart(a: Vector, b: Vector) -> Vector:
    """b - a."""
    return b[0] - a[0], b[1] - a[1], b[2] - a[2]


@dataclass(frozen=True)
class RingPlane:
    """centre C of a ring's mid-plane, mm, and the unit vectors e1, e2, N of its own axes."""

    centre: Vector
    e1: Vector = X
    e2: Vector = Y
    normal: Vector = Z

    @property
    def square(self) -> bool:
        """Whether it lies across the bone."""
        return self.normal == Z

    def own(self, point: Vector) -> Vector:
        """Coordinates of a point in the ring's own axes, from its centre, mm."""
        arm = apart(self.centre, point)
        return dot(arm, self.e1), dot(arm, self.e2), dot(arm, self.normal)

    def in_space(self, x: float, y: float, z: float = 0.0) -> Vector:
        """The point of own coordinates x, y, z."""
        return along(self.centre, (x, self.e1), (y, self.e2), (z, self.normal))

    def direction(self, x: float, y: float, z: float = 0.0) -> Vector:
        """The vector of own components x, y, z."""
        return along(ORIGIN, (x, self.e1), (y, self.e2), (z, self.normal))

    def on_axis(self, height: float) -> Vector:
        """Q: where the bone axis pierces the plane at a height above the ring's middle, mm."""
        if self.square:
            return 0.0, 0.0, self.centre[2] + height
        return 0.0, 0.0, (dot(self.normal, self.centre) + height) / self.normal[2]


def ring_plane(
    sign: float,
    level_mm: float,
    centre_mm: tuple[float, float],
    tilt_deg: float = 0.0,
    tilt_bearing_deg: float = 0.0,
) -> RingPlane:
    """Plane of a ring: level and centre (anterior, medial) mm, side at tilt_bearing raised."""
    x, y = to_xy(sign, centre_mm)
    centre = (x, y, level_mm)
    if tilt_deg == 0.0:
        return RingPlane(centre)
    c, s = math.cos(math.radians(tilt_deg)), math.sin(math.radians(tilt_deg))
    tx, ty = unit_direction(sign, tilt_bearing_deg)
    return RingPlane(
        centre,
        (ty * ty + c * tx * tx, (c - 1.0) * tx * ty, s * tx),
        ((c - 1.0) * tx * ty, tx * tx + c * ty * ty, s * ty),
        (-s * tx, -s * ty, c),
    )


def hole(plane: RingPlane, sign: float, bearing_deg: float, hole_circle_mm: float) -> Vector:
    """The hole at a bearing in the ring's own plane, at its mid-plane, mm."""
    if plane.square:
        x, y, z = plane.centre
        return *circle_point(sign, bearing_deg, (x, y), hole_circle_mm / 2.0), z
    return plane.in_space(*circle_point(sign, bearing_deg, (0.0, 0.0), hole_circle_mm / 2.0))


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
