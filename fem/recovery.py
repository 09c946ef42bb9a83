"""Forces, stresses and displacements along members, from the displacements of their ends.

The end force on B, (P, M), gives the section at X_s by statics alone,

    force P,   moment M + (X_B - X_s) × P,

whose components in the local axes (x, y, z) of the section are (N, V_y, V_z, M_x, M_y, M_z): N
positive in tension. Displacements follow from the strains ε and curvatures κ of the sections, from
A on,

    θ(s) = θ_A + ∫ κ ds,    u(s) = u_A + θ_A × (X_s - X_A) + ∫ [ε + κ × (X_s - X)] ds,

by Gauss' rule on every piece between two sampled places (exact for straight members). Where the
member turns in a joint at A (``fem.member_ends``), θ_A is its own rotation there: that of the node
and the turn of the joint.

Normal stress at the outermost fibre, an upper bound for round sections by up to √2 in skew bending:

    |N| / A + |M_y| reach_z / I_y + |M_z| reach_y / I_z.
"""

from dataclasses import dataclass

import numpy as np

from fem.algebra import Array, transpose
from fem.arc import arc_points
from fem.member import Members, Shapes
from fem.model import Model

_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(3)


@dataclass(frozen=True)
class Along:
    """k places on each of m members; leading axes ``...`` are load cases.

    points : (m, k, 3) mm. forces : (..., m, k, 6) N, V_y, V_z (N), M_x, M_y, M_z (N·mm), local
    axes.
    displacement : (..., m, k, 3) mm, global axes.  stress : (..., m, k) MPa.
    """

    points: Array
    forces: Array
    displacement: Array
    stress: Array


def along_members(model: Model, displacement: Array, places: int = 9) -> Along:
    """Recovery at ``places`` evenly spaced places of every member, ends included.

    displacement : (..., n, 6) of all nodes (``fem.system.node_displacements``).
    """
    members, shapes = model.members, model.members.shapes
    t = np.linspace(0.0, 1.0, places)
    ends = displacement[..., members.ends, :]
    both = ends.reshape(*ends.shape[:-2], 12)
    force = members.end_forces(both)
    start = ends[..., 0, :]
    if len(members.jointed):
        start = start.copy()
        start[..., 3:] += np.einsum("mij,...mj->...mi", members.turn_at_start(), both)
    X, R_T = places_along(model, t)
    sections = _section_forces(members, X, R_T, force, model)
    return Along(X, sections, _displacement(model, t, force, start), _stress(shapes, sections))


def places_along(model: Model, t: Array) -> tuple[Array, Array]:
    """(m, k, 3) points and (m, k, 3, 3) local axes (rows) at shares t (k,) of the way from A to
    B.
    """
    members, s = model.members, model.members.shapes
    A = model.points[members.ends[:, 0]]
    straight = A[:, None] + t[:, None] * members.reach[:, None]
    turning = s.angle[:, None] * t
    curved = arc_points(s.centre, s.axis, A, turning)
    is_arc = (s.angle > 0.0)[:, None, None]
    x, y = s.frame[:, None, 0], s.frame[:, None, 1]
    c, sn = np.cos(turning)[..., None], np.sin(turning)[..., None]
    rows = [
        c * x - sn * y,
        c * y + sn * x,
        np.broadcast_to(s.frame[:, None, 2], (*turning.shape, 3)),
    ]
    return np.where(is_arc, curved, straight), np.stack(rows, axis=-2)


def _section_forces(members: Members, X: Array, R_T: Array, force: Array, model: Model) -> Array:
    B = model.points[members.ends[:, 1]]
    P = np.broadcast_to(force[..., None, :3], (*force.shape[:-1], X.shape[1], 3))
    M = force[..., None, 3:] + np.cross(B[:, None] - X, P)
    local = [np.einsum("mkij,...mkj->...mki", R_T, v) for v in (P, M)]
    return np.concatenate(local, axis=-1)


def _displacement(model: Model, t: Array, force: Array, start: Array) -> Array:
    members, shapes = model.members, model.members.shapes
    step = np.diff(t)
    g = (t[:-1, None] + step[:, None] * (_POINTS + 1.0) / 2.0).ravel()
    weight = (step[:, None] * _WEIGHTS / 2.0).ravel() * shapes.length[:, None]  # (m, g)
    X, R_T = places_along(model, g)
    local = _section_forces(members, X, R_T, force, model) * shapes.flexibility[:, None]
    strain, curvature = (
        np.einsum("mgij,...mgj->...mgi", transpose(R_T), part) * weight[..., None]
        for part in (local[..., :3], local[..., 3:])
    )
    to, _ = places_along(model, t)
    A = model.points[members.ends[:, 0]]
    u = start[..., None, :3] + np.cross(start[..., None, 3:], to - A[:, None])
    for k in range(1, len(t)):
        before = slice(0, k * len(_POINTS))
        arm = to[:, k : k + 1] - X[:, before]
        bent = np.cross(curvature[..., before, :], arm)
        u[..., k, :] += np.sum(strain[..., before, :] + bent, axis=-2)
    return np.asarray(u)


def _stress(shapes: Shapes, forces: Array) -> Array:
    section = np.array(
        [(1 / s.area, s.reach_z / s.I_y, s.reach_y / s.I_z) for s in shapes.sections]
    ).reshape(-1, 3)
    size = np.abs(forces[..., [0, 4, 5]])
    return np.asarray(np.sum(size * section[:, None], axis=-1))
