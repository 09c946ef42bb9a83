"""The tone of a wire: tables and formulas of the stiff string, and a fine-mesh
eigenvalue problem."""

from math import pi, sqrt

import numpy as np
import pytest
from scipy.linalg import eigh

from fem.tone import end_turning_stiffness, passed_on, span_frequency, span_tension
from tests.fem.wire_models import KGF, stiffnesses

CLAMPED = np.inf


def clamped(T: np.ndarray) -> np.ndarray:
    return np.full_like(T, CLAMPED)


TENSIONS_KGF = (50, 90, 110, 130)


def mass(diameter: float) -> float:
    """Tonne/mm of stainless steel, 7,900 kg/m³ (handbooks)."""
    return 7900e-12 * pi * diameter**2 / 4.0


def tone(d: float, L: float, T: float, k: float = CLAMPED) -> float:
    return float(span_frequency(L, T, stiffnesses(d)[1], mass(d), k))


def string(d: float, L: float, T: float) -> float:
    return sqrt(T / mass(d)) / (2.0 * L)


# exact frequencies of the clamped Euler-Bernoulli beam under tension, Hz, computed from its
# frequency equation; a bench test agreed with that theory within 3.2 Hz (La Russa, Skallerud,
# Klaksvik, Foss, J Biomech 2010)
TABLE = pytest.mark.parametrize(
    ("d", "L", "hertz"),
    [
        (1.5, 180.0, (593.5, 767.1, 839.6, 906.0)),
        (1.8, 180.0, (530.5, 671.0, 730.4, 784.8)),
        (1.8, 150.0, (668.5, 833.0, 903.1, 967.5)),
        (2.0, 180.0, (505.7, 628.5, 680.9, 729.1)),
        (1.8, 75.0, (1820.0, 2087.0, 2207.0, 2320.0)),
        (1.8, 60.0, (2633.0, 2929.0, 3065.0, 3194.0)),
    ],
)


@TABLE
def test_clamped_wires(d: float, L: float, hertz: tuple[float, ...]) -> None:
    for kgf, want in zip(TENSIONS_KGF, hertz, strict=True):
        assert tone(d, L, kgf * KGF) == pytest.approx(want, rel=3e-4)


@TABLE
def test_tension_of_clamped_wires(d: float, L: float, hertz: tuple[float, ...]) -> None:
    """The same table read backwards: the tones are rounded to 1e-4, the tension to 3e-4 and more
    the less of the tone it makes."""
    for kgf, heard in zip(TENSIONS_KGF, hertz, strict=True):
        rounding = 0.05 if heard < 1000.0 else 0.5
        found, above = (
            float(span_tension(L, f, stiffnesses(d)[1], mass(d), clamped))
            for f in (heard, heard + 1.2 * rounding)
        )
        assert found == pytest.approx(kgf * KGF, abs=above - found)


def test_one_kilogram_more() -> None:
    """About 3.0 Hz/kgf near 100 kgf on 180 mm of 1.8 mm wire (a difference in the table), so that
    3.2 Hz are about 1.1 kgf."""
    slope = (tone(1.8, 180.0, 101 * KGF) - tone(1.8, 180.0, 99 * KGF)) / 2.0
    assert slope == pytest.approx((730.4 - 671.0) / 20.0, abs=0.02)
    assert slope == pytest.approx(3.0, abs=0.05)
    assert 3.2 / slope == pytest.approx(1.1, abs=0.05)


def test_clamped_beam_without_tension() -> None:
    """ω = 22.3733 √(EI / m L⁴): textbooks of vibration, from memory; 244.4 Hz here."""
    d, L = 1.8, 180.0
    want = 22.3733 * sqrt(stiffnesses(d)[1] / (mass(d) * L**4)) / (2.0 * pi)
    assert tone(d, L, 0.0) == pytest.approx(want, rel=2e-6)  # six digits of the constant
    assert want == pytest.approx(244.4, abs=0.05)


def test_beam_clamped_at_one_end_and_hinged_at_the_other() -> None:
    """ω = 15.4182 √(EI / m L⁴) with no spring at the near end (the same textbooks)."""
    d, L = 1.8, 180.0
    want = 15.4182 * sqrt(stiffnesses(d)[1] / (mass(d) * L**4)) / (2.0 * pi)
    assert tone(d, L, 0.0, k=0.0) == pytest.approx(want, rel=4e-6)


