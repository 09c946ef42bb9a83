"""Plastic hinges of a tensioned wire: where its bending at clamps and cortices yields.

Near a clamp or cortex the bending moment of a tensioned wire falls off within a boundary layer,

    M(x) = M₀ e^(-k x),    k = √(T/EI)      (10 mm for 1.8 mm at 1000 N),

so that it yields there, over a few millimetres, and nowhere else. The layer is drawn together into
a hinge with the kink α at the end of the span, added to the slope of the elastic wire.

Section. Round, elastic and perfectly plastic, diameter d, yield stress σ_y; M_y = σ_y π d³/32,
N_y = σ_y π d²/4, n = T/N_y. The first fibre yields at |M| = M_y (1 - n). The section is exhausted,
all of it at ±σ_y, at

    |M| = M_y f(n),    f = (16/3π) sin³ φ,    φ - sin φ cos φ = (π/2) (1 - n),
    f′ = -4 cos φ,    f″ = -π / sin φ

(neutral line at ½ d cos φ off the axis; f(0) = 1.70, f(1) = 0). Both are concave in n.

Layer. While M₀ grows the layer yields further out; with dx = -dM / kM its kink is

    θ_p(M₀) = (1/k) ∫ κ_p(M) / M dM,    κ_p = κ - M/EI,

which approaches the exhausted section over kinks of the size of κ_y/k = M_y/(k EI). The strength of
a hinge that has turned by p = Σ |Δα| so far therefore is

    m(T, p) = M_y [(1 - n) + (f(n) - 1 + n) (1 - e^(-p/ϑ))],

ϑ being such that 9/10 of the way to f are covered at the kink θ_p of the layer there, at the
tension at which the wire is locked: no number is fitted. That a section once exhausted is elastic
over twice its strength when it turns back, rather than hardening about a shifted middle, is what a
section cut into fibres does under such loads (``tests/published/test_wire_yield.py``). A hardening
of 1 % of the layer's stiffness √(T EI) is added so that kinks on the two sides of a knife edge stay
unique.

Flow. A hinge turns along its moment, in whatever plane, when that reaches m; with the associated
flow the span stretches by -∂m/∂T |Δα|: d/8 |Δα| to begin with, and as far as the neutral line lies
off the axis when the section is exhausted. Both follow from the term ∫ m dp in the potential of the
wire (``fem.held_wire``), Φ = A x + B S for a turn x = |Δα| from p, with

    A = M_y (1 - n),  B = M_y (f - 1 + n),  S = x - ϑ e^(-p/ϑ) (1 - e^(-x/ϑ)).

Left out: ϑ and k change with the tension; they stay those of the wire as locked.

Source: plastic sections and their interaction with axial force, any textbook of plasticity (Jirásek
& Bažant, Inelastic Analysis of Structures, 2002; from memory).
"""

from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from fem.algebra import Array
from fem.errors import ModelError
from fem.wire_holds import Hinges

COVERED = 0.9
HARDENING = 0.01
_LEAST = 1e-9  # of 1 - n


class Strength(NamedTuple):
    """A and B (..., n) N·mm and their derivatives by T."""

    A: Array
    B: Array
    A_1: Array
    B_1: Array
    B_2: Array


def exhausted(n: Array) -> tuple[Array, Array, Array]:
    """f, f′, f″ of the round section at n = T/N_y (any shape, 0 to 1)."""
    rest = np.clip(1.0 - n, _LEAST, 1.0) * (np.pi / 2.0)
    phi = np.cbrt(1.5 * rest)
    for _ in range(6):  # Newton, from below on a convex graph: good to 1e-15
        phi = phi - (phi - np.sin(phi) * np.cos(phi) - rest) / (2.0 * np.sin(phi) ** 2)
    sine = np.sin(phi)
    return 16.0 / (3.0 * np.pi) * sine**3, -4.0 * np.cos(phi), -np.pi / sine


