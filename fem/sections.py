"""Cross-sections: area, second moments, St Venant torsion constant, shear areas.

Local axes of a member: x along it, y and z the principal axes of its section.
``I_y = ∫ z² dA`` resists bending about y, ``I_z = ∫ y² dA`` bending about z.

Shear areas ``A_s = κ A`` with Cowper's coefficients (G. R. Cowper, J. Appl. Mech. 33, 1966,
335-340):

    solid circle   κ = 6(1 + ν) / (7 + 6ν)
    tube           κ = 6(1 + ν)(1 + m²)² / ((7 + 6ν)(1 + m²)² + (20 + 12ν) m²),  m = inner / outer
    rectangle      κ = 10(1 + ν) / (12 + 11ν)

Torsion constant of a rectangle, sides a ≥ b (Timoshenko and Goodier, Theory of Elasticity, §109):

    J = a b³ [1/3 - (64 / π⁵)(b / a) Σ_{n odd} tanh(nπa / 2b) / n⁵]
"""

from dataclasses import dataclass, fields
from functools import lru_cache
from math import isfinite, pi, tanh

import numpy as np

from fem.algebra import Array
from fem.errors import ModelError
from fem.materials import Material


@dataclass(frozen=True)
class Section:
    """Properties of a section, mm², mm⁴; ``reach_y``, ``reach_z``: outermost fibre from the axis,
    mm.
    """

    area: float
    shear_area_y: float
    shear_area_z: float
    I_y: float
    I_z: float
    J: float
    reach_y: float
    reach_z: float
    name: str = "section"

    def __post_init__(self) -> None:
        for f in fields(self):
            value = getattr(self, f.name)
            if f.name == "name":
                continue
            shear = f.name.startswith("shear_area")  # infinite: no shear deformation
            if not value > 0 or not (shear or isfinite(value)):
                raise ModelError(
                    f"section {self.name!r}: {f.name} must be more than 0 (got {value}).",
                    part=self.name,
                )

    def scaled(self, factor: float) -> "Section":
        """The same outline with all stiffness properties times ``factor`` (loss by holes)."""
        return Section(
            area=self.area * factor,
            shear_area_y=self.shear_area_y * factor,
            shear_area_z=self.shear_area_z * factor,
            I_y=self.I_y * factor,
            I_z=self.I_z * factor,
            J=self.J * factor,
            reach_y=self.reach_y,
            reach_z=self.reach_z,
            name=self.name,
        )


def section_flexibility(section: Section, material: Material) -> Array:
    """(6,) strain by force of the section along and about (x, y, z): 1/EA, 1/GA_sy, 1/GA_sz, 1/GJ,
    1/EI_y, 1/EI_z.
    """
    E, G, s = material.E, material.G, section
    return 1.0 / np.array(
        [
            E * s.area,
            G * s.shear_area_y,
            G * s.shear_area_z,
            G * s.J,
            E * s.I_y,
            E * s.I_z,
        ]
    )


def _positive(what: str, value: float, name: str) -> None:
    if not (isfinite(value) and value > 0):
        raise ModelError(
            f"section {name!r}: {what} must be more than 0 mm (got {value}).", part=name
        )


def solid_circle(diameter: float, nu: float, name: str = "solid circle") -> Section:
    """Round bar of ``diameter`` (mm)."""
    _positive("diameter", diameter, name)
    return tube(diameter, 0.0, nu, name)


def tube(outer: float, inner: float, nu: float, name: str = "tube") -> Section:
    """Round tube, ``outer`` and ``inner`` diameter (mm); inner may be 0."""
    _positive("outer diameter", outer, name)
    if not 0.0 <= inner < outer:
        raise ModelError(
            f"section {name!r}: inner diameter must lie between 0 and the outer {outer} mm "
            f"(got {inner}).",
            part=name,
        )
    area = pi * (outer**2 - inner**2) / 4.0
    second = pi * (outer**4 - inner**4) / 64.0
    m2 = (inner / outer) ** 2
    s = (1.0 + m2) ** 2
    kappa = 6.0 * (1.0 + nu) * s / ((7.0 + 6.0 * nu) * s + (20.0 + 12.0 * nu) * m2)
    r = outer / 2.0
    return Section(area, kappa * area, kappa * area, second, second, 2.0 * second, r, r, name)


@lru_cache(maxsize=256)
def _rectangle_torsion(a: float, b: float) -> float:
    series = sum(tanh(n * pi * a / (2.0 * b)) / n**5 for n in range(1, 200, 2))
    return a * b**3 * (1.0 / 3.0 - 64.0 / pi**5 * (b / a) * series)


def rectangle(side_y: float, side_z: float, nu: float, name: str = "rectangle") -> Section:
    """Rectangle with sides (mm) along the local y and z axes."""
    _positive("side along y", side_y, name)
    _positive("side along z", side_z, name)
    area = side_y * side_z
    kappa = 10.0 * (1.0 + nu) / (12.0 + 11.0 * nu)
    J = _rectangle_torsion(max(side_y, side_z), min(side_y, side_z))
    return Section(
        area=area,
        shear_area_y=kappa * area,
        shear_area_z=kappa * area,
        I_y=side_y * side_z**3 / 12.0,
        I_z=side_z * side_y**3 / 12.0,
        J=J,
        reach_y=side_y / 2.0,
        reach_z=side_z / 2.0,
        name=name,
    )
