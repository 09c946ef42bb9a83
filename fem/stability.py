"""Stability functions of a beam under constant axial force, tension positive.

A prismatic beam of length L, bending stiffness EI and tension T, without load between its ends,
whose end slopes relative to its chord are β₁, β₂, has end moments (Livesley & Chandler, Stability
Functions for Structural Frameworks, 1956)

    M₁ = (EI/L)(s β₁ + s c β₂),   M₂ = (EI/L)(s c β₁ + s β₂).

In the modes (β₁ + β₂) and (β₁ - β₂) the matrix is diagonal, and its two values are short.  With

    q = T L² / 4EI,   μ = √q,   g(q) = μ coth μ      (μ cot μ with μ = √-q in compression)

    k₊ = s + s c = 2 q / (g - 1)   → 6,        k₋ = s - s c = 2 g   → 2      as T → 0,

so that the bending energy, the work of T on the bowing included, is

    U = (EI / 4L) [k₊ (β₁ + β₂)² + k₋ (β₁ - β₂)²].

Since at fixed T the beam takes the shape of least ∫ (½ EI y″² + ½ T y′²) dx = U, the derivative of
U by T is the shortening by bowing, ½ ∫ y′² dx (envelope theorem). The derivatives by q follow from
the Riccati equation of x coth x:

    2 q g′ = g - g² + q,    2 q g″ = 1 - g′ - 2 g g′.

Both lose digits near q = 0, where the power series of x coth x (coefficients 2²ⁿ B₂ₙ / (2n)!,
radius of convergence π² in q) takes over: 18 terms at |q| < 0.8 are good to 1e-16.
"""

from fractions import Fraction
from math import factorial
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

_TERMS = 18
_SERIES_BELOW = 0.8


class StabilityFunctions(NamedTuple):
    """k₊ and k₋ with their first and second derivatives by q; each of the shape of q."""

    plus: Array
    plus_1: Array
    plus_2: Array
    minus: Array
    minus_1: Array
    minus_2: Array


def _series() -> tuple[Array, Array]:
    """Power series in q of k₊ and k₋, by exact division of the series of x cosh x and sinh x."""
    n = _TERMS + 2
    cosh = [Fraction(1, factorial(2 * i)) for i in range(n)]
    sinh = [Fraction(1, factorial(2 * i + 1)) for i in range(n)]  # sinh x / x
    g: list[Fraction] = []
    for i in range(n):
        g.append(cosh[i] - sum((g[j] * sinh[i - j] for j in range(i)), Fraction(0)))
    w = g[1:]  # (g - 1) / q
    k: list[Fraction] = []  # q / (g - 1)
    for i in range(len(w)):
        rest = sum((k[j] * w[i - j] for j in range(i)), Fraction(0))
        k.append(((1 if i == 0 else 0) - rest) / w[0])
    plus = np.array([float(2 * c) for c in k[:_TERMS]])
    minus = np.array([float(2 * c) for c in g[:_TERMS]])
    return plus, minus


_PLUS, _MINUS = _series()


def _derivatives(coefficients: Array) -> Array:
    """(terms, 3) of the series, its first and its second derivative, highest power first."""
    n = np.arange(len(coefficients))
    first = (n * coefficients)[1:]
    second = (n[: len(first)] * first)[1:]
    rows = [np.pad(c[::-1], (len(n) - len(c), 0)) for c in (coefficients, first, second)]
    return np.stack(rows, axis=1)


_COEFFICIENTS = np.concatenate([_derivatives(_PLUS), _derivatives(_MINUS)], axis=1)


def stability_functions(q: ArrayLike) -> StabilityFunctions:
    """k₊, k₋ and derivatives at ``q = T L² / 4EI`` (any shape; negative in compression).

    Good to about 1e-13 relative. In compression beyond the first buckling load the values are those
    of the formula (negative stiffness), infinite at the buckling loads themselves.
    """
    q = np.asarray(q, dtype=float)
    small = np.abs(q) < _SERIES_BELOW
    if small.all():
        return _by_series(q)
    far = _closed(np.where(small, 1.0, q))
    if not small.any():
        return far
    near = _by_series(np.where(small, q, 0.0))
    return StabilityFunctions(*(np.where(small, a, b) for a, b in zip(near, far, strict=True)))


def _by_series(q: Array) -> StabilityFunctions:
    value = np.zeros((_COEFFICIENTS.shape[1], *q.shape))
    for c in _COEFFICIENTS.reshape(*_COEFFICIENTS.shape, *(1,) * q.ndim):  # Horner
        value *= q
        value += c
    return StabilityFunctions(*value)


def _closed(q: Array) -> StabilityFunctions:
    mu = np.sqrt(np.abs(q))
    if (q > 0).all():
        g = mu / np.tanh(mu)
    else:
        with np.errstate(divide="ignore"):
            g = np.where(q > 0, mu / np.tanh(mu), mu / np.tan(mu))
    g1 = (g - g * g + q) / (2.0 * q)
    g2 = (1.0 - g1 - 2.0 * g * g1) / (2.0 * q)
    w = g - 1.0
    v = w - q * g1
    plus = 2.0 * q / w
    plus_1 = 2.0 * v / w**2
    plus_2 = -2.0 * (q * g2 * w + 2.0 * g1 * v) / w**3
    return StabilityFunctions(plus, plus_1, plus_2, 2.0 * g, 2.0 * g1, 2.0 * g2)


def s_and_c(q: ArrayLike) -> tuple[Array, Array]:
    """Classical stiffness ``s`` and carry-over factor ``c`` (4 and 1/2 without axial force)."""
    f = stability_functions(q)
    s = (f.plus + f.minus) / 2.0
    return s, (f.plus - f.minus) / 2.0 / s
