"""Points and directions in space that a case file's words mean.

Axes: origin at the gap centre on the bone axis, x anterior, y towards the patient's left, z
proximal; mm, rad. A bearing runs from anterior towards medial, and medial is +y on a right leg and
-y on a left one, so with s = +1 (right) or -1 (left)

    d(bearing) = (cos bearing, s sin bearing, 0).

A ring's axes are the columns of a rotation R, which takes x, y, z to the ring's own: tilted by a
turn about t × z, t the direction of its raised side, which lifts t towards z.

A line p + v t meets the cylinder of radius r about the axis a + m s where

    |(p - a) + v t|² less its part along m = r²,

a quadratic in t.
"""

from math import atan2, cos, degrees, radians, sin, sqrt

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]
UP = np.array([0.0, 0.0, 1.0])


def bearing_vector(bearing_deg: float, side: float) -> Vector:
    """Unit vector (3,) of a bearing; ``side`` +1 on a right leg, -1 on a left leg."""
    angle = radians(bearing_deg)
    return np.array([cos(angle), side * sin(angle), 0.0])


def turn_about(axis: Vector, angle: float) -> Vector:
    """(3, 3) rotation about a unit vector (3,) by ``angle`` rad (Rodrigues)."""
    x, y, z = axis
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    return np.eye(3) + sin(angle) * cross + (1.0 - cos(angle)) * cross @ cross


def tilted_axes(tilt_deg: float, bearing_deg: float, side: float) -> Vector:
    """(3, 3) R of a ring whose side at a bearing is raised by the tilt."""
    raised = bearing_vector(bearing_deg, side)
    return turn_about(np.cross(raised, UP), radians(tilt_deg))


def bearing_of(point: Vector, centre: Vector, axes: Vector, side: float) -> float:
    """Bearing in degrees, 0 to 360, of a point (3,) about a ring's centre (3,), in its plane."""
    own = axes.T @ (point - centre)
    return degrees(atan2(side * own[1], own[0])) % 360.0


def crossings(
    origin: Vector, along: Vector, centre: Vector, axis: Vector, radius: float, what: str
) -> Vector:
    """Where origin + t along meets the cylinder about centre + s axis: (2, 3), larger t first.

    along, axis : unit vectors (3,). ``what`` is named in the ValueError of a line that misses.
    """
    v = along - (along @ axis) * axis
    w = (origin - centre) - ((origin - centre) @ axis) * axis
    a, b, c = v @ v, v @ w, w @ w - radius**2
    under = b * b - a * c
    if under <= 0.0:
        raise ValueError(f"{what} of radius {radius} mm is missed")
    root = sqrt(under)
    return np.array([origin + (-b + root) / a * along, origin + (-b - root) / a * along])
