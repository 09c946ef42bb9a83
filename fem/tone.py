"""Lowest frequency of one span of a tensioned wire between an end that holds its slope and one that
half does, and the tension from the frequency.

Euler-Bernoulli beam, length L, tension T, mass per length m, no deflection at either end. Vibration
at ω obeys

    EI y⁗ - T y″ = m ω² y,
    α² = (√(T² + 4 EI m ω²) + T) / 2EI,    β² = (√(T² + 4 EI m ω²) - T) / 2EI,

and with the far end clamped, the near end turns against the dynamic stiffness N(ω) / D(ω),

    D = 2 α β (1 - cosh αL cos βL) + (α² - β²) sinh αL sin βL
    N = EI (α² + β²) (α cosh αL sin βL - β sinh αL cos βL)

(at rest, without tension: 4 EI / L). D = 0 gives the clamped-clamped, N = 0 the clamped-hinged
frequency; with a rotational spring k on the near end

    N + k D = 0.

Its first root lies between the first two frequencies of the span hinged at both ends, where the
left side is positive and negative (Weaver, Timoshenko & Young, Vibration Problems in Engineering,
for the equation; signs at the bounds by putting βL = π and 2π).

Tension from frequency. The hinged span sounds at ω in its n-th shape when

    T_n = m (ωL/nπ)² - EI (nπ/L)²,

so the tension sought lies between T₂, where the left side at ω is negative, and T₁, where it is
positive; in between it changes sign once, since tension raises every frequency, also by way of a
spring that grows with it. The same equation is then solved for T at the given ω, without the
frequency being searched for each T.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from fem.algebra import Array
from fem.stability import stability_functions


def span_frequency(
    L: ArrayLike, T: ArrayLike, EI: ArrayLike, mass: ArrayLike, k: ArrayLike
) -> Array:
    """Hz. L mm, T N (not negative), EI N·mm², mass tonne/mm (= 1e-12 × kg/m³ × mm²), k N·mm/rad
    (infinite: clamped).

    Arrays broadcast.  Good to rounding of a bisection, 1e-12 relative.
    """
    L, T, EI, mass, k = np.broadcast_arrays(*(np.asarray(x, float) for x in (L, T, EI, mass, k)))

    def hinged(n: int) -> Array:
        wave = n * np.pi / L
        return np.asarray(wave * np.sqrt((T + EI * wave**2) / mass))

    low, high = hinged(1), hinged(2)
    for _ in range(50):
        middle = (low + high) / 2.0
        up = _left_side(middle, L, T, EI, mass, k) > 0.0
        low, high = np.where(up, middle, low), np.where(up, high, middle)
    return np.asarray((low + high) / (4.0 * np.pi))


def span_tension(
    L: ArrayLike,
    frequency: ArrayLike,
    EI: ArrayLike,
    mass: ArrayLike,
    spring: Callable[[Array], Array],
) -> Array:
    """N, the tension at which a span sounds at ``frequency`` (Hz, more than 0); 0 where it sounds
    higher than that without tension.

    spring : from tensions of the broadcast shape to k, N·mm/rad, nowhere falling (infinite:
    clamped).  Other arguments as in `span_frequency`, which this inverts to 1e-11 of m (ωL/π)².
    """
    L, omega, EI, mass = np.broadcast_arrays(
        *(np.asarray(x, float) for x in (L, 2.0 * np.pi * np.asarray(frequency, float), EI, mass))
    )

    def hinged(n: int) -> Array:
        wave = n * np.pi / L
        return np.asarray(np.maximum(mass * (omega / wave) ** 2 - EI * wave**2, 0.0))

    low, high = hinged(2), hinged(1)
    for _ in range(50):
        middle = (low + high) / 2.0
        down = _left_side(omega, L, middle, EI, mass, spring(middle)) > 0.0
        low, high = np.where(down, low, middle), np.where(down, middle, high)
    return np.asarray(np.where(low > 0.0, (low + high) / 2.0, 0.0))


def _left_side(omega: Array, L: Array, T: Array, EI: Array, mass: Array, k: Array) -> Array:
    """N + k D, or D where k is infinite, over cosh αL."""
    root = np.sqrt(T**2 + 4.0 * EI * mass * omega**2)
    a, b = np.sqrt((root + T) / (2.0 * EI)), np.sqrt(2.0 * mass * omega**2 / (root + T))
    th, ch = np.tanh(a * L), 1.0 / np.cosh(np.minimum(a * L, 300.0))
    sin, cos = np.sin(b * L), np.cos(b * L)
    D = 2.0 * a * b * (ch - cos) + (a**2 - b**2) * th * sin
    N = EI * (a**2 + b**2) * (a * sin - b * th * cos)
    clamped = np.isinf(k)
    return np.asarray(np.where(clamped, D, N + np.where(clamped, 0.0, k) * D))


def end_turning_stiffness(L: Array, T: Array, EI: Array) -> tuple[Array, Array]:
    """Static turning stiffness of a span's end, far end clamped, and the carried-over one
    (N·mm/rad).
    """
    f = stability_functions(T * L**2 / (4.0 * EI))
    return (f.plus + f.minus) / 2.0 * EI / L, (f.plus - f.minus) / 2.0 * EI / L


def passed_on(L: ArrayLike, T: ArrayLike, EI: ArrayLike, k: ArrayLike) -> Array:
    """N·mm/rad, static turning stiffness of a span's near end whose far end turns against k.

    s - c² / (s + k), with s and c of `end_turning_stiffness`: s where k is infinite.  A span of
    length 0 is none: k itself.  Arrays broadcast.
    """
    L, T, EI, k = np.broadcast_arrays(*(np.asarray(x, float) for x in (L, T, EI, k)))
    s, c = end_turning_stiffness(np.where(L > 0.0, L, 1.0), T, EI)
    return np.asarray(np.where(L > 0.0, s - c**2 / (s + k), k))
