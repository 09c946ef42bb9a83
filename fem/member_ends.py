"""Elastic joints and hinges at the ends of straight members.

Between a node and the end of its member there may be a joint that turns elastically about the two
axes across the member (local y and z), with stiffness k (N·mm/rad): infinite is rigid, 0 a hinge.
Along and about the member's own axis, and against sideways motion, the joint passes everything on,
so that a member hinged at both ends still carries torsion.

The joints lie in series with the member. Let φ = (φ_Ay, φ_Az, φ_By, φ_Bz) be the turn of the member
against node A and of node B against the member. What the member itself feels of the displacement d
of B against A (``fem.member``) is d - B φ; a turn at A swings B, one at B turns it:

    B = [ y × r   z × r   0   0 ]          r = X_B - X_A,
        [   y       z     y   z ]

and the energy ½ (d - Bφ)ᵀ F⁻¹ (d - Bφ) + ½ φᵀ k φ is least at

    φ = J d,     J = (Bᵀ F⁻¹ B + k)⁻¹ Bᵀ F⁻¹,      S = Wᵀ F⁻¹ W + Jᵀ k J,    W = 1 - B J.

S is the stiffness of B against A with the joints. For k > 0 it is (F + B k⁻¹ Bᵀ)⁻¹, joints added to
the flexibility; k = 0 needs no limit and no huge number: the columns of B are independent, so
Bᵀ F⁻¹ B can be inverted. (Static condensation of end releases, e.g. McGuire, Gallagher & Ziemian,
Matrix Structural Analysis, 2000, ch. 13.)

A hinge leaves exact zeros in S, which arithmetic turns into rounding; rounding must not pass for
the last stiffness that holds a node (``fem.mechanisms`` scales by it). Entries of K below
``ROUNDING`` of what the member has without joints are therefore set to nothing.
"""

import numpy as np

from fem.algebra import Array, transpose
from fem.errors import ModelError

ROUNDING = 1e-13


def check_ends(ends: Array, name: str) -> None:
    """Raise ``ModelError`` unless ``ends`` are two stiffnesses, N·mm/rad, from 0 (hinge) to
    infinity.
    """
    if ends.shape != (2,) or not (ends >= 0.0).all():
        raise ModelError(
            f"beam {name!r}: its ends need two turning stiffnesses in N·mm/rad, from 0 (hinge) to "
            f"infinity (rigid); got {ends.tolist()}.",
            part=name,
        )


def check_axial(axial: float | None, name: str) -> None:
    """Raise ``ModelError`` unless ``axial`` (N/mm, whole member) is None or a positive number."""
    if axial is not None and not (np.isfinite(axial) and axial > 0.0):
        raise ModelError(
            f"beam {name!r}: its axial stiffness must be more than 0 N/mm and finite "
            f"(got {axial}); leave it out for EA/L.",
            part=name,
        )


def joint_turns(end_stiffness: Array, frame: Array, reach: Array, joints: Array) -> Array:
    """(m, 4, 6) J: turns φ (rad) by displacement of B against A; rows of rigid joints are zero.

    end_stiffness : (m, 6, 6) F⁻¹, global axes.  frame : (m, 3, 3) rows local x, y, z.
    reach : (m, 3) mm.  joints : (m, 2) N·mm/rad at A and B.
    """
    k, B = _stiffness(joints), _directions(frame, reach, joints)
    pull = transpose(B) @ end_stiffness
    turning = k + np.where(np.isfinite(joints), 0.0, 1.0).repeat(2, axis=-1)
    core = pull @ B + turning[:, :, None] * np.eye(4)
    return np.asarray(np.linalg.solve(core, pull))


def jointed_stiffness(end_stiffness: Array, frame: Array, reach: Array, joints: Array) -> Array:
    """(m, 6, 6) S: ``end_stiffness`` F⁻¹ with the joints; arguments as ``joint_turns``."""
    J = joint_turns(end_stiffness, frame, reach, joints)
    W = np.eye(6) - _directions(frame, reach, joints) @ J
    S = transpose(W) @ end_stiffness @ W + transpose(J) @ (_stiffness(joints)[..., None] * J)
    return np.asarray((S + transpose(S)) / 2.0)


def without_rounding(K: Array, rigid: Array) -> Array:
    """K (m, 12, 12) with entries set to 0 that are rounding of ``rigid``, the same without
    joints.
    """
    size = np.sqrt(np.diagonal(rigid, axis1=-2, axis2=-1))
    return np.where(np.abs(K) < ROUNDING * size[..., :, None] * size[..., None, :], 0.0, K)


def _stiffness(joints: Array) -> Array:
    """(m, 4) k of every φ, 0 where rigid (φ is then held at 0)."""
    return np.where(np.isfinite(joints), joints, 0.0).repeat(2, axis=-1)


def _directions(frame: Array, reach: Array, joints: Array) -> Array:
    """(m, 6, 4) B, columns of rigid joints zero."""
    axes = frame[:, 1:]
    at_A = np.concatenate([np.cross(axes, reach[:, None]), axes], axis=-1)
    at_B = np.concatenate([np.zeros_like(axes), axes], axis=-1)
    B = transpose(np.concatenate([at_A, at_B], axis=1))
    return np.asarray(np.where(np.isfinite(joints).repeat(2, axis=-1)[:, None], B, 0.0))
