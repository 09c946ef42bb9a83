"""Load steps for corotational beams: initial stress, then loads and prescribed displacements.

Initial stress comes first, by bringing the natural length from the length at rest to its value, in
one step if it can be done.  Then forces and prescribed values grow together.  A step in which
``fem.corotational_newton`` fails is halved, and after success doubled again.

Two things depend on the path, and on nothing else: a dead moment about a fixed axis is not
conservative (its tangent is not symmetric); and a held rotation holds that component of every
spin, or with a value turns in equal parts.  With all three held a node ends at exp([λ v]×); with
one or two held while the node turns about other axes too, the end depends on how it got there.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from fem.algebra import Array
from fem.corotational import element_state
from fem.corotational_model import CorotationalModel
from fem.corotational_newton import LoadStep, Stage, StepFailed, newton
from fem.errors import ConvergenceError, ModelError


@dataclass(frozen=True)
class CorotationalResult:
    """The equilibrium at full load.

    displacement : (n, 3) mm.  rotation : (n, 3, 3) of each node from rest.
    reactions : (n, 6) forces (N) and moments (N·mm) of the supports on the nodes, global axes.
    section_force : (m, 2, 6) N, V_y, V_z, T, M_y, M_z; see ``fem.corotational.ElementState``.
    energy : strain energy, N·mm, zero without force.
    history : all equilibria on the way, the last one included.
    """

    displacement: Array
    rotation: Array
    reactions: Array
    section_force: Array
    energy: float
    history: tuple[LoadStep, ...]


def solve(
    model: CorotationalModel,
    supports: ArrayLike,
    forces: ArrayLike | None = None,
    *,
    steps: int | Sequence[float] = 10,
    tolerance: float = 1e-10,
    max_iterations: int = 25,
    max_cuts: int = 8,
) -> CorotationalResult:
    """Equilibrium under supports and dead loads.

    supports : (n, 6) nan where free, else the displacement (mm) or turn (rad) held at full load.
    forces : (n, 6) dead forces (N) and moments (N·mm) at full load, global axes.
    steps : number of equal load steps, or the levels to stop at, rising, the last one 1.
    tolerance : of the scaled residual.  max_cuts : how often a step may be halved.

    Under a force past a limit point Newton may snap through to another branch, as the structure
    would; ``history`` shows the leap.  To follow the branch prescribe a displacement.

    Raises ``ConvergenceError`` if even the smallest step finds no equilibrium: a limit point was
    passed, something can move freely, or the mesh is too coarse.
    """
    shape = (len(model.points), 6)
    given = _checked("supports", supports, shape, nan=True)
    p = np.zeros(shape) if forces is None else _checked("forces", forces, shape, nan=False)
    levels = _levels(steps)
    held = ~np.isnan(given)
    stage = Stage(
        name="load",
        model=model,
        length_start=model.natural_length,
        forces=p,
        held=held,
        values=np.where(held, given, 0.0),
        tolerance=tolerance,
        max_iterations=max_iterations,
    )
    u, R = np.zeros((shape[0], 3)), np.tile(np.eye(3), (shape[0], 1, 1))
    history: list[LoadStep] = []
    if (model.natural_length != model.rest_length).any():
        nothing = np.zeros(shape)
        initial = replace(
            stage,
            name="initial stress",
            length_start=model.rest_length,
            forces=nothing,
            values=nothing,
        )
        history += _march(initial, u, R, (1.0,), max_cuts)
        u, R = history[-1].displacement, history[-1].rotation
    history += _march(stage, u, R, levels, max_cuts)
    last = history[-1]
    return CorotationalResult(
        displacement=last.displacement,
        rotation=last.rotation,
        reactions=last.reactions,
        section_force=element_state(model, last.displacement, last.rotation).section_force,
        energy=last.energy,
        history=tuple(history),
    )


def _checked(name: str, values: ArrayLike, shape: tuple[int, int], *, nan: bool) -> Array:
    out = np.array(values, float)
    if out.shape != shape:
        raise ModelError(
            f"{name} have shape {out.shape}, must be {shape}: one row for each node.", part=name
        )
    fine = (np.isfinite(out) | (nan & np.isnan(out))).all(axis=1)
    if not fine.all():
        node = int(np.argmin(fine))
        raise ModelError(
            f"{name} of node {node} must be finite numbers (got {out[node].tolist()}).",
            part=f"node {node}",
        )
    return out


def _levels(steps: int | Sequence[float]) -> tuple[float, ...]:
    if isinstance(steps, int):
        if steps < 1:
            raise ModelError(f"steps must be 1 or more (got {steps}).", part="steps")
        return tuple((i + 1) / steps for i in range(steps))
    levels = tuple(float(s) for s in steps)
    if not levels or levels[-1] != 1.0 or not (np.diff((0.0, *levels)) > 0).all():
        raise ModelError(f"steps must rise from above 0 to 1 (got {levels}).", part="steps")
    return levels


def _march(
    stage: Stage, u: Array, R: Array, levels: Sequence[float], max_cuts: int
) -> list[LoadStep]:
    """All equilibria at ``levels``, and those between them that cutting made."""
    done: list[LoadStep] = []
    level = 0.0
    for target in levels:
        whole = step = target - level
        while level < target:
            # a rest smaller than half a step is taken along: halving leaves no crumbs of rounding
            trial = target if level + 1.5 * step > target else level + step
            try:
                reached = newton(stage, u, R, level, trial)
            except StepFailed as failure:
                step = 0.5 * (trial - level)
                if step < whole * 0.5 ** (max_cuts + 0.5):
                    raise _given_up(stage, level, failure) from None
                continue
            u, R, level = reached.displacement, reached.rotation, reached.level
            step = min(2.0 * step, whole)
            done.append(reached)
    return done


def _given_up(stage: Stage, level: float, failure: StepFailed) -> ConvergenceError:
    node = f"node {failure.node}"
    return ConvergenceError(
        f"corotational model, stage {stage.name!r}: no equilibrium beyond {level:.6g} of the load, "
        f"even in the smallest step: {failure.why} ({node}; scaled residual "
        f"{failure.residuals[-1]:.1e}, limit {stage.tolerance:.1e}).  Past a limit point prescribe "
        "a displacement instead of the force; hold what can move freely; or refine the mesh.",
        load_level=level,
        iterations=len(failure.residuals) - 1,
        residuals=failure.residuals,
        worst_node=node,
        state=stage.name,
    )
