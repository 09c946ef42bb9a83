"""A free ring of arcs, and the closed form of its pinch.

Thin ring of radius R, in-plane bending stiffness EI.  Two forces W press it together on a diameter.
At the angle θ from them a section carries, in the quadrant 0 < θ < π/2,

    M = W R (1/π - ½ sin θ),   N = -½ W sin θ,   V = ½ W cos θ,

and a diameter at the angle φ to the forces shortens by ∫ (M m/EI + N n/EA + V v/GA_s) R dθ with m,
n, v those of a unit pair along it (unit load method: textbooks).  The bending part is

    Δ(φ) = (W R³/EI) [½ sin φ - ½ (φ - π/2) cos φ - 2/π],   0 ≤ φ ≤ π.
"""

from collections.abc import Callable, Iterable, Mapping
from itertools import pairwise
from math import cos, inf, pi, radians, sin

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.integrate import quad

from fem import Material, ModelBuilder, Section, rectangle

Array = NDArray[np.float64]

STEEL = Material(E=193_000.0, nu=0.3, name="stainless steel")
WIDTH, THICKNESS = 14.0, 5.0  # mm, across and along the bone
I_RING = THICKNESS * WIDTH**3 / 12.0


def full_section() -> Section:
    """Hoop compression and shear included."""
    return rectangle(WIDTH, THICKNESS, STEEL.nu)


def without_shear() -> Section:
    s = full_section()
    return Section(s.area, inf, inf, s.I_y, s.I_z, s.J, s.reach_y, s.reach_z)


def inextensible() -> Section:
    """Bends only: what is left of hoop compression is 1e-6 of the bending."""
    s = full_section()
    return Section(1e4 * s.area, inf, inf, s.I_y, s.I_z, s.J, s.reach_y, s.reach_z)


def pinch_bending(phi: float) -> float:
    """Δ EI / W R³ at φ (rad)."""
    return 0.5 * sin(phi) - 0.5 * (phi - pi / 2) * cos(phi) - 2 / pi


def pinch(phi: float, R: float, section: Section) -> float:
    """Δ/W (mm/N) with hoop compression and shear of the section."""
    # N and V by |sin|, cos sign of the place against either pair; kinks at 0 and φ
    breaks = sorted({0.0, phi % pi, pi})

    def hoop(t: float) -> float:
        return abs(sin(t)) * abs(sin(t - phi)) / 4

    def shear(t: float) -> float:
        return float(cos(t) * cos(t - phi) * np.sign(sin(t) * sin(t - phi)) / 4)

    def ring(f: Callable[[float], float]) -> float:
        return 2 * sum(quad(f, a, b)[0] for a, b in pairwise(breaks))

    E, G = STEEL.E, STEEL.G
    total = pinch_bending(phi) * R**3 / (E * section.I_z)
    total += ring(hoop) * R / (E * section.area)
    return total + ring(shear) * R / (G * section.shear_area_y)


def build_ring(R: float, section: Section, bearings: Iterable[float]) -> ModelBuilder:
    """Ring about z with nodes "r<deg>" at the bearings (deg) and opposite them, free but for one
    node held so that it does not move as a whole."""
    build = ModelBuilder()
    all_of_them = sorted({b % 360.0 for f in bearings for b in (f, f + 180.0)})
    for b in all_of_them:
        build.node(at(b), [R * cos(radians(b)), R * sin(radians(b)), 0.0])
    for i, b in enumerate(all_of_them):
        following = all_of_them[(i + 1) % len(all_of_them)]
        build.arc(f"arc {b}", at(b), at(following), [0, 0, 0], [0, 0, 1], section, STEEL)
    build.fix(at(all_of_them[0]))
    return build


def at(bearing: float) -> str:
    return f"r{bearing % 360.0:.10g}"


def inward(bearing: float) -> Array:
    """(3,) unit vector from the node at a bearing to the opposite one."""
    return -np.array([cos(radians(bearing)), sin(radians(bearing)), 0.0])


def shortening(displacement: Mapping[str, ArrayLike], bearing: float) -> float:
    """Of the diameter at a bearing, mm."""
    a, b = (np.asarray(displacement[at(x)])[:3] for x in (bearing, bearing + 180.0))
    return float((a - b) @ inward(bearing))
