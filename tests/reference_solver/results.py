"""What the fine-mesh model hands back. N, mm, rad; N/mm and N m/deg where a name says so."""

from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
STIFFNESS_KEYS = (
    "shear_ap_N_per_mm",  # x
    "shear_ml_N_per_mm",  # y
    "axial_N_per_mm",  # z
    "bending_ml_Nm_per_deg",  # about x
    "bending_ap_Nm_per_deg",  # about y
    "torsion_Nm_per_deg",  # about z
)


@dataclass(frozen=True)
class State:
    """One state of equilibrium.

    load : (6,) wrench on the proximal bone end, global axes (x anterior, y patient's left,
        z proximal), N and N mm.
    face_movement : (6,) movement of the proximal fracture face's centre less the distal one's
        since pretension, mm and rad, same axes; closing has a negative third component.
    centre_movement : (6,) the same for the fragments' two points at the gap's centre.
    tensions : wire name -> mean tension along it, N.
    compliance : (6, 6) tangent about the gap's centre (mm/N, rad/N, mm/Nmm, rad/Nmm), or None.
    """

    load: Array
    face_movement: Array
    centre_movement: Array
    tensions: dict[str, float]
    compliance: Array | None

    @property
    def known_compliance(self) -> Array:
        """``compliance`` (6, 6), or ValueError if it was not asked for."""
        if self.compliance is None:
            raise ValueError("no compliance was asked for in this state")
        return self.compliance

    @property
    def stiffness(self) -> dict[str, float]:
        """The six stiffnesses 1/C_ii by name (N/mm, N m/deg)."""
        values = 1.0 / np.diag(self.known_compliance)
        values[3:] *= pi / 180.0 / 1000.0
        return dict(zip(STIFFNESS_KEYS, values.tolist(), strict=True))

    @property
    def secant_axial(self) -> float:
        """Axial load over axial movement at the gap's centre, N/mm."""
        if self.load[2] == 0.0:
            raise ValueError("no axial load in this state, hence no secant")
        return float(self.load[2] / self.centre_movement[2])


@dataclass(frozen=True)
class FineMeshResult:
    """Answers of the fine-mesh model for one case.

    pretension : state with every wire at its tension and no load, with its compliance.
    loads : state under each load asked for, by name.
    tension_error : largest departure from the asked tensions, N.
    closing : wire name -> how much its clamps drew together under pretension, rings and rods
        alone, mm.
    unknowns, elements : size of the model.
    seconds : time of building and solving.
    """

    pretension: State
    loads: dict[str, State]
    tension_error: float
    closing: dict[str, float]
    unknowns: int
    elements: int
    seconds: float

    @property
    def stiffness(self) -> dict[str, float]:
        """Tangent at pretension with no load (N/mm, N m/deg)."""
        return self.pretension.stiffness
