"""A free ring pressed together on a diameter: handbook values and the law for every diameter.

0.149 and 0.137 WR³/EI: Roark's Formulas for Stress and Strain, circular rings,
case 1 (from memory).
"""

from math import pi, radians

import pytest
from scipy.optimize import brentq

from fem import Section
from tests.fem.linear_models import deflections
from tests.published.ring_models import (
    I_RING,
    STEEL,
    at,
    build_ring,
    full_section,
    inextensible,
    inward,
    pinch,
    pinch_bending,
    shortening,
    without_shear,
)

R = 85.0
W = 100.0
UNIT = W * R**3 / (STEEL.E * I_RING)
DIAMETERS = (0.0, 20.0, 30.0, 43.89, 45.0, 60.0, 75.0, 90.0)
PRINTED = (0.14878, 0.10842, 0.06683, 0.0, -0.00539, -0.07271, -0.11978, -0.13662)


def pinched(section: Section, load_at: float = 0.0) -> list[float]:
    """Shortening of every diameter, in WR³/EI."""
    angles = [load_at + d for d in DIAMETERS]
    model = build_ring(R, section, angles).build()
    loads = {at(b): [*(W * inward(b)), 0, 0, 0] for b in (load_at, load_at + 180.0)}
    d = deflections(model, loads)
    return [shortening(d, b) / UNIT for b in angles]


@pytest.mark.parametrize("load_at", [0.0, 123.0])
def test_law_of_every_diameter(load_at: float) -> None:
    """Slender inextensible ring: the printed digits, far within half a percent of 0.149."""
    for got, printed, degrees in zip(
        pinched(inextensible(), load_at), PRINTED, DIAMETERS, strict=True
    ):
        assert got == pytest.approx(printed, abs=1e-5)
        assert got == pytest.approx(pinch_bending(radians(degrees)), abs=1e-6)


def test_roarks_two_diameters() -> None:
    along, *_, across = pinched(inextensible())
    assert along == pytest.approx(0.149, abs=0.0005)
    assert -across == pytest.approx(0.137, abs=0.0005)


def test_hoop_compression() -> None:
    """14 × 5 mm ring, I/AR² = 0.0023: π/4 and 1/2 of it are added."""
    along, *_, across = pinched(without_shear())
    ratio = I_RING / (70.0 * R**2)
    assert along == pytest.approx(0.14878 + pi / 4 * ratio, abs=1e-5)
    assert across == pytest.approx(-0.13662 + 0.5 * ratio, abs=1e-5)
    assert along == pytest.approx(0.1506, abs=6e-5)
    assert across == pytest.approx(-0.1355, abs=6e-5)


def test_hoop_compression_and_shear_on_every_diameter() -> None:
    for got, degrees in zip(pinched(full_section()), DIAMETERS, strict=True):
        want = pinch(radians(degrees), R, full_section()) * W / UNIT
        assert got == pytest.approx(want, abs=1e-8)


def test_diameter_that_keeps_its_length() -> None:
    """43.89° from the load: half a degree aside the sign is clear."""
    zero = brentq(pinch_bending, 0.5, 1.0)
    assert zero == pytest.approx(radians(43.89), abs=radians(0.005))
    model = build_ring(R, inextensible(), [0.0, 43.4, 44.4]).build()
    d = deflections(model, {at(b): [*(W * inward(b)), 0, 0, 0] for b in (0.0, 180.0)})
    assert shortening(d, 43.4) > 0.0 > shortening(d, 44.4)
