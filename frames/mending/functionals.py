"""What a target asks for as a function j(u₀, u₁, ℓ; p) of the states, and its slopes.

u₀ is the frame before load, u₁ under the load, ℓ the natural lengths of its wires, p any number of
the case. Four kinds:

- stiffness s = κ / C with C = dᵀ H⁻¹ d, H the tangent of the locked frame at u₀ or u₁. With
  x = H⁻¹ d the function C = 2 xᵀd - xᵀHx is stationary in x: x is held while the rest moves,
  ∂C/∂p = 2 xᵀ∂d/∂p - xᵀ(∂H/∂p) x,  ∂C/∂u = -∂(xᵀHx)/∂u = -d/dε H(u + ε x) x, as H is a second
  derivative; this by central differences of the fourth order along x.
- movements at the gap, m = Dᵀ(u₁ - u₀): closing, shear, load over movement.
- tension and largest stress of the wire that has the smallest or largest: its own law, with
  central differences over the 24 freedoms of its stations.
- largest stress of a half-pin: linear recovery.

A smallest or largest of several is followed where it is now, as a derivative has to.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import pi

import numpy as np

from fem import node_displacements, respond
from fem.algebra import Array
from fem.recovery import along_members
from fem.wire import peak_stress, wire_state
from frames.gap import AXIS_OF, NM_PER_DEG, gap_directions
from frames.mending.differences import slope
from frames.mending.states import Rebuilt, States
from frames.quantities import STIFFNESSES
from frames.supports import Mask

FARTHEST_MM = 0.01
SMALL_MM = 1e-3
PIN_PLACES = 5
"""Sections of each piece of a pin, as in ``frames.pin_forces``."""


TangentAt = Callable[[int | None], Array]
"""Tangent (n, n) of the locked frame at a state: number of a load, None before load."""


@dataclass(frozen=True)
class Functional:
    """value (j now); partial: j of another model, of which tangents at the same states are given,
    with states held; by_u0, by_u1 (n,), by_natural
    (w,): its slopes; load: number of the load of u₁, None without."""

    value: float
    partial: Callable[[Rebuilt, TangentAt], float]
    by_u0: Array
    by_u1: Array
    by_natural: Array
    load: int | None


def functional(states: States, quantity: str, load: str | None) -> Functional:
    """For a quantity that a target may name (``frames.quantities``), of a smooth frame."""
    number = None
    if load is not None:
        number = [v.name for v in states.model.vectors].index(load)
    if quantity in STIFFNESSES:
        return _stiffness(states, quantity, number)
    assert number is not None
    if quantity in ("secant_axial_N_per_mm", "closing_mm", "shear_mm"):
        return _movement(states, quantity, number)
    if quantity == "pin_peak_stress_MPa":
        return _pin_stress(states, number)
    return _wire(states, quantity, number)


def wires_of(u: Array, model: Rebuilt) -> Array:
    """(..., w, 24) displacements of the wires' stations."""
    return np.asarray(u[..., model.system.wire_dofs[0]])


# stiffness


def _stiffness(states: States, quantity: str, load: int | None) -> Functional:
    axis, model = AXIS_OF[quantity], states.model
    unit = NM_PER_DEG if axis > 2 else 1.0
    at, H, held = _place(states, load)
    free = np.flatnonzero(model.system.free & ~held)
    d = gap_directions(model.parts, model.system)[:, axis]
    x = np.zeros(len(d))
    x[free] = np.linalg.solve(H[np.ix_(free, free)], d[free])
    C = float(d @ x)
    by_C = -unit / C**2

    def partial(other: Rebuilt, tangent: TangentAt) -> float:
        there = gap_directions(other.parts, other.system)[:, axis]
        return by_C * float(2.0 * x @ there - x @ tangent(load) @ x)

    size = np.abs(x[model.system.kept % 6 < 3]).max()
    bent = slope(lambda e: tangent_at(states, model, at + e * x) @ x, FARTHEST_MM / size)
    by_u = -by_C * bent
    zero = np.zeros_like(by_u)
    stretch = -by_C * energy_by_natural(states, at, x)
    by_u0, by_u1 = (by_u, zero) if load is None else (zero, by_u)
    return Functional(unit / C, partial, by_u0, by_u1, stretch, load)


def _place(states: States, load: int | None) -> tuple[Array, Array, Mask]:
    if load is None:
        return states.pre.u, states.pre.response.tangent, states.held
    return states.u[load], states.tangent[load], states.model.vectors[load].held


def tangent_at(states: States, model: Rebuilt, u: Array) -> Array:
    """(n, n) tangent of the locked frame of a model at u."""
    return respond(model.system, u, states.law).tangent


def energy_by_natural(states: States, at: Array, x: Array) -> Array:
    """(w,) ∂(xᵀHx)/∂ℓ: each wire's own length enters its own tangent only."""
    if not states.model.parts.model.wires:
        return np.zeros(0)
    wires, q, own = states.model.parts.model.wires[0], *(wires_of(v, states.model) for v in (at, x))

    def energy(e: float) -> Array:
        H = wire_state(wires, q, natural=states.natural + e).tangent
        return np.asarray(np.einsum("wi,wij,wj->w", own, H, own))

    return slope(energy, SMALL_MM)