@pytest.mark.parametrize(
    ("d", "L", "kgf", "short"),
    [(1.8, 180.0, 130, 0.1), (1.8, 180.0, 50, 0.3), (1.8, 150.0, 130, 0.2), (2.0, 180.0, 50, 0.4)],
)
def test_fletchers_formula(d: float, L: float, kgf: float, short: float) -> None:
    """f₁ = f₀ √(1+B) [1 + (2/π) √B + (4/π²) B], B = π² EI/TL²: H. Fletcher, J. Acoust. Soc. Am. 36
    (1964) 203-209, from memory.  An expansion in √B that reads up to ``short`` percent low here."""
    T = kgf * KGF
    B = pi**2 * stiffnesses(d)[1] / (T * L**2)
    f = string(d, L, T) * sqrt(1 + B) * (1 + 2 / pi * sqrt(B) + 4 / pi**2 * B)
    error = 100.0 * (f / tone(d, L, T) - 1.0)
    assert error == pytest.approx(-short, abs=0.06)


def test_plain_string_reads_low() -> None:
    """By 11 to 18 % from 130 to 50 kgf on 180 mm, by a quarter to nearly half on half a span."""
    low = [1.0 - string(1.8, 180.0, kgf * KGF) / tone(1.8, 180.0, kgf * KGF) for kgf in (130, 50)]
    assert low == pytest.approx([0.11, 0.18], abs=0.005)
    assert string(1.8, 75.0, 50 * KGF) / tone(1.8, 75.0, 50 * KGF) == pytest.approx(0.572, abs=1e-3)


@pytest.mark.parametrize(
    ("L", "kgf", "times"), [(180.0, 130, 1.26), (180.0, 90, 1.33), (75.0, 130, 1.91)]
)
def test_plain_string_reads_too_much_tension(L: float, kgf: int, times: float) -> None:
    """T = 4 m L² f²: a quarter to a third too much on 180 mm, nearly twice on half a span."""
    heard = tone(1.8, L, kgf * KGF)
    assert 4.0 * mass(1.8) * L**2 * heard**2 / (kgf * KGF) == pytest.approx(times, abs=0.006)


def test_limit_of_a_string() -> None:
    assert float(span_frequency(180.0, 1000.0, 1e-4, 2e-8, CLAMPED)) == pytest.approx(
        sqrt(1000.0 / 2e-8) / 360.0, rel=1e-5
    )


def fine_mesh(d: float, L: float, T: float, k: float, elements: int = 100) -> float:
    """Hz by cubic beam elements with geometric stiffness and consistent mass: error 2e-7 at 100
    (fourth order)."""
    h, EI, m = L / elements, stiffnesses(d)[1], mass(d)
    bend = [[12, 6 * h, -12, 6 * h], [6 * h, 4 * h**2, -6 * h, 2 * h**2]]
    bend += [[-12, -6 * h, 12, -6 * h], [6 * h, 2 * h**2, -6 * h, 4 * h**2]]
    pull = [[36, 3 * h, -36, 3 * h], [3 * h, 4 * h**2, -3 * h, -(h**2)]]
    pull += [[-36, -3 * h, 36, -3 * h], [3 * h, -(h**2), -3 * h, 4 * h**2]]
    inert = [[156, 22 * h, 54, -13 * h], [22 * h, 4 * h**2, 13 * h, -3 * h**2]]
    inert += [[54, 13 * h, 156, -22 * h], [-13 * h, -3 * h**2, -22 * h, 4 * h**2]]
    stiff = EI / h**3 * np.array(bend) + T / (30 * h) * np.array(pull)
    n = 2 * elements + 2
    K, M = np.zeros((n, n)), np.zeros((n, n))
    for i in range(elements):
        at = slice(2 * i, 2 * i + 4)
        K[at, at] += stiff
        M[at, at] += m * h / 420 * np.array(inert)
    held = [0, n - 2, n - 1]  # near deflection, far deflection and slope
    if np.isinf(k):
        held.append(1)
    else:
        K[1, 1] += k
    free = np.setdiff1d(np.arange(n), held)
    values = eigh(K[np.ix_(free, free)], M[np.ix_(free, free)], eigvals_only=True)
    return float(sqrt(values[0]) / (2 * pi))


