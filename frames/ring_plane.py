"""The plane of a ring, square to the bone or tilted, and its holes.

Axes: x anterior, y towards the patient's left, z proximal, origin at the gap's centre on the bone
axis; ``sign`` +1 when medial is +y (right leg), -1 on a left leg (``frames.wire_line``).

A ring with tilt τ towards bearing β is a square one turned about its centre C, so that its side at
β is raised. With t = (cos β, sign sin β, 0) and u = z × t the turn takes

    u → u,     t → cos τ t + sin τ z,     z → N = cos τ z - sin τ t,

and the ring's own axes are e1, e2, N, to which it takes x, y, z. Bearings of what is fixed on the
ring are angles in its own plane.

Plain floats, no arrays: the case file's checks and the discretisation share these functions.
"""

import math
from dataclasses import dataclass

from frames.wire_line import circle_point, to_xy, unit_direction

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
