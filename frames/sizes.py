"""Materials and threads that a case file may call by name.

Elastic constants are handbook values given from memory (193 GPa for stainless steel of the 316
kind is the figure most tables carry; they range from 186 to 200). Carbon composite stands for a
laminate with fibres in all directions of the ring's plane, quoted at 50 to 70 GPa: the middle.

A threaded rod works with less than its nominal diameter. ISO 898-1 takes the circle half-way
between pitch diameter d2 = d - 0.649519 P and root diameter d3 = d - 1.226869 P of a thread with
60 degree flanks and pitch P::

    d_s = (d2 + d3) / 2 = d - 0.938194 P        stress area A_s = pi/4 d_s**2

which gives 5.06 mm and 20.1 mm2 for M6. The same circle serves for bending and twist.

A bolt that clamps a wire holds it by friction, so the load at which the wire slips grows with the
bolt's torque. Bolts tightened to 8 N·m held about 900 N (Veterinary Surgery 2002;31:571-6); in
proportion, that is 112.5 N for each newton metre.
"""

from dataclasses import dataclass

STANDARD_GRAVITY = 9.80665
"""Weight of one kilogram in newton (standard value; 1 kgf = 9.80665 N)."""


SLIP_N_PER_NM = 900.0 / 8.0
"""Load (N) at which a clamped wire slips, for each N·m of its bolt's torque (source above)."""

CONICAL_WASHERS_NM_PER_DEG = 5.0
"""Turning stiffness (N·m/deg) of a rod's end on conical washers: own choice, no source."""


@dataclass(frozen=True)
class Material:
    """An isotropic material.

    E_MPa : Young's modulus, MPa.
    nu : Poisson's ratio.
    density_kg_per_m3 : density, kg/m3.
    source : where the numbers come from.
    """

    E_MPa: float
    nu: float
    density_kg_per_m3: float
    source: str


_HANDBOOK = "handbook values, from memory"

DEFAULT_MATERIAL = "stainless steel"

MATERIALS: dict[str, Material] = {
    DEFAULT_MATERIAL: Material(193_000.0, 0.30, 7900.0, _HANDBOOK),
    "aluminium": Material(70_000.0, 0.33, 2700.0, _HANDBOOK),
    "carbon composite": Material(
        60_000.0, 0.30, 1600.0, "middle of the quoted 50 to 70 GPa, from memory"
    ),
    "titanium": Material(110_000.0, 0.34, 4430.0, _HANDBOOK),
}

COARSE_PITCH_MM: dict[str, float] = {
    "M4": 0.7,
    "M5": 0.8,
    "M6": 1.0,
    "M7": 1.0,
    "M8": 1.25,
    "M10": 1.5,
}
"""Pitch of the coarse metric threads that the ISO 898-1 table lists from M4 to M10."""


def stress_diameter(nominal_mm: float, pitch_mm: float) -> float:
    """Effective diameter d_s (mm) of a metric thread, ISO 898-1 (formula above)."""
    return nominal_mm - 0.938194 * pitch_mm


THREADS: dict[str, float] = {
    name: stress_diameter(float(name[1:]), pitch) for name, pitch in COARSE_PITCH_MM.items()
}
"""Effective diameter (mm) of each thread."""
