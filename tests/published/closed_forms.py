"""Closed forms for a pretensioned wire that the kernel does not use.

A wire clamped at both ends, span L, tension T, stiffnesses EA and EI, load F in the middle.  With
k = √(T/EI), each quarter of length a = L/4 runs from a clamp to a point of inflection:

    slope       s(ξ) = (F/2T) [1 - cosh kξ / cosh ka],   ξ from the inflection
    deflection  δ = (F L / 4T) [1 - tanh ka / ka]
    moment      M = (F/2) tanh(ka) / k     at the clamp
    stretch     4 · ½ ∫₀ᵃ s² dξ = (F²/2T²) [a - 2 tanh(ka)/k + (a/2 + sinh(2ka)/4k) / cosh² ka]

(beam under axial force: Timoshenko, Strength of Materials; moderate slopes after von Karman).
"""

from dataclasses import dataclass
from math import cosh, sinh, sqrt, tanh

from scipy.optimize import brentq


def small_load_stiffness(T: float, L: float, EI: float) -> float:
    """K₀ = dF/dδ without load, N/mm.  A bone block of width w held parallel: L less w."""
    ka = sqrt(T / EI) * L / 4.0
    return 4.0 * T / L / (1.0 - tanh(ka) / ka)


@dataclass(frozen=True)
class LoadedWire:
    """deflection mm, tension N, clamp_moment N·mm."""

    deflection: float
    tension: float
    clamp_moment: float


def loaded_wire(
    F: float, T0: float, L: float, EA: float, EI: float, block: float = 0.0
) -> LoadedWire:
    """Under load F, pretension T0, clamp distance L, of which ``block`` is bone kept parallel."""
    a = (L - block) / 4.0

    def stretch(T: float) -> float:
        k = sqrt(T / EI)
        bowed = (a / 2.0 + sinh(2.0 * k * a) / (4.0 * k)) / cosh(k * a) ** 2
        return F**2 / (2.0 * T**2) * (a - 2.0 * tanh(k * a) / k + bowed)

    T = brentq(lambda T: T - T0 - EA * stretch(T) / L, T0, T0 + 1e5, xtol=1e-10)
    k = sqrt(T / EI)
    return LoadedWire(F / T * (a - tanh(k * a) / k), T, F / 2.0 * tanh(k * a) / k)
