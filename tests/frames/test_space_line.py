"""Planes of tilted rings and lines in space, against rotation matrices and quadratic equations
written another way.

Axes: x anterior, y towards the patient's left, z proximal; bearings turn from anterior to medial,
which is +y on a right leg and -y on a left one.
"""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from frames.ring_plane import ORIGIN, Z, hole, ring_plane
from frames.space_line import Line, line_places, meet_cylinder

Array = NDArray[np.float64]

bearings = st.floats(-360.0, 360.0)
tilts = st.floats(-45.0, 45.0)
sides = st.sampled_from([1.0, -1.0])


def turn(side: float, tilt_deg: float, bearing_deg: float) -> Array:
    """(3, 3) the turn that raises the side at a bearing: about the horizontal axis across it."""
    b = np.radians(bearing_deg)
    towards = np.array([np.cos(b), side * np.sin(b), 0.0])
    axis = np.cross(towards, [0.0, 0.0, 1.0])
    return np.asarray(Rotation.from_rotvec(np.radians(tilt_deg) * axis).as_matrix())


def on_cylinder(
    point: Array, direction: Array, centre: Array, axis: Array, radius: float
) -> list[Array]:
    """Points of a line on a cylinder by |P (x - c)|² = R², P = 1 - a aᵀ; the one farther along the
    direction first."""
    P = np.eye(3) - np.outer(axis, axis)
    d, r = P @ direction, P @ (point - centre)
    roots = np.roots([d @ d, 2.0 * d @ r, r @ r - radius**2])
    if np.iscomplex(roots).any():
        return []
    return [point + t * direction for t in sorted(roots.real, reverse=True)]


@given(sides, tilts, bearings, st.floats(-40.0, 40.0), st.floats(-40.0, 40.0), bearings)
@settings(max_examples=200, deadline=None)
def test_plane_of_a_ring(
    side: float, tilt: float, towards: float, anterior: float, medial: float, at: float
) -> None:
    plane = ring_plane(side, 30.0, (anterior, medial), tilt, towards)
    R = turn(side, tilt, towards)
    axes = np.array([plane.e1, plane.e2, plane.normal])
    np.testing.assert_allclose(axes, R.T, atol=1e-14)
    b = np.radians(at)
    centre = np.array([anterior, side * medial, 30.0])
    expected = centre + R @ (87.0 * np.array([np.cos(b), side * np.sin(b), 0.0]))
    np.testing.assert_allclose(hole(plane, side, at, 174.0), expected, atol=1e-12)
    own = plane.own((expected[0], expected[1], expected[2]))
    np.testing.assert_allclose(own, [87 * np.cos(b), side * 87 * np.sin(b), 0.0], atol=1e-12)
    pierced = np.array(plane.on_axis(7.0))
    assert pierced[0] == pierced[1] == 0.0
    assert (pierced - centre) @ R[:, 2] == pytest.approx(7.0, abs=1e-12)


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize("towards", [0.0, 90.0, 200.0])
def test_the_side_at_the_bearing_is_raised(side: float, towards: float) -> None:
    """By R sin τ, and the opposite side lowered."""
    plane = ring_plane(side, 0.0, (0.0, 0.0), 20.0, towards)
    rise = 80.0 * np.sin(np.radians(20.0))
    assert hole(plane, side, towards, 160.0)[2] == pytest.approx(rise)
    assert hole(plane, side, towards + 180.0, 160.0)[2] == pytest.approx(-rise)
    assert hole(plane, side, towards + 90.0, 160.0)[2] == pytest.approx(0.0, abs=1e-12)


