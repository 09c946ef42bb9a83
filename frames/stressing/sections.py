"""Stress along rings, rods, posts, pins and bone, before load and under it.

At a section with the forces N, V_y, V_z, M_x, M_y, M_z (``fem.recovery``) the outermost fibre of a
round bar of diameter d bears

    σ = |N| / A + sqrt(M_y² + M_z²) / W,   W = π d³ / 32,   τ = |M_x| / (2 W),

a rectangular one (width b, thickness t, J its torsion constant)

    σ = |N| / A + |M_y| c_z / I_y + |M_z| c_y / I_z,   τ = |M_x| min(b, t) / J,

and both together count as sqrt(σ² + 3 τ²) (von Mises). Rings are taken without their holes: at the
edge of a hole stress is higher, by up to 3 times in tension (Kirsch). Shear by V_y, V_z is nought
at the outermost fibre and left out. N of rods and bone is that along their displaced chords, less
what turned nuts lengthen (``fem.chord``).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fem import node_displacements
from fem.algebra import Array
from fem.bowing import column_force
from fem.recovery import along_members
from fem.sections import Section
from frames.stressing.fibres import is_round, twist_stress
from frames.stressing.solving import Solved

PLACES = 9


@dataclass(frozen=True)
class MemberStress:
    """Of m members at k places: points (m, k, 3) mm; stress (c + 1, m, k) MPa and forces (c + 1, m,
    k, 6) N, N·mm, at rest and then under each of c loads."""

    points: Array
    stress: Array
    forces: Array


def member_stress(frame: Solved) -> MemberStress:
    """All members of a frame; c is 0 for a case without loads."""
    system, model = frame.pre.system, frame.parts.model
    u = np.concatenate(frame.displacements)
    along = along_members(model, node_displacements(system, u), PLACES)
    forces = along.forces.copy()
    row = {name: i for i, name in enumerate(model.members.names)}
    columns = [row[name] for name in model.chords.names]
    pull = column_force(model.chords, u[:, system.chord_dofs], frame.pre.law.misfit)
    forces[..., 0][:, columns] = pull[..., None]
    stress = equivalent(model.members.shapes.sections, forces)
    return MemberStress(points=along.points, stress=stress, forces=forces)


def equivalent(sections: Sequence[Section], forces: Array) -> Array:
    """(..., m, k) MPa of forces (..., m, k, 6) in members' own axes."""
    data = np.array([_figures(s) for s in sections]).reshape(-1, 5)
    A, W_y, W_z, twist, round_ = (column[:, None] for column in data.T)
    N, M_x, M_y, M_z = (forces[..., i] for i in (0, 3, 4, 5))
    square = np.abs(M_y) / W_y + np.abs(M_z) / W_z
    bend = np.where(round_ > 0.5, np.hypot(M_y, M_z) / W_y, square)
    sigma = np.abs(N) / A + bend
    tau = np.abs(M_x) * twist
    return np.asarray(np.sqrt(sigma**2 + 3.0 * tau**2))


def _figures(s: Section) -> tuple[float, ...]:
    return s.area, s.I_y / s.reach_z, s.I_z / s.reach_y, twist_stress(s), float(is_round(s))
