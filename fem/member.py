"""Members by the force method: one formula for straight beams and arcs.

A member runs from node A to node B. Held at A, it answers end forces at B, p = (force, moment),
with the displacement of B

    d = F p,      F (6 × 6): end flexibility, symmetric, positive definite.

F is an integral of section flexibility along the member and has no discretisation error. Rigid
motions cost nothing, so the elastic displacement of B is what is left of it after following A,

    d = Γ (u_A, θ_A, u_B, θ_B),     Γ = [[-1, [r]×, 1, 0], [0, -1, 0, 1]],     r = X_B - X_A

(u_A + θ_A × r = u_A - [r]× θ_A … so that the block of θ_A is +[r]×), and energy ½ dᵀ F⁻¹ d gives

    K = Γᵀ F⁻¹ Γ   (12 × 12).

Ends that turn on joints or hinges put S in the place of F⁻¹ (``fem.member_ends``).

Six rigid-body modes, symmetry and equilibrium of the end forces hold by construction.  (Force-based
frame elements: e.g. Przemieniecki, Theory of Matrix Structural Analysis, 1968, ch. 5-6.)

All vectors are in global axes; units N, mm, rad.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array, skew, transpose
from fem.member_ends import joint_turns, jointed_stiffness, without_rounding
from fem.sections import Section


@dataclass(frozen=True)
class Shapes:
    """Where members run and what section they have; needed along them, not at their ends.

    sections : (m,).  flexibility : (m, 6) of the section (``fem.sections.section_flexibility``).
    frame : (m, 3, 3) rows local x, y, z at A.  length : (m,) along the centre line, mm.
    angle : (m,) turn from A to B, rad, 0 when straight.  centre, axis : (m, 3) of arcs.
    """

    sections: tuple[Section, ...]
    flexibility: Array
    frame: Array
    length: Array
    angle: Array
    centre: Array
    axis: Array


@dataclass(frozen=True)
class Members:
    """Members of any shape, ready to assemble.

    names : (m,) name of each.  ends : (m, 2) node numbers A, B.
    flexibility : (m, 6, 6) end flexibility F at B, global axes, of the member without its joints.
    reach : (m, 3) r = X_B - X_A, mm.  joints : (m, 2) turning stiffness of the joints at A and B,
    N·mm/rad, infinite where rigid, 0 hinges. late : (m,) those that are not assembled, but join
    later (``fem.late``).
    shapes : for recovery along the members (``fem.recovery``).
    """

    names: tuple[str, ...]
    ends: NDArray[np.intp]
    flexibility: Array
    reach: Array
    joints: Array
    late: NDArray[np.bool_]
    shapes: Shapes

    @property
    def gamma(self) -> Array:
        """(m, 6, 12) Γ."""
        m = len(self.names)
        out = np.zeros((m, 6, 12))
        eye = np.eye(3)
        out[:, :3, :3] = -eye
        out[:, :3, 3:6] = skew(self.reach)
        out[:, :3, 6:9] = eye
        out[:, 3:, 3:6] = -eye
        out[:, 3:, 9:] = eye
        return out

    @property
    def end_stiffness(self) -> Array:
        """(m, 6, 6) F⁻¹, or S where the ends turn on joints, symmetric."""
        k, jointed = self._rigid_end_stiffness, self.jointed
        if len(jointed):
            k[jointed] = jointed_stiffness(k[jointed], *self._joints_of(jointed))
        return k

    @property
    def jointed(self) -> NDArray[np.intp]:
        """(j,) rows of the members with a joint or hinge at an end."""
        return np.flatnonzero(np.isfinite(self.joints).any(axis=-1))

    @property
    def _rigid_end_stiffness(self) -> Array:
        """(m, 6, 6) F⁻¹."""
        if not len(self.names):
            return np.zeros((0, 6, 6))
        k = np.asarray(np.linalg.inv(self.flexibility), dtype=np.float64)
        return (k + transpose(k)) / 2.0

    def _joints_of(self, rows: NDArray[np.intp]) -> tuple[Array, Array, Array]:
        return self.shapes.frame[rows], self.reach[rows], self.joints[rows]

    def stiffness(self) -> Array:
        """(m, 12, 12) K in global axes, dofs (u_A, θ_A, u_B, θ_B)."""
        gamma = self.gamma
        K = transpose(gamma) @ self.end_stiffness @ gamma
        jointed = self.jointed
        if len(jointed):
            g = gamma[jointed]
            rigid = transpose(g) @ self._rigid_end_stiffness[jointed] @ g
            K[jointed] = without_rounding(K[jointed], rigid)
        return K

    def turn_at_start(self) -> Array:
        """(m, 3, 12): turn (rad, global axes) of the member against its node A, in the joint there,
        by the displacements of both ends.
        """
        out, jointed = np.zeros((len(self.names), 3, 12)), self.jointed
        if len(jointed):
            J = joint_turns(self._rigid_end_stiffness[jointed], *self._joints_of(jointed))
            across = transpose(self.shapes.frame[jointed, 1:])
            out[jointed] = across @ J[:, :2] @ self.gamma[jointed]
        return out

    def end_forces(self, ends_displacement: Array) -> Array:
        """(..., m, 12) displacements of both ends → (..., m, 6) force (N) and moment (N·mm) on end
        B.
        """
        d = np.einsum("mij,...mj->...mi", self.gamma, ends_displacement)
        return np.einsum("mij,...mj->...mi", self.end_stiffness, d)
