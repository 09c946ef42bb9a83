"""One load step of a corotational model by Newton's method (mechanics: ``fem.corotational``).

Unknown are the displacement u (n, 3) and rotation R (n, 3, 3) of every node.  At load level λ

    r = λ p - f(u, R) = 0           on the free degrees of freedom,
    displacement, turn = λ × value  on the held ones,

p dead forces and moments: they keep size and direction in space.  Each iteration solves

    K_ff δ_f = r_f - K_fh δ_h,       u ← u + δu,      R ← exp([δw]×) R,

with the exact tangent K, and δ_h the step of the held ones in the first iteration, 0 after.

Converged means: the largest unbalanced force is below ``tolerance`` times the largest force acting
anywhere, plus what rounding of u leaves in the stiffest element; and the same for moments.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix, csc_matrix, diags
from scipy.sparse.linalg import splu

from fem.algebra import Array
from fem.corotational import ElementState, element_state
from fem.corotational_model import CorotationalModel
from fem.rotations import orthonormalised, rotation_matrix

_MAX_RELATIVE_ROTATION = 3.0  # rad in one element: near π its rotation vector stops being unique
_MAX_SPIN = np.pi  # rad in one iteration
_MAX_MOVE = 10.0  # model sizes in one iteration
_SINGULAR = 1e-11  # smallest to largest pivot of the tangent scaled to unit diagonal
_ROUNDING = 16.0 * np.finfo(float).eps


@dataclass(frozen=True)
class LoadStep:
    """An equilibrium on the way.

    stage : "initial stress" or "load".  level : λ.
    iterations : of Newton.  residuals : scaled residual before the first and after each.
    displacement : (n, 3) mm.  rotation : (n, 3, 3) of each node from rest.
    reactions : (n, 6) N, N·mm, of the supports on the nodes; 0 on free degrees of freedom.
    energy : strain energy, N·mm, zero without force.
    """

    stage: str
    level: float
    iterations: int
    residuals: tuple[float, ...]
    displacement: Array
    rotation: Array
    reactions: Array
    energy: float


@dataclass(frozen=True)
class Stage:
    """What is brought on while the level goes from 0 to 1.

    length_start : (m,) mm, natural lengths at level 0; at level 1 they are the model's.
    forces : (n, 6) N, N·mm at level 1.  held : (n, 6).  values : (n, 6) mm, rad of the held ones at
    level 1, else 0.
    """

    name: str
    model: CorotationalModel
    length_start: Array
    forces: Array
    held: NDArray[np.bool_]
    values: Array
    tolerance: float
    max_iterations: int

    def natural_length(self, level: float) -> Array:
        """(m,) mm."""
        return (1.0 - level) * self.length_start + level * self.model.natural_length


class Assembled(NamedTuple):
    """Energy (N·mm), internal nodal forces (n, 6), tangent (6n, 6n), and the elements' part."""

    energy: float
    internal: Array
    tangent: csc_matrix
    elements: ElementState


class StepFailed(Exception):
    """No equilibrium at this level.  why : in words.  node : where the residual is largest."""

    def __init__(self, why: str, node: int, residuals: list[float]) -> None:
        super().__init__(why)
        self.why, self.node, self.residuals = why, node, tuple(residuals)


class _SingularTangent(Exception):
    def __init__(self, column: int) -> None:
        super().__init__(column)
        self.column = column


def assemble(
    model: CorotationalModel,
    displacement: Array,
    rotation: Array,
    natural_length: Array | None = None,
) -> Assembled:
    """Sum of the elements, arguments as ``element_state``; freedom 6 × node + component."""
    state = element_state(model, displacement, rotation, natural_length)
    size = 6 * len(model.points)
    dof = (6 * model.elements[:, :, None] + np.arange(6)).reshape(-1, 12)
    rows, columns = (a.ravel() for a in np.broadcast_arrays(dof[:, :, None], dof[:, None, :]))
    tangent = coo_matrix((state.tangent.ravel(), (rows, columns)), (size, size)).tocsc()
    internal = np.zeros(size)
    np.add.at(internal, dof, state.force)
    return Assembled(float(state.energy.sum()), internal.reshape(-1, 6), tangent, state)


