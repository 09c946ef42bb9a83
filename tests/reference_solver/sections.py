"""Cross sections of the reference model: area, second moments, torsion and shear constants.

Local axes of a member: 1 along it, 2 and 3 across. ``I2`` resists bending about axis 2. For a ring
axis 2 is radial and axis 3 runs along the bone, so that ``I3`` resists bending in the ring's plane.

Rectangle b x h, b >= h (St Venant, Timoshenko & Goodier, Theory of Elasticity, art. 109):

    J = b h^3 [ 1/3 - (64/pi^5)(h/b) sum_{n=1,3,5..} tanh(n pi b / 2h) / n^5 ]

Shear coefficients after Cowper, J. Appl. Mech. 33 (1966) 335 (formulas from memory):
rectangle 10(1+nu)/(12+11nu), solid circle 6(1+nu)/(7+6nu), tube with m = inner/outer
6(1+nu)(1+m^2)^2 / [(7+6nu)(1+m^2)^2 + (20+12nu)m^2].

Units: mm, mm2, mm4, MPa.
"""

from dataclasses import dataclass
from math import pi, tanh


@dataclass(frozen=True)
class Section:
    """Constants of one section with its material: E, G (MPa), A, As2, As3 (mm2), I2, I3, J (mm4).

    ``As2`` and ``As3`` are the shear areas for shear force along axes 2 and 3.
    """

    E: float
    nu: float
    A: float
    I2: float
    I3: float
    J: float
    As2: float
    As3: float

    @property
    def G(self) -> float:
        """Shear modulus E / 2(1+nu), MPa."""
        return self.E / (2.0 * (1.0 + self.nu))

    def scaled(self, factor: float) -> "Section":
        """The section with all its areas and second moments times ``factor`` (loss at holes)."""
        f = factor
        return Section(
            self.E,
            self.nu,
            f * self.A,
            f * self.I2,
            f * self.I3,
            f * self.J,
            f * self.As2,
            f * self.As3,
        )


def rectangle_torsion(a: float, b: float) -> float:
    """St Venant torsion constant (mm4) of a rectangle a x b (mm), exact series."""
    long, short = max(a, b), min(a, b)
    series = sum(tanh(n * pi * long / (2.0 * short)) / n**5 for n in range(1, 60, 2))
    return long * short**3 * (1.0 / 3.0 - 64.0 / pi**5 * short / long * series)


def rectangle(radial: float, axial: float, E: float, nu: float) -> Section:
    """Ring section, ``radial`` (axis 2) by ``axial`` (axis 3) in mm."""
    A = radial * axial
    shear = A * 10.0 * (1.0 + nu) / (12.0 + 11.0 * nu)
    J = rectangle_torsion(radial, axial)
    return Section(E, nu, A, radial * axial**3 / 12.0, axial * radial**3 / 12.0, J, shear, shear)


def round_section(outer: float, E: float, nu: float, inner: float = 0.0) -> Section:
    """Rod, wire or bone: circle of diameter ``outer``, bored to ``inner`` (mm)."""
    m2 = (inner / outer) ** 2
    A = pi / 4.0 * (outer**2 - inner**2)
    second = pi / 64.0 * (outer**4 - inner**4)
    over = 6.0 * (1.0 + nu) * (1.0 + m2) ** 2
    under = (7.0 + 6.0 * nu) * (1.0 + m2) ** 2 + (20.0 + 12.0 * nu) * m2
    shear = A * over / under
    return Section(E, nu, A, second, second, 2.0 * second, shear, shear)
