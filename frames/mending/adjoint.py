"""Derivatives of what a target asks for by one linear equation per state, not one per number.

The states of an ideal frame, for a number p of the case:

    r₀ = f(u₀; p, T) = 0            pretension, tensions T given (free freedoms; zero where held)
    ℓ  = L(u₀; p, T)                natural lengths of the wires as they are locked there
    r₁ = f(u₁; p, ℓ) - F(p) = 0     under load; where held, u₁ = u₀

and j(u₀, u₁, ℓ; p) what is asked for. With multipliers the sum

    Λ = j + λ₁ᵀ r₁ + λ_ℓᵀ (L(u₀; p, T) - ℓ) + λ₀ᵀ r₀

has the value j for every p, and when it is stationary in u₁, ℓ and u₀, its slope in p with all
these held is dj/dp. Stationary it is for (H₁ the tangent under load, H₀ the one with tensions
given, both symmetric; λ₁, λ₀ zero where held)

    H₁ λ₁ = -∂j/∂u₁                                                on the free freedoms
    λ_ℓ  = ∂j/∂ℓ + ∂(λ₁ᵀ f)/∂ℓ
    H₀ λ₀ = -(∂j/∂u₀ + [∂j/∂u₁ + H₁ λ₁] where held under load + ∂(λ_ℓᵀ L)/∂u₀)

The bracket is there because the held freedoms stay where the frame before load has them. Slopes in
u, ℓ and p are central differences of explicit functions (fourth order, ``differences``); no state
is solved anew. For p the model is built and condensed anew, so that whatever depends on p, rigid
arms, condensed stiffness, columns, directions at the gap, load vectors, is in it. The number of a
tension leaves the model as it is.

Source: adjoint method of design sensitivity, textbook matter (Choi & Kim, Structural
Sensitivity Analysis and Optimization, 2005, from memory); derivation above.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from fem import Law, respond
from fem.algebra import Array
from fem.wire import natural_length, wire_state
from frames.casefile import CaseError
from frames.mending.differences import PLACES, WEIGHTS, slope
from frames.mending.functionals import SMALL_MM, Functional, tangent_at, wires_of
from frames.mending.parameters import Parameter, moved
from frames.mending.states import Rebuilt, States, alike, rebuilt
from frames.supports import Mask

NARROWER = 0.2
"""Step over that of the parameter: with displacements held, forces run far off when a place moves,
and bend sooner than those of a frame that follows."""


@dataclass(frozen=True)
class Multipliers:
    """λ₀ (n,), λ₁ (n,), λ_ℓ (w,) of one functional."""

    zero: Array
    one: Array
    natural: Array


def multipliers(states: States, j: Functional) -> Multipliers:
    """Solve the two linear equations."""
    model, n = states.model, len(states.pre.u)
    one, carried = np.zeros(n), np.zeros(n)
    natural = j.by_natural
    if j.load is not None:
        H1, held = states.tangent[j.load], model.vectors[j.load].held
        one = _on_free(H1, -j.by_u1, model.system.free & ~held)
        carried = np.where(held, j.by_u1 + H1 @ one, 0.0)
        u1 = states.u[j.load]
        natural = natural + _work_by_natural(states, u1, one)
    pulled = j.by_u0 + carried + _lengths_by_u0(states, natural)
    H0 = respond(model.system, states.pre.u, states.held_law).tangent
    return Multipliers(_on_free(H0, -pulled, model.system.free & ~states.held), one, natural)


def _work_by_natural(states: States, u: Array, weights: Array) -> Array:
    """(w,) ∂(λ₁ᵀ f)/∂ℓ."""
    if not states.model.parts.model.wires:
        return np.zeros(0)
    wires = states.model.parts.model.wires[0]
    q, own = wires_of(u, states.model), wires_of(weights, states.model)

    def work(e: float) -> Array:
        state = wire_state(wires, q, natural=states.natural + e, with_tangent=False)
        return np.asarray(np.sum(own * state.gradient, axis=-1))

    return slope(work, SMALL_MM)


def _on_free(H: Array, right: Array, free: Mask) -> Array:
    at = np.flatnonzero(free)
    out = np.zeros(len(right))
    out[at] = np.linalg.solve(H[np.ix_(at, at)], right[at])
    return out


def _lengths(model: Rebuilt, u0: Array, tension: Array) -> Array:
    """(w,) L(u₀; p, T)."""
    if not model.parts.model.wires:
        return np.zeros(0)
    wires = model.parts.model.wires[0]
    return natural_length(
        wires, wire_state(wires, wires_of(u0, model), tension=tension, with_tangent=False)
    )


def _lengths_by_u0(states: States, weights: Array) -> Array:
    """(n,) ∂(λ_ℓᵀ L)/∂u₀: every wire has its own freedoms, so that all are moved at once."""
    out = np.zeros(len(states.pre.u))
    if not states.model.parts.model.wires:
        return out
    wires, dofs = states.model.parts.model.wires[0], states.model.system.wire_dofs[0]
    q = wires_of(states.pre.u, states.model)
    for k in range(q.shape[-1]):
        unit = np.zeros(q.shape[-1])
        unit[k] = 1.0

        def lengths(e: float, unit: Array = unit) -> Array:
            state = wire_state(wires, q + e * unit, tension=states.model.tension,
                               with_tangent=False)  # fmt: skip
            return natural_length(wires, state)

        h = SMALL_MM if k % 6 < 3 else SMALL_MM / 10.0
        np.add.at(out, dofs[:, k], weights * slope(lengths, h))
    return out


def sums(
    states: States, model: Rebuilt, all_j: Sequence[Functional], all_m: Sequence[Multipliers]
) -> Array:
    """(k,) Λ of every functional for another model, states and multipliers held."""
    u0, law = states.pre.u, Law(tension=model.tension)
    start = respond(model.system, u0, law, with_tangent=False).force
    lengths = _lengths(model, u0, model.tension)
    unbalanced = np.zeros_like(states.u)
    if len(states.u):
        under = respond(model.system, states.u, states.law, with_tangent=False).force
        unbalanced = under - np.array([v.force for v in model.vectors])

    @cache
    def tangent(load: int | None) -> Array:
        return tangent_at(states, model, u0 if load is None else states.u[load])

    out = []
    for j, m in zip(all_j, all_m, strict=True):
        total = j.partial(model, tangent) + m.natural @ (lengths - states.natural) + m.zero @ start
        if j.load is not None:
            total += m.one @ unbalanced[j.load]
        out.append(float(total))
    return np.array(out)


def derivatives(
    states: States,
    parameter: Parameter,
    all_j: Sequence[Functional],
    all_m: Sequence[Multipliers],
) -> Array | None:
    """(k,) dj/dp of every functional; None where the model's freedoms change with p, or the case
    does not allow a step of it."""
    h, total = NARROWER * parameter.step, np.zeros(len(all_j))
    for place, weight in zip(PLACES, WEIGHTS, strict=True):
        try:
            case = moved(states.case, {parameter: place * h})
        except CaseError:
            return None
        if parameter.key == "tension_N":
            tension = np.array([w.tension for w in case.wire])
            model = replace(states.model, tension=tension)
        else:
            model = rebuilt(case)
            if not alike(model, states.model):
                return None
        total += weight * sums(states, model, all_j, all_m)
    return np.asarray(total / h)
