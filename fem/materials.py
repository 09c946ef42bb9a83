"""Isotropic linear-elastic materials: two constants, the third derived."""

from dataclasses import dataclass
from math import isfinite

from fem.errors import ModelError


@dataclass(frozen=True)
class Material:
    """Young's modulus ``E`` (MPa), Poisson's ratio ``nu``; shear modulus ``G = E / 2(1 + nu)``."""

    E: float
    nu: float
    name: str = "material"

    def __post_init__(self) -> None:
        if not (isfinite(self.E) and self.E > 0):
            raise ModelError(
                f"material {self.name!r}: E must be more than 0 MPa (got {self.E}).", part=self.name
            )
        if not -1.0 < self.nu < 0.5:
            raise ModelError(
                f"material {self.name!r}: nu must lie between -1 and 0.5 (got {self.nu}).",
                part=self.name,
            )

    @property
    def G(self) -> float:
        """Shear modulus, MPa."""
        return self.E / (2.0 * (1.0 + self.nu))
