"""The quantities a target can bound: name, unit and label in plain words, in this one place.

Six stiffnesses exist without a load (tangent at pretension) and under each load (tangent there).
The others belong to a load. Signs: closing of the gap is positive, tension is positive.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Quantity:
    """One result that a target may name.

    name : the word in the case file and in the results, ending in its unit.
    label : plain English, for reports.
    unit : "N/mm", "N·m/deg", "mm", "N", "MPa" or "%".
    needs_load : the quantity has no meaning without a load.
    needs_axial_load : and the load must be one along the bone, other than zero.
    needs_part : "wire", "pin", or "bone ends" (contact or callus), without which it has no value.
    """

    name: str
    label: str
    unit: str
    needs_load: bool = False
    needs_axial_load: bool = False
    needs_part: str | None = None


_STIFFNESSES = (
    Quantity("axial_N_per_mm", "axial stiffness", "N/mm"),
    Quantity("shear_ap_N_per_mm", "shear stiffness, front to back", "N/mm"),
    Quantity("shear_ml_N_per_mm", "shear stiffness, side to side", "N/mm"),
    Quantity("bending_ap_Nm_per_deg", "bending stiffness, sagittal plane", "N·m/deg"),
    Quantity("bending_ml_Nm_per_deg", "bending stiffness, coronal plane", "N·m/deg"),
    Quantity("torsion_Nm_per_deg", "torsional stiffness", "N·m/deg"),
)

_UNDER_LOAD = (
    Quantity(
        "secant_axial_N_per_mm",
        "axial stiffness, load over movement",
        "N/mm",
        needs_load=True,
        needs_axial_load=True,
    ),
    Quantity("closing_mm", "closing of the gap", "mm", needs_load=True),
    Quantity("shear_mm", "sideways movement at the gap", "mm", needs_load=True),
    Quantity("wire_tension_min_N", "smallest wire tension", "N", True, needs_part="wire"),
    Quantity("wire_tension_max_N", "largest wire tension", "N", True, needs_part="wire"),
    Quantity("wire_peak_stress_MPa", "largest stress in a wire", "MPa", True, needs_part="wire"),
    Quantity("pin_peak_stress_MPa", "largest stress in a half-pin", "MPa", True, needs_part="pin"),
    Quantity(
        "bone_share_percent",
        "share of the load that passes through the bone ends",
        "%",
        needs_load=True,
        needs_axial_load=True,
        needs_part="bone ends",
    ),
)

STIFFNESSES: tuple[str, ...] = tuple(q.name for q in _STIFFNESSES)
"""Names of the six stiffnesses: axial, two shears, two bendings, torsion."""

QUANTITIES: dict[str, Quantity] = {q.name: q for q in _STIFFNESSES + _UNDER_LOAD}
"""Every quantity by name."""
