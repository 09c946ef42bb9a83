"""Stress along rings, rods, posts, pins and bone, before load and under it.

At a section with the forces N, V_y, V_z, M_x, M_y, M_z (``fem.recovery``) the outermost fibre of a
round bar of diameter d bears

    σ = |N| / A + sqrt(M_y² + M_z²) / W,   W = π d³ / 32,   τ = |M_x| / (2 W),

a rectangular one (width b, thickness t, J its torsion constant)

    σ = |N| / A + |M_y| c_z / I_y + |M_z| c_y / I_z,   τ = |M_x| min(b, t) / J,

and both together count as sqrt(σ² + 3 τ²) (von Mises). Rings are taken without their holes: at the
edge of a hole stress is higher, by up to 3 times in tension (Kirsch). Forces are those of the
members' first-order stretch: what a rod that leans by Δ over its length L stretches besides,
Δ² / 2L, is left out, 1 % of a rod's axial force at 150 N on a common frame.

Load comes and goes: the stress of the change of forces, from rest to load, is the range R of a
fibre, R / 2 its amplitude, and the larger of both stresses less R / 2 its mean (on the safe side:
the fibres need not be the same).
"""

from dataclasses import dataclass

import numpy as np

from fem import node_displacements
from fem.algebra import Array
from fem.recovery import along_members
from fem.sections import Section
from frames.checking import Checked

PLACES = 9


@dataclass(frozen=True)
class MemberStress:
    """Of m members at k places: points (m, k, 3); rest (m, k) and under (c, m, k) MPa; swing
    (c, m, k) MPa, stress of the change; forces (c, m, k, 6) under load, of rest (m, k, 6)."""

    points: Array
    rest: Array
    under: Array
    swing: Array
    forces: Array
    rest_forces: Array


def member_stress(checked: Checked) -> MemberStress:
    """All members of a checked frame; c is 0 for a case without loads."""
    pre = checked.pre
    model = pre.parts.model
    sections = model.members.shapes.sections
    loaded = np.zeros((0, pre.u.size)) if checked.solution is None else checked.solution.u
    along = along_members(model, node_displacements(pre.system, pre.u), PLACES)
    under = along_members(model, node_displacements(pre.system, loaded), PLACES)
    swing = under.forces - along.forces
    return MemberStress(
        points=along.points,
        rest=equivalent(sections, along.forces),
        under=equivalent(sections, under.forces),
        swing=equivalent(sections, swing),
        forces=under.forces,
        rest_forces=along.forces,
    )


def equivalent(sections: tuple[Section, ...] | list[Section], forces: Array) -> Array:
    """(..., m, k) MPa of forces (..., m, k, 6) in members' own axes."""
    data = np.array([_figures(s) for s in sections]).reshape(-1, 6)
    A, W_y, W_z, twist, is_round, _ = (column[:, None] for column in data.T)
    N, M_x, M_y, M_z = (forces[..., i] for i in (0, 3, 4, 5))
    square = np.abs(M_y) / W_y + np.abs(M_z) / W_z
    bend = np.where(is_round > 0.5, np.hypot(M_y, M_z) / W_y, square)
    sigma = np.abs(N) / A + bend
    tau = np.abs(M_x) * twist
    return np.asarray(np.sqrt(sigma**2 + 3.0 * tau**2))


def _figures(s: Section) -> tuple[float, ...]:
    is_round = abs(s.I_y - s.I_z) < 1e-9 * s.I_y and abs(s.J - 2.0 * s.I_y) < 1e-6 * s.J
    thin = 2.0 * min(s.reach_y, s.reach_z)
    twist = s.reach_y / s.J if is_round else thin / s.J
    return s.area, s.I_y / s.reach_z, s.I_z / s.reach_y, twist, float(is_round), 0.0