@given(sides, tilts, bearings, bearings, tilts, st.floats(-10.0, 10.0), st.floats(-30.0, 30.0))
@settings(max_examples=200, deadline=None)
@example(1.0, 45.0, 0.0, 0.0, 45.0, 0.0, 0.0)  # along the bone
def test_clamps_and_cortices(
    side: float,
    tilt: float,
    towards: float,
    bearing: float,
    own_tilt: float,
    offset: float,
    height: float,
) -> None:
    plane = ring_plane(side, 30.0, (-6.0, 4.0), tilt, towards)
    found = line_places(side, plane, 174.0, 26.0, bearing, offset, height, own_tilt)
    R = turn(side, tilt, towards)
    b, t = np.radians(bearing), np.radians(own_tilt)
    d0, n0 = (
        np.array([np.cos(b), side * np.sin(b), 0.0]),
        np.array([-np.sin(b), side * np.cos(b), 0]),
    )
    direction = R @ (np.cos(t) * d0 + np.sin(t) * np.array([0.0, 0.0, 1.0]))
    centre, N = np.array([-6.0, 4.0 * side, 30.0]), R[:, 2]
    level = (N @ centre + height) / N[2]
    point = np.array([0.0, 0.0, level]) + offset * (R @ n0)
    for got, expected in (
        (found.clamps, on_cylinder(point, direction, centre, N, 87.0)),
        (found.cortices, on_cylinder(point, direction, np.zeros(3), np.array(Z), 13.0)),
    ):
        if got is None:
            apart = np.linalg.norm(expected[0] - expected[1]) if expected else 0.0
            assert apart < 1e-3 or apart > 1e6  # it misses, touches, or runs along the axis
        else:
            np.testing.assert_allclose(got, expected, atol=1e-7)


@given(bearings, tilts, bearings, tilts, st.floats(-8.0, 8.0))
@settings(max_examples=100, deadline=None)
def test_a_left_leg_is_the_mirror_image(
    towards: float, tilt: float, bearing: float, own_tilt: float, offset: float
) -> None:
    points = []
    for side in (1.0, -1.0):
        plane = ring_plane(side, -40.0, (-5.0, 3.0), tilt, towards)
        found = line_places(side, plane, 170.0, 26.0, bearing, offset, 6.0, own_tilt)
        assert found.clamps is not None
        if found.cortices is None:
            return
        points.append(np.array([*found.clamps, *found.cortices]))
    np.testing.assert_allclose(points[0] * [1.0, -1.0, 1.0], points[1], atol=1e-10)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_vanishing_tilt_is_none(side: float) -> None:
    """Points of the formulas in space go over into those in the plane."""
    square = ring_plane(side, 20.0, (-7.0, 2.0))
    nearly = ring_plane(side, 20.0, (-7.0, 2.0), 1e-9, 130.0)
    assert square.square
    assert not nearly.square
    a = line_places(side, square, 174.0, 26.0, 33.0, 5.0, 4.0)
    b = line_places(side, nearly, 174.0, 26.0, 33.0, 5.0, 4.0, 1e-9)
    for one, other in ((a.clamps, b.clamps), (a.cortices, b.cortices)):
        assert one is not None
        assert other is not None
        np.testing.assert_allclose(one, other, atol=1e-7)


def test_start_end_is_raised() -> None:
    found = line_places(1.0, ring_plane(1.0, 0.0, (0.0, 0.0)), 174.0, 26.0, 70.0, 3.0, 5.0, 10.0)
    assert found.clamps is not None
    (x, y, start), (_, _, end) = found.clamps
    assert start > 5.0 > end
    # clamps keep their places in plan; the line climbs by tan θ
    plan = np.sqrt(87.0**2 - 3.0**2)
    assert start - end == pytest.approx(2.0 * plan * np.tan(np.radians(10.0)))
    assert np.hypot(x, y) == pytest.approx(87.0)


@pytest.mark.parametrize("radius", [5.0, 4.0])
def test_a_line_beside_or_along_a_cylinder_misses_it(radius: float) -> None:
    beside = Line((0.0, 5.0, 0.0), (1.0, 0.0, 0.0))
    assert meet_cylinder(beside, ORIGIN, Z, radius) is None
    assert meet_cylinder(Line((1.0, 0.0, 0.0), Z), ORIGIN, Z, radius) is None
