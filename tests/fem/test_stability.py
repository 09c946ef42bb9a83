"""Stability functions against the classical table, exact rational arithmetic and limits."""

from fractions import Fraction
from math import cos, factorial, pi, sin, sqrt

import numpy as np
import pytest

from fem.stability import s_and_c, stability_functions

# P/P_E (compression positive), s, c: the classical functions; the digits agree with the tables of
# Livesley & Chandler, Stability Functions for Structural Frameworks, 1956 (from memory)
TABLE = [
    (3.0, -5.0320, -1.4157),
    (2.0, 0.1428, 24.684),
    (1.0, 2.4674, 1.0000),
    (0.5, 3.2945, 0.6659),
    (0.0, 4.0, 0.5),
    (-1.0, 5.1748, 0.3381),
    (-2.0, 6.1468, 0.2600),
    (-5.0, 8.4169, 0.1639),
    (-10.0, 11.186, 0.1118),
    (-20.0, 15.216, 0.0766),
]


def q_of(load_ratio: float) -> float:
    """q = T L²/4EI for a compression of ``load_ratio`` times π² EI/L²."""
    return -load_ratio * pi**2 / 4.0


@pytest.mark.parametrize(("ratio", "s", "c"), TABLE)
def test_table_of_s_and_c(ratio: float, s: float, c: float) -> None:
    got_s, got_c = s_and_c(q_of(ratio))
    # four or five printed digits; at twice the Euler load s is nearly nought
    assert got_s == pytest.approx(s, abs=0.6e-3 if abs(s) > 10 else 0.6e-4)
    assert got_c == pytest.approx(c, abs=0.6e-3 if abs(c) > 10 else 0.6e-4)


@pytest.mark.parametrize("ratio", [0.1, 0.4, 0.9, 1.7, 2.5, 3.9, 6.0])
def test_classical_formula_in_compression(ratio: float) -> None:
    """s = u(sin u - u cos u)/(2 - 2 cos u - u sin u), c = (u - sin u)/(sin u - u cos u)."""
    u = pi * sqrt(ratio)
    s, c = s_and_c(q_of(ratio))
    # 1e-10: the quotients of the classical form cancel up to five digits at small u
    assert s == pytest.approx(u * (sin(u) - u * cos(u)) / (2 - 2 * cos(u) - u * sin(u)), rel=1e-10)
    assert c == pytest.approx((u - sin(u)) / (sin(u) - u * cos(u)), rel=1e-10)


def exactly(q: Fraction) -> list[float]:
    """k₊, k₋ and their two derivatives from the series of cosh √q and sinh √q / √q in fractions."""
    terms = range(40)  # below 1e-40 for |q| ≤ 20
    cosh = [Fraction(1, factorial(2 * i)) for i in terms]
    sinh = [Fraction(1, factorial(2 * i + 1)) for i in terms]

    def at(series: list[Fraction], order: int) -> Fraction:
        total = Fraction(0)
        for i, a in enumerate(series):
            if i >= order:
                total += a * Fraction(factorial(i), factorial(i - order)) * q ** (i - order)
        return total

    C, S = ([at(series, n) for n in range(3)] for series in (cosh, sinh))

    def quotient(a: list[Fraction], b: list[Fraction]) -> list[Fraction]:
        f = a[0] / b[0]
        f1 = (a[1] - f * b[1]) / b[0]
        return [f, f1, (a[2] - 2 * f1 * b[1] - f * b[2]) / b[0]]

    g = quotient(C, S)
    minus = [2 * v for v in g]
    plus = quotient([2 * q, Fraction(2), Fraction(0)], [g[0] - 1, g[1], g[2]])
    return [float(v) for v in (*plus, *minus)]


# the series takes over at |q| = 0.8: values on both sides of the switch and around it
@pytest.mark.parametrize(
    "q",
    [-9, -4, -2, -1, -0.801, -0.799, -0.1, 1e-9, 0.01, 0.5, 0.799, 0.801, 1, 3, 8, 20],
)
def test_values_and_derivatives_against_exact_arithmetic(q: float) -> None:
    got = np.array(stability_functions(q))
    want = exactly(Fraction(q))
    # second derivatives of the closed form lose two to three digits near the switch
    assert got == pytest.approx(np.array(want), rel=2e-12)


def test_series_and_closed_form_join() -> None:
    for switch in (0.8, -0.8):
        inside, outside = np.array(
            [stability_functions(switch * (1.0 - 1e-9)), stability_functions(switch * (1.0 + 1e-9))]
        )
        slopes = np.array([inside[1], inside[2], 0.0, inside[4], inside[5], 0.0])
        step = 2e-9 * switch
        assert outside[[0, 1, 3, 4]] == pytest.approx(
            (inside + step * slopes)[[0, 1, 3, 4]], rel=1e-12
        )
        assert outside[[2, 5]] == pytest.approx(
            inside[[2, 5]], rel=1e-8
        )  # third derivatives unknown


def test_limits() -> None:
    s, c = s_and_c(0.0)
    assert (s, c) == (4.0, 0.5)
    q = 1e8  # a string: k₊ → 2 √q (1 + 1/√q), k₋ → 2 √q
    f = stability_functions(q)
    assert f.minus == pytest.approx(2e4, rel=1e-15)
    assert f.plus == pytest.approx(2.0 * q / (1e4 - 1.0), rel=1e-15)


def test_any_shape_gives_what_each_value_gives() -> None:
    q = np.array([[-2.0, 0.3, 0.0], [5.0, -0.5, 900.0]])
    together = np.array(stability_functions(q))
    assert together.shape == (6, 2, 3)
    for index in np.ndindex(2, 3):
        assert np.array_equal(
            together[(slice(None), *index)], np.array(stability_functions(q[index]))
        )
