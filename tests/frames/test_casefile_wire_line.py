"""Geometry of a wire's line, against plane geometry done by hand, and sizes against tables."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from frames.quantities import QUANTITIES, STIFFNESSES
from frames.ring_plane import Vector, ring_plane
from frames.sizes import MATERIALS, THREADS, stress_diameter
from frames.space_line import line_places
from frames.wire_line import (
    bearing_about,
    circle_point,
    meet_circle,
    side_sign,
    to_xy,
    unit_direction,
    wire_line,
)

LEVEL, HEIGHT = 40.0, 3.4


def points_of(
    sign: float, bearing: float, offset: float, centre: tuple[float, float], bone: float = 26.0
) -> list[Vector]:
    """Start clamp, start cortex, end cortex, end clamp of a wire across the bone."""
    plane = ring_plane(sign, LEVEL, centre)
    found = line_places(sign, plane, 174.0, bone, bearing, offset, HEIGHT)
    assert found.clamps is not None
    assert found.cortices is not None
    return [found.clamps[0], *found.cortices, found.clamps[1]]


signs = st.sampled_from([1.0, -1.0])
bearings = st.floats(-360, 360)


def test_axes() -> None:
    """x anterior, y towards the patient's left: medial is left on the right leg only."""
    assert (side_sign("right"), side_sign("left")) == (1.0, -1.0)
    assert to_xy(side_sign("right"), (3.0, 4.0)) == (3.0, 4.0)
    assert to_xy(side_sign("left"), (3.0, 4.0)) == (3.0, -4.0)
    assert unit_direction(1.0, 90.0) == pytest.approx((0.0, 1.0), abs=1e-15)
    assert unit_direction(-1.0, 90.0) == pytest.approx((0.0, -1.0), abs=1e-15)
    with pytest.raises(ValueError, match="side must be"):
        side_sign("Right")


def test_offset_is_towards_the_bearing_and_a_right_angle() -> None:
    # bearing 0 (forward): offset towards 90 (medial); bearing 90 (medial): towards 180 (backward)
    assert wire_line(1.0, 0.0, 5.0).foot == pytest.approx((0.0, 5.0))
    assert wire_line(-1.0, 0.0, 5.0).foot == pytest.approx((0.0, -5.0))
    assert wire_line(1.0, 90.0, 5.0).foot == pytest.approx((-5.0, 0.0))
    assert wire_line(-1.0, 90.0, 5.0).foot == pytest.approx((-5.0, 0.0))


def test_points_of_a_wire_by_hand() -> None:
    """3-4-5 triangles: ring of radius 87 about (-12, 3), wire forward, 63 medial of its centre."""
    points = points_of(1.0, 0.0, 5.0, (-12.0, 3.0))
    half, level = math.sqrt(87.0**2 - 2.0**2), LEVEL + HEIGHT
    assert points[0] == pytest.approx((-12.0 + half, 5.0, level))
    assert points[1] == pytest.approx((12.0, 5.0, level))  # 5, 12, 13
    assert points[2] == pytest.approx((-12.0, 5.0, level))
    assert points[3] == pytest.approx((-12.0 - half, 5.0, level))
    # on a left leg the same medial positions lie on the other side
    left = points_of(-1.0, 0.0, 5.0, (-12.0, 3.0))
    assert left[0] == (points[0][0], -points[0][1], level)


def test_lines_that_miss() -> None:
    line = wire_line(1.0, 30.0, 13.0)
    assert meet_circle(line, (0.0, 0.0), 13.0 - 1e-9) is None
    assert meet_circle(line, (0.0, 0.0), 13.0 + 1e-9) is not None
    square = ring_plane(1.0, LEVEL, (0.0, 0.0))
    beside_bone = line_places(1.0, square, 174.0, 25.9, 30.0, 13.0, HEIGHT)
    assert beside_bone.cortices is None
    assert beside_bone.clamps is not None
    beside_ring = line_places(1.0, ring_plane(1.0, 0.0, (0.0, 88.0)), 174.0, 26.0, 0.0, 0.0, HEIGHT)
    assert beside_ring.clamps is None
    assert beside_ring.cortices is not None