def strength(T: Array, M_y: Array, N_y: Array) -> Strength:
    """Parts of m at tensions T (..., n); M_y, N_y of shapes that broadcast against it."""
    n = T / N_y
    f, f_1, f_2 = exhausted(n)
    return Strength(
        A=M_y * np.maximum(1.0 - n, 0.0),
        B=M_y * (f - np.maximum(1.0 - n, 0.0)),
        A_1=np.broadcast_to(-M_y / N_y, n.shape),
        B_1=M_y / N_y * (f_1 + 1.0),
        B_2=M_y / N_y**2 * f_2,
    )


def _root(f: Callable[[float], float], low: float, high: float) -> float:
    from scipy.optimize import brentq  # loads for a tenth of a second; most wires stay elastic

    return float(brentq(f, low, high))


def _section(curvature: float, n: float, strips: int = 2000) -> tuple[float, float]:
    """M/M_y and κ_p/κ_y of the round section at κ/κ_y and tension n, from strips."""
    angle = (np.arange(strips) + 0.5) * np.pi / strips
    y, area = np.cos(angle), 2.0 * np.sin(angle) ** 2 / strips  # radius 1, area 1

    def stress(e: float) -> Array:
        return np.clip(e + curvature * y, -1.0, 1.0)

    e = _root(lambda e: float(stress(e) @ area) - n, -5.0 - curvature, 5.0 + curvature)
    moment = 4.0 * float(stress(e) @ (y * area))
    return moment, curvature - moment


@lru_cache(maxsize=256)
def layer_kink(n: float) -> float:
    """k θ_p / κ_y of the layer whose end has covered 9/10 from first yield to exhaustion."""
    most = float(exhausted(np.array(n))[0])
    goal = 1.0 - n + COVERED * (most - 1.0 + n)
    last = _root(lambda k: _section(k, n)[0] - goal, 1.0 - n, 1e3)
    # over the curvature, in which moment and plastic curvature are smooth
    nodes, weights = np.polynomial.legendre.leggauss(40)
    kappa = (1.0 - n) + (last - 1.0 + n) * (nodes + 1.0) / 2.0
    step = 1e-4 * (last - 1.0 + n)
    total = 0.0
    for k, weight in zip(kappa, weights, strict=True):
        M, plastic = _section(float(k), n)
        slope = (_section(float(k + step), n)[0] - _section(float(k - step), n)[0]) / (2.0 * step)
        total += weight * plastic / M * slope
    return total * (last - 1.0 + n) / 2.0


def hinges(diameter: Array, yield_stress: Array, EI: Array, tension: Array) -> Hinges:
    """Hinges of wires (w,): diameter mm, yield_stress MPa (infinite: stays elastic), EI N·mm²,
    tension N at which they are locked, more than 0 and below σ_y π d²/4.
    """
    d, sigma, EI, T = np.broadcast_arrays(
        *(np.asarray(v, dtype=float) for v in (diameter, yield_stress, EI, tension))
    )
    N_y = sigma * np.pi * d**2 / 4.0
    if not ((d > 0) & (sigma > 0) & (EI > 0) & (T > 0) & (N_y > T)).all():
        raise ModelError(
            "plastic hinges need a diameter, a yield stress, EI and a tension above 0, and a "
            f"tension below yield (got {d.tolist()} mm, {sigma.tolist()} MPa, {EI.tolist()} N·mm², "
            f"{T.tolist()} N)."
        )
    M_y = sigma * np.pi * d**3 / 32.0
    kink = np.array([layer_kink(round(float(t / y), 3)) for t, y in zip(T, N_y, strict=True)])
    finite = np.where(np.isfinite(M_y), M_y, 1.0)
    spread = kink / -np.log(1.0 - COVERED) * finite / np.sqrt(T * EI)
    return Hinges(M_y=M_y, N_y=N_y, H=HARDENING * np.sqrt(T * EI), spread=spread)
