"""Sections against handbook constants."""

from math import pi

import pytest

from fem import rectangle, solid_circle, tube


# Timoshenko & Goodier, Theory of Elasticity, §109, table of k₁ in J = k₁ a b³ (from memory)
@pytest.mark.parametrize(
    ("ratio", "k1"),
    [
        (1.0, 0.1406),
        (1.2, 0.166),
        (1.5, 0.196),
        (2.0, 0.2287),
        (2.5, 0.249),
        (3.0, 0.2633),
        (4.0, 0.281),
        (5.0, 0.291),
        (10.0, 0.3123),
    ],
)
@pytest.mark.parametrize("upright", [False, True])
def test_torsion_of_rectangles(ratio: float, k1: float, upright: bool) -> None:
    b = 4.0
    sides = (ratio * b, b) if upright else (b, ratio * b)
    factor = rectangle(*sides, nu=0.3).J / (ratio * b * b**3)
    # all printed digits; the table has 0.291 for 0.29135 and 0.3123 for 0.31233
    assert factor == pytest.approx(k1, abs=0.6e-4 if len(f"{k1}") == 6 else 0.6e-3)


def test_thin_strip_tends_to_a_third() -> None:
    torsion = rectangle(1000.0, 1.0, 0.3).J
    assert torsion == pytest.approx(1000.0 / 3.0 - 0.21, abs=1e-3)  # the short sides lose 0.21 b⁴


def test_second_moments_and_reaches_of_a_rectangle() -> None:
    """A ring section, 14 mm radially (y) and 5 mm along the bone (z)."""
    s = rectangle(14.0, 5.0, 0.3)
    assert s.area == pytest.approx(70.0)
    assert s.I_z == pytest.approx(5.0 * 14.0**3 / 12.0)
    assert s.I_y == pytest.approx(14.0 * 5.0**3 / 12.0)
    assert (s.reach_y, s.reach_z) == (7.0, 2.5)


def test_tube_is_circle_less_circle() -> None:
    outer, inner, both = solid_circle(12.0, 0.3), solid_circle(9.0, 0.3), tube(12.0, 9.0, 0.3)
    for name in ("area", "I_y", "I_z", "J"):
        assert getattr(both, name) == pytest.approx(getattr(outer, name) - getattr(inner, name))
    assert outer.area == pytest.approx(pi * 36.0)
    assert outer.I_y == pytest.approx(pi * 12.0**4 / 64.0)
    torsion = outer.J
    assert torsion == pytest.approx(pi * 12.0**4 / 32.0)
    assert both.reach_y == both.reach_z == 6.0


# Cowper, J. Appl. Mech. 33 (1966) 335-340, table of coefficients (from memory)
def test_cowpers_coefficients_and_their_limits() -> None:
    for nu in (0.0, 0.3, 0.45):
        circle = solid_circle(8.0, nu)
        kappa = 6.0 * (1.0 + nu) / (7.0 + 6.0 * nu)
        assert circle.shear_area_y / circle.area == pytest.approx(kappa, rel=1e-14)
        thin = tube(100.0, 100.0 - 1e-4, nu)
        kappa = 2.0 * (1.0 + nu) / (4.0 + 3.0 * nu)  # thin-walled round tube
        assert thin.shear_area_z / thin.area == pytest.approx(kappa, rel=1e-6)
    assert solid_circle(8.0, 0.0).shear_area_y == pytest.approx(6.0 / 7.0 * pi * 16.0)
    assert rectangle(7.0, 3.0, 0.0).shear_area_z == pytest.approx(5.0 / 6.0 * 21.0)
    assert rectangle(7.0, 3.0, 0.3).shear_area_y == pytest.approx(13.0 / 15.3 * 21.0)


def test_scaled_section_keeps_its_outline() -> None:
    s = rectangle(14.0, 5.0, 0.3)
    half = s.scaled(0.5)
    for name in ("area", "shear_area_y", "shear_area_z", "I_y", "I_z", "J"):
        assert getattr(half, name) == pytest.approx(0.5 * getattr(s, name))
    assert (half.reach_y, half.reach_z) == (s.reach_y, s.reach_z)