# movement


def _movement(states: States, quantity: str, load: int) -> Functional:
    model, wrench = states.model, states.model.vectors[load].wrench
    apart = states.u[load] - states.pre.u
    D = gap_directions(model.parts, model.system)

    def value(move: Array, other: Rebuilt) -> float:
        if quantity == "closing_mm":
            return float(-move[2])
        if quantity == "shear_mm":
            return float(np.hypot(move[0], move[1]))
        return float(other.vectors[load].wrench[2] / move[2])

    move = D.T @ apart
    by_move = np.zeros(6)
    if quantity == "closing_mm":
        by_move[2] = -1.0
    elif quantity == "shear_mm":
        size = np.hypot(move[0], move[1])
        by_move[:2] = move[:2] / size if size > 0.0 else 0.0
    else:
        by_move[2] = -wrench[2] / move[2] ** 2

    def partial(other: Rebuilt, _tangent: TangentAt) -> float:
        return value(gap_directions(other.parts, other.system).T @ apart, other)

    by_u1 = D @ by_move
    none = np.zeros(len(states.natural))
    return Functional(value(move, model), partial, -by_u1, by_u1, none, load)


# wires


def _wire(states: States, quantity: str, load: int) -> Functional:
    model, u = states.model, states.u[load]

    def all_wires(other: Rebuilt, q: Array, natural: Array) -> Array:
        wires = other.parts.model.wires[0]
        state = wire_state(wires, q, natural=natural, with_tangent=False)
        if quantity != "wire_peak_stress_MPa":
            return state.tension
        d = np.array([w.wire.diameter_mm for w in other.parts.construct.wires])
        return peak_stress(wires, state, pi * d**2 / 4.0, pi * d**3 / 32.0)

    q = wires_of(u, model)
    now = all_wires(model, q, states.natural)
    w = int(now.argmin() if quantity == "wire_tension_min_N" else now.argmax())

    def partial(other: Rebuilt, _tangent: TangentAt) -> float:
        return float(all_wires(other, q, states.natural)[w])

    def along(unit: Array) -> Callable[[float], Array]:
        return lambda e: all_wires(model, q + e * unit, states.natural)[w]

    by_u1 = np.zeros(len(u))
    for k, place in enumerate(model.system.wire_dofs[0][w]):
        h = SMALL_MM if k % 6 < 3 else SMALL_MM / 10.0
        unit = np.zeros_like(q)
        unit[w, k] = 1.0
        by_u1[place] += float(slope(along(unit), h))
    stretch = np.zeros(len(states.natural))
    stretch[w] = slope(lambda e: all_wires(model, q, states.natural + e), SMALL_MM)[w]
    return Functional(float(now[w]), partial, np.zeros(len(u)), by_u1, stretch, load)


# half-pins


def _pin_stress(states: States, load: int) -> Functional:
    """σ = |N| / A + |M| / W at the section where it is largest. While u or p alone move, forces in
    a stiff pin run far off, so that its first order is taken in them: σ = s N / A + m·M / W with
    the sign s and the direction m of now, which has the same slopes."""
    model, u = states.model, states.u[load]
    names = [p.pin.name for p in model.parts.construct.pins]
    worst: tuple[float, str, int, int] = (-1.0, "", 0, 0)
    for name in names:
        N, M = _pin_forces(model, name, u)
        d = _pin_diameter(model, name)
        stress = np.abs(N) / (pi * d**2 / 4.0) + np.linalg.norm(M, axis=-1) / (pi * d**3 / 32.0)
        piece, place = divmod(int(stress.argmax()), stress.shape[1])
        worst = max(worst, (float(stress.max()), name, piece, place))
    now, name, piece, place = worst
    N, M = _pin_forces(model, name, u)
    sign, size = float(np.sign(N[piece, place])), float(np.linalg.norm(M[piece, place]))
    way = M[piece, place] / size if size > 0.0 else np.zeros(2)

    def stress_of(other: Rebuilt, at: Array) -> float:
        N, M = _pin_forces(other, name, at)
        d = _pin_diameter(other, name)
        bent = float(way @ M[piece, place]) / (pi * d**3 / 32.0)
        return sign * float(N[piece, place]) / (pi * d**2 / 4.0) + bent

    eye, none = np.eye(len(u)), np.zeros(len(states.natural))
    by_u1 = np.array([stress_of(model, unit) for unit in eye])  # linear in u
    return Functional(
        now, lambda other, _tangent: stress_of(other, u), np.zeros(len(u)), by_u1, none, load
    )


def _pin_forces(model: Rebuilt, name: str, u: Array) -> tuple[Array, Array]:
    """Axial force (pieces, places) and bending moments (pieces, places, 2) along a pin."""
    along = along_members(model.parts.model, node_displacements(model.system, u), PIN_PLACES)
    row = {n: i for i, n in enumerate(model.parts.model.members.names)}
    forces = along.forces[[row[n] for n in model.parts.members["pin", name]]]
    return forces[..., 0], forces[..., 4:6]


def _pin_diameter(model: Rebuilt, name: str) -> float:
    return next(p.pin.diameter_mm for p in model.parts.construct.pins if p.pin.name == name)