@given(signs, bearings, st.floats(-40, 40), st.floats(-30, 30), st.floats(-30, 30))
def test_points_lie_on_line_and_circle(
    sign: float, bearing: float, offset: float, anterior: float, medial: float
) -> None:
    """On the circle, on the line, in order, and the same line from the other end."""
    centre, line = to_xy(sign, (anterior, medial)), wire_line(sign, bearing, offset)
    assert math.hypot(*line.direction) == pytest.approx(1.0)
    assert math.hypot(*line.foot) == pytest.approx(abs(offset), abs=1e-12)
    met = meet_circle(line, centre, 87.0)
    assert met is not None
    for point in met:
        assert math.dist(point, centre) == pytest.approx(87.0, abs=1e-10)
        dx, dy = point[0] - line.foot[0], point[1] - line.foot[1]
        assert line.direction[0] * dy - line.direction[1] * dx == pytest.approx(0.0, abs=1e-10)
    along = [x * line.direction[0] + y * line.direction[1] for x, y in met]
    assert along[0] > along[1]
    turned = meet_circle(wire_line(sign, bearing + 180.0, -offset), centre, 87.0)
    assert turned is not None
    assert turned[1] == pytest.approx(met[0], abs=1e-10)


@given(bearings, st.floats(-12, 12), st.floats(-30, 30), st.floats(-30, 30))
def test_left_is_the_mirror_image_of_right(
    bearing: float, offset: float, anterior: float, medial: float
) -> None:
    right, left = (points_of(sign, bearing, offset, (anterior, medial)) for sign in (1.0, -1.0))
    for (x, y, z), mirrored in zip(right, left, strict=True):
        assert mirrored == (x, -y, z)


@given(signs, bearings, st.floats(-30, 30), st.floats(-30, 30))
def test_bearing_of_a_circle_point(sign: float, bearing: float, x: float, y: float) -> None:
    point = circle_point(sign, bearing, (x, y), 87.0)
    back = bearing_about(sign, (x, y), point)
    assert math.remainder(back - bearing, 360.0) == pytest.approx(0.0, abs=1e-10)


@pytest.mark.parametrize(
    ("thread", "area"),
    [("M4", 8.78), ("M5", 14.2), ("M6", 20.1), ("M7", 28.9), ("M8", 36.6), ("M10", 58.0)],
)
def test_stress_area_of_threads(thread: str, area: float) -> None:
    """Nominal stress areas (mm2) of ISO 898-1, M6 as commonly tabled, the others from memory.

    The table has three figures, hence the tolerance.
    """
    found = math.pi / 4 * THREADS[thread] ** 2
    assert found == pytest.approx(area, abs=0.05 if area >= 10 else 0.005)


def test_m6_by_the_formula() -> None:
    # half-way between pitch diameter 5.350481 and root diameter 4.773131
    assert stress_diameter(6.0, 1.0) == pytest.approx((5.350481 + 4.773131) / 2, abs=1e-6)
    assert len(THREADS) == 6


def test_materials_have_what_an_isotropic_solid_needs() -> None:
    for material in MATERIALS.values():
        assert 0 < material.nu < 0.5 and material.E_MPa > 0 and material.density_kg_per_m3 > 0
        assert material.source
    assert set(MATERIALS) == {"stainless steel", "aluminium", "carbon composite", "titanium"}


def test_quantities_carry_their_unit_in_their_name() -> None:
    endings = {"N/mm": "_N_per_mm", "N·m/deg": "_Nm_per_deg", "mm": "_mm", "N": "_N", "MPa": "_MPa"}
    endings["%"] = "_percent"
    for name, quantity in QUANTITIES.items():
        assert name.endswith(endings[quantity.unit]) and quantity.label
        assert quantity.needs_load == (name not in STIFFNESSES)
    assert len({quantity.label for quantity in QUANTITIES.values()}) == len(QUANTITIES) == 14