@pytest.mark.parametrize("T", [0.0, 490.0, 1275.0])
@pytest.mark.parametrize("k", [0.0, 300.0, 3000.0, 3e4, CLAMPED])
def test_end_that_half_holds_its_slope(k: float, T: float) -> None:
    for L in (75.0, 180.0):
        assert tone(1.8, L, T, k) == pytest.approx(fine_mesh(1.8, L, T, k), rel=1e-6)


def test_arrays_broadcast() -> None:
    L, T = np.array([75.0, 180.0])[:, None], np.array([490.0, 883.0, 1275.0])
    EI, m = stiffnesses(1.8)[1], mass(1.8)
    together = span_frequency(L, T, EI, m, CLAMPED)
    assert together.shape == (2, 3)
    for i, j in np.ndindex(2, 3):
        assert together[i, j] == span_frequency(L[i, 0], T[j], EI, m, CLAMPED)


def test_turning_stiffness_of_a_span() -> None:
    """4 EI/L with carry-over 2 EI/L without tension; √(EI T) and none for a long taut wire."""
    EI = stiffnesses(1.8)[1]
    near, far = end_turning_stiffness(np.array(75.0), np.array(0.0), np.array(EI))
    assert (near, far) == (pytest.approx(4 * EI / 75.0), pytest.approx(2 * EI / 75.0))
    near, far = end_turning_stiffness(np.array(1e5), np.array(1275.0), np.array(EI))
    assert near == pytest.approx(sqrt(EI * 1275.0), rel=1e-3)
    assert abs(far) < 1e-3 * near


@pytest.mark.parametrize("d", [0.5, 1.5, 1.8, 4.0])
@pytest.mark.parametrize("L", [10.0, 60.0, 180.0, 400.0])
def test_tension_from_frequency_is_the_inverse(d: float, L: float) -> None:
    """Also far outside use; to 1e-11 of m (ωL/π)², the part of it that a string would have."""
    T = np.array([0.0, 1e-3, 1.0, 50.0, 490.0, 1275.0, 5000.0])[:, None]
    EI, m = stiffnesses(d)[1], mass(d)
    springs = (0.0, 300.0, 3e4, CLAMPED)

    def spring(t: np.ndarray) -> np.ndarray:  # grows with tension, as the rest of a wire does
        return np.broadcast_to(springs, t.shape) + t

    f = span_frequency(L, T, EI, m, spring(np.broadcast_to(T, (7, 4))))
    found = span_tension(L, f, EI, m, spring)
    assert (np.abs(found - T) < 1e-11 * m * (2 * L * f) ** 2).all()


def test_lower_than_without_tension() -> None:
    EI, m = stiffnesses(1.8)[1], mass(1.8)
    lowest = tone(1.8, 75.0, 0.0)
    heard = lowest * np.array([1e-6, 0.3, 0.9999, 1.0001])
    found = span_tension(75.0, heard, EI, m, clamped)
    assert (found[:3] == 0.0).all()
    assert found[3] > 0.0


def test_spring_behind_a_span() -> None:
    """Far end free to turn: 3 EI/L; clamped: 4 EI/L; no span: what is behind it."""
    EI = stiffnesses(1.8)[1]
    found = passed_on([75.0, 75.0, 0.0, 0.0], 0.0, EI, [0.0, CLAMPED, 300.0, CLAMPED])
    assert found == pytest.approx([3 * EI / 75.0, 4 * EI / 75.0, 300.0, CLAMPED])


def test_one_more_hold_stiffens() -> None:
    """A long taut wire turns with √(EI T); held sideways 75 mm on as well it is stiffer, clamped
    there stiffer still."""
    EI, T = stiffnesses(1.8)[1], 1275.0
    endless = passed_on(1e5, T, EI, 0.0)
    assert endless == pytest.approx(sqrt(EI * T), rel=1e-3)
    assert endless < passed_on(75.0, T, EI, endless) < passed_on(75.0, T, EI, CLAMPED)
