"""How a member moves between its ends: displacement and rotation along it as linear maps.

A member that nothing loads between its ends takes the shape that statics gives it. With the end
force p = S Γ q on B (``fem.member``; q the displacements of both ends) the sections carry H_B(σ) p,

    H_X(σ) = [ Rᵀ               0  ]       R(σ) = [t y z] local axes, X the place of a load (P, M),
             [ Rᵀ [X - X_σ]×    Rᵀ ]

and by virtual work the place s has moved, besides following A as a rigid body, by F_s p,

    F_s = ∫₀ˢ H_sᵀ f H_B dσ,      N(s) = rigid(s) + F_s S Γ,      (u, θ)(s) = N(s) q,

f the section's flexibility. N is exact for statics: cubic with shear for straight members, the
true shape of arcs, with joints at the ends (``fem.member_ends``): rigid(s) follows the member's own
rotation at A. Used as shape functions for mass and geometric stiffness they are consistent
(Archer, J. Struct. Div. ASCE 89 (1963) 161; Przemieniecki 1968, ch. 11), so that frequencies and
buckling factors of conservative structures converge from above.

Integration by Gauss' rule: for straight members exact with 2 points within and 4 along; arcs are
given 16, rounding for any angle below 2π.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array, skew, transpose
from fem.model import Model
from fem.recovery import places_along

_INNER_STRAIGHT, _ALONG_STRAIGHT, _ARC = 2, 4, 16


@dataclass(frozen=True)
class Along:
    """Chosen members at g Gauss points each.

    rows : (r,) members.  weight : (r, g) mm, sums to the length.  axes : (r, g, 3, 3) rows t, y, z.
    shape : (r, g, 6, 12) N.  strain : (r, g, 6, 12) strains and curvatures, local axes, by q.
    """

    rows: NDArray[np.intp]
    weight: Array
    axes: Array
    shape: Array
    strain: Array


def static_shapes(model: Model, rows: NDArray[np.intp]) -> list[Along]:
    """Shapes of the members ``rows``, straight ones and arcs apart (their Gauss rules differ)."""
    is_arc = model.members.shapes.angle[rows] > 0.0
    return [
        _shapes(model, chosen, along, inner)
        for chosen, along, inner in (
            (rows[~is_arc], _ALONG_STRAIGHT, _INNER_STRAIGHT),
            (rows[is_arc], _ARC, _ARC),
        )
        if len(chosen)
    ]


def _shapes(model: Model, rows: NDArray[np.intp], along: int, inner: int) -> Along:
    members, s = model.members, model.members.shapes
    points, weights = _gauss(along)
    p_by_q = members.end_stiffness[rows] @ members.gamma[rows]
    at_A = np.eye(6, 12) + np.concatenate(
        [np.zeros((len(rows), 3, 12)), members.turn_at_start()[rows]], axis=1
    )
    A, B = (model.points[members.ends[rows, end]] for end in (0, 1))
    X, axes = (v[rows] for v in places_along(model, points))
    f, length = s.flexibility[rows][:, None, :, None], s.length[rows]
    shape, strain = np.empty((2, len(rows), along, 6, 12))
    for k, t in enumerate(points):
        inside, w = _gauss(inner)
        Y, R_T = (v[rows] for v in places_along(model, t * inside))
        by_s = _section_by_load(R_T, X[:, k, None] - Y)
        by_B = _section_by_load(R_T, B[:, None] - Y)
        weighted = (t * length)[:, None, None, None] * w[:, None, None] * f * by_B
        F_s = np.sum(transpose(by_s) @ weighted, axis=1)
        rigid = np.tile(np.eye(6), (len(rows), 1, 1))
        rigid[:, :3, 3:] = -skew(X[:, k] - A)
        shape[:, k] = rigid @ at_A + F_s @ p_by_q
        here = _section_by_load(axes[:, k, None], B[:, None] - X[:, k, None])[:, 0]
        strain[:, k] = f[:, 0] * (here @ p_by_q)
    return Along(rows, weights * length[:, None], axes, shape, strain)


def _gauss(n: int) -> tuple[Array, Array]:
    """Points and weights on (0, 1)."""
    points, weights = np.polynomial.legendre.leggauss(n)
    return (points + 1.0) / 2.0, weights / 2.0


def _section_by_load(R_T: Array, arm: Array) -> Array:
    """H: R_T (..., 3, 3) rows local axes, arm (..., 3) from section to load → (..., 6, 6)."""
    H = np.zeros((*arm.shape[:-1], 6, 6))
    H[..., :3, :3] = H[..., 3:, 3:] = R_T
    H[..., 3:, :3] = R_T @ skew(arm)
    return H