def newton(stage: Stage, u: Array, R: Array, start: float, level: float) -> LoadStep:
    """Equilibrium at ``level`` from the one (u, R) at ``start``; raises ``StepFailed``."""
    model, free = stage.model, ~stage.held.ravel()
    L, p = stage.natural_length(level), level * stage.forces
    delta = ((level - start) * stage.values).ravel()
    held_to_move = bool(delta.any())
    residuals: list[float] = []
    for iteration in range(stage.max_iterations + 1):
        now = assemble(model, u, R, L)
        out_of_balance = p - now.internal
        scale, noise = _scales(stage, now, u, L, p)
        share = np.where(stage.held, 0.0, np.abs(out_of_balance))
        residuals.append(float((share / scale).max()))
        worst = int(np.argmax((share / scale).max(axis=1)))
        turned = now.elements.relative_rotation
        if turned.max() > _MAX_RELATIVE_ROTATION:
            element = int(np.argmax(turned))
            why = f"the ends of element {element} turned apart by {turned[element]:.2f} rad"
            raise StepFailed(why, int(model.elements[element, 0]), residuals)
        if not held_to_move and (share <= stage.tolerance * scale + noise).all():
            return LoadStep(
                stage=stage.name,
                level=level,
                iterations=iteration,
                residuals=tuple(residuals),
                displacement=u,
                rotation=orthonormalised(R),
                reactions=np.where(stage.held, -out_of_balance, 0.0),
                energy=now.energy,
            )
        rows = now.tangent[free]
        right = out_of_balance.ravel()[free] - rows[:, ~free] @ delta[~free]
        try:
            delta[free] = _solve_scaled(rows[:, free].tocsc(), right)
        except _SingularTangent as singular:
            node = int(np.flatnonzero(free)[singular.column]) // 6
            raise StepFailed("the tangent is singular", node, residuals) from None
        step = delta.reshape(-1, 6)
        move = np.linalg.norm(step[:, :3], axis=1).max()
        spin = np.linalg.norm(step[:, 3:], axis=1).max()
        # written so that a nan fails too
        if not (move <= _MAX_MOVE * _size(model) and spin <= _MAX_SPIN):
            why = f"an iteration leapt away by {move:.3g} mm, {spin:.3g} rad"
            raise StepFailed(why, worst, residuals)
        u, R = u + step[:, :3], rotation_matrix(step[:, 3:]) @ R
        delta = np.zeros_like(delta)
        held_to_move = False
    raise StepFailed(f"not converged in {stage.max_iterations} iterations", worst, residuals)


def _size(model: CorotationalModel) -> float:
    return float(np.ptp(model.points, axis=0).max())


def _scales(stage: Stage, now: Assembled, u: Array, L: Array, p: Array) -> tuple[Array, Array]:
    """(6,) force and moment scale of the residual, (6,) what rounding of u and R leaves of it."""
    model = stage.model
    acting = np.abs(np.concatenate([now.elements.force.reshape(-1, 6), p]))
    force, moment = float(acting[:, :3].max()), float(acting[:, 3:].max())
    bending = 12.0 * np.maximum(model.EIy, model.EIz)
    axial = model.EA * (np.abs(u).max() + L) / L
    noise_force = _ROUNDING * float(np.maximum(axial, bending / L**2).max())
    noise_moment = _ROUNDING * float((np.maximum(bending, model.GJ) / L).max())
    noise_moment += noise_force * float(L.mean())
    force_scale = max(force, moment / _size(model), noise_force)
    moment_scale = max(moment, force * float(L.mean()), noise_moment)
    return np.repeat([force_scale, moment_scale], 3), np.repeat([noise_force, noise_moment], 3)


def _solve_scaled(matrix: csc_matrix, right: Array) -> Array:
    """Solution of the system scaled to unit diagonal; ``_SingularTangent`` on a lost pivot."""
    if not len(right):
        return right
    diagonal = np.abs(matrix.diagonal())
    if not diagonal.all():
        raise _SingularTangent(int(np.argmin(diagonal)))
    scale = diags(1.0 / np.sqrt(diagonal))
    try:
        factor = splu((scale @ matrix @ scale).tocsc())
    except RuntimeError as error:
        if "singular" not in str(error):
            raise
        raise _SingularTangent(int(np.argmin(diagonal))) from None
    pivots = np.abs(factor.U.diagonal())
    if pivots.min() < _SINGULAR * pivots.max():
        raise _SingularTangent(int(np.flatnonzero(factor.perm_c == np.argmin(pivots))[0]))
    return np.asarray(scale @ factor.solve(scale @ right))
