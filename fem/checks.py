"""Checks made on every solution: equilibrium of the whole, and energy = work.

Equilibrium. Internal forces alone must balance: their sum, and the sum of their moments about the
middle of the structure (places before deformation, as members and loads see them), vanish but for
rounding. The columns' forces balance where their ends have moved to: their moment of second order,
r × f for each, is taken off first.

Energy. Between two states u₀ and u₁ the stored energy must rise by the work of the internal forces
on the straight way between them, ∫₀¹ f(u₀ + t Δu)·Δu dt, here by Gauss' rule with 4 points. It ties
energy and forces of the wire law to each other independently of Newton's iteration. (Where a wire
goes slack on the way the integrand has a kink and the rule is good to a few percent of that wire's
share only.)
"""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.chord import chord_state
from fem.law import Law
from fem.system import Response, System, node_displacements, respond

_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(4)
EQUILIBRIUM_LIMIT = 1e-6
ENERGY_LIMIT = 1e-4


def equilibrium_error(system: System, u: Array, response: Response, law: Law) -> Array:
    """(...,) imbalance of the internal forces at ``u`` (..., n), relative to the largest of them,
    of the tensions and of 1 N (``fem.newton``): a rod made longer that nothing resists has none.
    """
    model = system.model
    f = np.zeros((*u.shape[:-1], 6 * len(model.names)))
    f[..., system.kept] = response.force
    f = f.reshape(*u.shape[:-1], -1, 6)
    X = model.points
    middle = X.mean(axis=-2, keepdims=True)
    total = _resultant(X - middle, f)
    springs = model.springs
    grounded = springs.ends[:, 1] < 0
    if grounded.any():  # what the ground takes is no internal force
        at = springs.ends[grounded, 0]
        d = node_displacements(system, u)[..., at, :]
        pull = np.einsum("sij,...sj->...si", springs.stiffness[grounded, :6, :6], d)
        total = total - _resultant(X[..., at, :] - middle, pull)
    columns = chord_state(model.chords, u[..., system.chord_dofs], law.misfit, with_tangent=False)
    total[..., 3:] -= np.sum(np.cross(model.chords.reach, columns.end_force), axis=-2)
    length = np.asarray(system.length)
    total[..., 3:] /= length[..., None]
    scale = np.abs(f[..., :3]).max(axis=(-2, -1)) + np.abs(f[..., 3:]).max(axis=(-2, -1)) / length
    scale = np.maximum(scale, response.tension.max(axis=-1, initial=1.0))
    return np.asarray(np.abs(total).max(axis=-1) / scale)


def _resultant(X: Array, f: Array) -> Array:
    """(..., 6) sum of forces and of moments about the origin of X (k, 3); f (..., k, 6)."""
    moment = np.cross(X, f[..., :3]) + f[..., 3:]
    return np.concatenate([f[..., :3].sum(axis=-2), moment.sum(axis=-2)], axis=-1)


def energy_error(system: System, u0: Array, u1: Array, law: Law) -> Array:
    """(...,) difference of energy and work from u0 to u1 (..., n), relative to the larger."""
    return energy_balance(system, u0, u1, law)[0]


class Ends(NamedTuple):
    """What is known of both ends of a way: energy at its start and end, and whether all wires are
    taut at both; each (...,).
    """

    start: Array
    end: Array
    taut: NDArray[np.bool_]


def energy_balance(
    system: System, u0: Array, u1: Array, law: Law, *, pieces: int = 1, ends: Ends | None = None
) -> tuple[Array, NDArray[np.bool_]]:
    """``energy_error``, and whether all wires stay taut and no part changes between stick and slip,
    touch and air on the way, so that it is exact (...,).

    pieces : in how many pieces the way is cut for the rule. ends : saves looking at them again, of
    a system that has nothing but ideal wires and columns.
    """
    step = u1 - u0
    starts = np.arange(pieces)[:, None]
    inside = ((starts + (_POINTS + 1.0) / 2.0) / pieces).ravel()
    places = inside if ends is not None else np.concatenate([inside, [0.0, 1.0]])
    way = u0 + places.reshape(-1, *([1] * step.ndim)) * step
    response = respond(system, way, law, with_tangent=False)
    power = np.sum(response.force[: len(inside)] * step, axis=-1)
    work = np.tensordot(np.tile(_WEIGHTS / (2.0 * pieces), pieces), power, axes=1)
    taut = np.asarray((response.tension > 0.0).all(axis=(0, -1))) & _same_regimes(response)
    if ends is None:
        ends = Ends(response.energy[-2], response.energy[-1], taut)
    stored = ends.end - ends.start
    # what a tiny load stores is rounding of what pretension has stored
    rounding = 1e-9 * np.maximum(np.abs(ends.start), np.abs(ends.end)) + 1e-12
    if law.misfit is not None:  # the linear part stores the misfits, and columns take them off
        linear = np.abs(u1 * system.linear_force(u1)).sum(axis=-1)
        rounding = rounding + 1e-10 * linear
    size = np.maximum(np.maximum(np.abs(work), np.abs(stored)), rounding)
    return np.asarray(np.abs(stored - work) / size), taut & ends.taut


def _same_regimes(response: Response) -> NDArray[np.bool_]:
    """(...,) whether the parts that have a kink in their law are on one side of it at all of the
    first axis' places.
    """
    lead = response.energy.shape[1:]
    same = np.ones(lead, dtype=bool)
    sides: list[NDArray[Any]] = []
    if response.held_wires is not None:
        held = response.held_wires
        sides += [held.spans, held.stations, held.clamps]
    if response.joints is not None:
        sides.append(response.joints.force != 0.0)
    if response.contacts is not None:
        sides += [response.contacts.pressure > 0.0, response.contacts.slipping]
    for side in sides:
        flat = side.reshape(len(side), *lead, -1)
        same &= (flat == flat[:1]).all(axis=(0, -1))
    return same
