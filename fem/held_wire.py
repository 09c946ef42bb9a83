"""Tensioned wire held along its axis: clamps that slip, bone that grips, olives, steel that yields.

Motion and bending are those of ``fem.wire``; but every span i has a tension T_i ≥ 0 of its own, and
wire may pass from span to span. In one step, from a history (``fem.wire_holds``) that gives the
natural length L_i + n_i, the flexibility c_i = N_i/EA and the kinks α, wire slips by s_k through
inner station k, by t through a clamp, and kinks grow by Δα. The answer is the saddle point of the
incremental potential

    Ψ = max_T min_{s, t, λ, Δα} { Σ_i T_i (ℓ_i - L_i - n_i + s_i - s_{i-1} - t_i - λ_i)
          + U*(z, α, T) - ½ Σ c_i T_i²                     bending (``fem.held_bending``), stretch
          + Σ_k g_k |s_k|                                  grip of the bone: |T_{k+1} - T_k| ≤ g_k
          + Σ slip t + N_y Σ λ     (t, λ ≥ 0)              clamps and wire yield: T ≤ slip, T ≤ N_y
          + Σ D t                  (t of either sign)      a tensioner pulls: T = D
          + ½ H Σ |α|² + Σ Φ(T, |Δα|) },                   plastic hinges (``fem.plastic_hinge``)

with s_k between the stops of an olive. At its stationary point every law holds at once:

    ℓ_i + b_i = L_i + n_i - s_i + s_{i-1} + t_i + λ_i - Σ ∂Φ/∂T_i + c_i T_i          where taut,
    T_{k+1} - T_k = g_k where wire slides towards the end, -g_k towards the start, between at rest,
        and beyond on the side to which an olive sits on the bone,

and Ψ equals the elastic energy, plus what has been dissipated in the step (g |s|, slip t, N_y λ,
Φ - T ∂Φ/∂T: never negative), plus D t of the tensioners. Its gradient by q, in which slips,
tensions and kinks count as held, is continuous; its tangent is so piecewise:

    g = Σ T_i ∂ℓ_i + Zᵀ (K y^)_z,    H = Σ T_i ∂²ℓ_i + Zᵀ K*_zz Z - Cᵀ (∂²Ψ/∂X²)⁻¹ C,

X being the tensions, slips and kinks free to move and C = ∂²Ψ/∂X∂q: for T_i ∂(ℓ_i + b_i), for s_k
nought, for kinks K*_αz Z.  Without grip, olive, slip and yield this is the law of ``fem.wire``.

Such incremental potentials are standard for friction and plasticity (e.g. Ortiz & Stainier, Comput.
Methods Appl. Mech. Engrg. 171 (1999) 419-444; from memory).
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array, transpose
from fem.errors import ConvergenceError
from fem.held_bending import SpanBending
from fem.held_newton import inverse_hessian
from fem.held_problem import broadcast, rows_of
from fem.held_rows import Local, Point, Rows, evaluate, part_of
from fem.held_solver import solve_rows
from fem.wire_holds import WireHistory, WireHolds
from fem.wire_path import Motion, Wires, motion, path_curvature

NOUGHT = 1e-9  # N, rounding left of the tension of a slack wire


@dataclass(frozen=True)
class HeldState:
    """Answer of the wires to displacements; leading axes ``...`` are load cases.

    tension : (..., w) N, largest of the spans.  tensions : (..., w, S-1) N, never negative.
    energy : (..., w) N·mm, incremental potential of the step (its derivative is the gradient).
    stored : (..., w) N·mm, elastic energy, with that of hardening, in the wire.
    path : (..., w) Σ ℓ_i - L_i, mm.  elongation : (..., w, S-1) ℓ_i - L_i.
    gradient : (..., w, 6S) forces on the stations' nodes that the wire needs.
    tangent : (..., w, 6S, 6S), or (..., w, 0, 0) when it was not asked for.
    bending : bent state (``fem.held_bending``).
    points : (..., w, S, 3) d_k, mm, relative to the clamp chord.
    slip : (..., w, S-2) mm towards the end in this step.
    clamp_slip : (..., w, 2) mm inwards in this step.
    stretch : (..., w, S-1) mm, plastic stretch of the spans in this step.
    slack : (..., w, S-1) mm, loose length of the spans.
    kink : (..., w, S-1, 2, 2) rad, plastic slopes at the end of the step.
    dissipation : (..., w) N·mm in this step, never negative.
    spans : (..., w, S-1) -2 not laid, -1 slack, 0 taut, 1 at slip or yield, 2 pulled.
    stations : (..., w, S-2) 0 held by the bone, 1 slides to the end, -1 to the start, 2 and -2 an
        olive sits on the bone and stops it that way, 3 free to slide.
    clamps : (..., w, 2) 0 held, 1 slips, 2 pulled.
    flows : (..., w, S-1, 2) hinges that flow in this step.
    """

    tension: Array
    tensions: Array
    energy: Array
    stored: Array
    path: Array
    elongation: Array
    gradient: Array
    tangent: Array
    bending: SpanBending
    points: Array
    slip: Array
    clamp_slip: Array
    stretch: Array
    slack: Array
    kink: Array
    dissipation: Array
    spans: NDArray[np.int8]
    stations: NDArray[np.int8]
    clamps: NDArray[np.int8]
    flows: NDArray[np.bool_]


def held_state(
    wires: Wires,
    holds: WireHolds,
    q: Array,
    history: WireHistory,
    *,
    with_tangent: bool = True,
) -> HeldState:
    """Energy, forces and tangent at displacements q (..., w, 6S) of the stations' nodes, starting
    from ``history``.

    Raises ConvergenceError naming the wire whose regimes are not found, ModelError for pulls that
    no tensions can meet.
    """
    past = broadcast(history, q.shape[:-2])
    lead = past.natural.shape[:-2]
    moved = motion(wires, np.broadcast_to(q, (*lead, *q.shape[-2:])))
    rows = rows_of(wires, holds, moved, past)
    point, failed = solve_rows(rows)
    if failed.any():
        raise _no_end(wires, rows, point, failed)
    point = point._replace(T=np.where(point.T < NOUGHT, 0.0, point.T))
    at = evaluate(rows, point, yields=holds.hinges is not None, with_stiffness=True)
    return _state(wires, holds, moved, past, rows, point, at, with_tangent)


def _no_end(wires: Wires, rows: Rows, point: Point, failed: NDArray[np.bool_]) -> ConvergenceError:
    row = int(np.flatnonzero(failed)[0])
    name = wires.names[row % len(wires.names)]
    return ConvergenceError(
        f"wire {name!r}: no set of sliding and resting stations was found in which its tensions "
        f"balance (last tried {np.array2string(point.T[row], precision=5)} N). Raise the load in "
        "smaller steps.",
        worst_node=name,
    )


def _by_span(kink: Array) -> Array:
    """Back again."""
    return transpose(kink).reshape(*kink.shape[:-2], -1, 2, 2)


def _state(
    wires: Wires,
    holds: WireHolds,
    moved: Motion,
    past: WireHistory,
    rows: Rows,
    point: Point,
    at: Local,
    with_tangent: bool,
) -> HeldState:
    w, n = wires.spans.shape[-2:]
    lead = past.natural.shape[:-2]

    def shaped(value: NDArray[Any]) -> NDArray[Any]:
        return value.reshape(*lead, w, *value.shape[1:])

    T, slip = shaped(point.T), shaped(point.s)
    bent = SpanBending(**{k: shaped(v) for k, v in vars(at.bent).items()})
    E, choice, stations = shaped(at.E), shaped(at.choice.span), shaped(at.choice.station)
    hinges = holds.hinges
    N_y = np.full(w, np.inf) if hinges is None else hinges.N_y
    pulled = ~np.isnan(past.pull) & ~past.unlaid[..., None]
    laid = ~past.unlaid[..., None]
    t, over = _passed(E, choice * laid, pulled, holds.slip, N_y)

    stretch, flowed = over, np.zeros((*lead, w))
    stored = np.sum(past.flexibility * T**2 / 2.0 - T * bent.bow, axis=-1) + bent.energy
    kink = past.kink
    if hinges is not None:
        turned = shaped(at.hinges.stretch)
        stretch = over + turned
        flowed = shaped(at.hinges.work).sum(axis=-1) + np.sum(T * turned, axis=-1)
        flowed = flowed + np.sum(_finite(N_y)[..., None] * over, axis=-1)
        kink = past.kink + shaped(_by_span(point.a))
        stored = stored + hinges.H * np.sum(kink**2, axis=(-3, -2, -1)) / 2.0
    rubbed = np.sum(_finite(holds.grip) * np.abs(slip), axis=-1)
    slipped = np.sum(np.where(pulled, 0.0, _finite(holds.slip) * t), axis=-1)
    work = np.sum(np.where(pulled, past.pull * t, 0.0), axis=-1)
    dissipation = rubbed + slipped + flowed

    by_q = np.einsum("...ix,...ixq->...iq", moved.directions, np.diff(moved.by_q, axis=-3))
    n_z = 2 * n + 1
    slopes = wires.slopes.reshape(*wires.slopes.shape[:-3], 2 * n_z, -1)
    force = bent.force[..., :n_z].reshape(*lead, w, 2 * n_z)
    gradient = np.einsum("...i,...iq->...q", T, by_q) + np.einsum(
        "...wrq,...wr->...wq", slopes, force
    )
    tangent = np.zeros((*lead, w, 0, 0))
    if with_tangent:
        tangent = _tangent(wires, moved, rows, point, at, bent, T, by_q, slopes)
    return HeldState(
        tension=T.max(axis=-1),
        tensions=T,
        energy=stored + dissipation + work,
        stored=stored,
        path=moved.elongation.sum(axis=-1),
        elongation=moved.elongation,
        gradient=gradient,
        tangent=tangent,
        bending=bent,
        points=moved.d,
        slip=slip,
        clamp_slip=t,
        stretch=stretch,
        slack=np.where(laid & (choice < 0), np.maximum(-E, 0.0), 0.0),
        kink=kink,
        dissipation=dissipation,
        spans=_span_regimes(choice, pulled, laid),
        stations=np.where((holds.grip == 0.0) & (np.abs(stations) == 1), 3, stations).astype(
            np.int8
        ),
        clamps=np.where(pulled, 2, np.where(t > 0.0, 1, 0)).astype(np.int8),
        flows=shaped(at.choice.flows).reshape(*lead, w, n, 2),
    )


def _finite(limit: Array) -> Array:
    """Limits, nought where nothing yields."""
    return np.where(np.isfinite(limit), limit, 0.0)


def _passed(
    E: Array, choice: NDArray[np.int8], pulled: NDArray[np.bool_], slip: Array, N_y: Array
) -> tuple[Array, Array]:
    """What the spans at their upper bound pass on: t (..., w, 2) of the clamps, and the stretch by
    yield (..., w, S-1).
    """
    n = E.shape[-1]
    over = np.where(choice > 0, np.maximum(E, 0.0), 0.0)
    t = np.zeros(pulled.shape)
    if n == 1:
        # one span, two clamps: a tensioner takes all, else the weaker clamp slips, equal ones alike
        share = np.where(
            pulled.any(axis=-1, keepdims=True),
            pulled,
            (slip == slip.min(axis=-1, keepdims=True)) & (slip <= N_y[..., None]),
        ).astype(float)
        share /= np.maximum(share.sum(axis=-1, keepdims=True), 1.0)
        taken = np.where(pulled.any(axis=-1), E[..., 0], over[..., 0])
        t = share * taken[..., None]
        over[..., 0] = np.where(share.any(axis=-1), 0.0, over[..., 0])
        return t, over
    for end, span in ((0, 0), (1, n - 1)):
        slips = slip[..., end] <= N_y
        t[..., end] = np.where(
            pulled[..., end], E[..., span], np.where(slips, over[..., span], 0.0)
        )
        over[..., span] = np.where(pulled[..., end] | slips, 0.0, over[..., span])
    return t, over


def _span_regimes(
    choice: NDArray[np.int8], pulled: NDArray[np.bool_], laid: NDArray[np.bool_]
) -> NDArray[np.int8]:
    out = choice.copy()
    out[..., 0] = np.where(pulled[..., 0], 2, out[..., 0])
    out[..., -1] = np.where(pulled[..., 1], 2, out[..., -1])
    return np.where(laid, out, -2).astype(np.int8)


def _tangent(
    wires: Wires,
    moved: Motion,
    rows: Rows,
    point: Point,
    at: Local,
    bent: SpanBending,
    T: Array,
    by_q: Array,
    slopes: Array,
) -> Array:
    w, n = wires.spans.shape[-2:]
    n_z, size = 2 * n + 1, slopes.shape[-1]
    lead = T.shape[:-2]
    stiff = np.zeros((*lead, w, 2, n_z, 2, n_z))
    stiff[..., 0, :, 0, :] = stiff[..., 1, :, 1, :] = bent.stiffness[..., :n_z, :n_z]
    stiff = stiff.reshape(*lead, w, 2 * n_z, 2 * n_z)
    tangent = path_curvature(wires, moved, T) + transpose(slopes) @ stiff @ slopes
    C = by_q + bent.bow_by_y[..., :n_z].reshape(*lead, w, n, 2 * n_z) @ slopes
    answer = inverse_hessian(rows, point, at, yields=False)[:, :n, :n]
    flat = C.reshape(-1, n, size)
    relaxed = transpose(flat) @ answer @ flat
    flows = np.flatnonzero(at.choice.flows.any(axis=-1))
    if len(flows):
        # once more where hinges flow, with the kinks among the unknowns
        part = at.take(flows)
        own = np.broadcast_to(slopes, (*lead, *slopes.shape[-3:])).reshape(-1, 2 * n_z, size)
        stiff = np.zeros((len(flows), 2, 2 * n, 2, n_z))
        stiff[:, 0, :, 0] = stiff[:, 1, :, 1] = part.bent.stiffness[:, n_z:, :n_z]
        kinks = stiff.reshape(-1, 4 * n, 2 * n_z) @ own[flows]
        slips = np.zeros((len(flows), n - 1, size))
        rows_of_C = np.concatenate([flat[flows], slips, kinks], axis=1)
        answer = inverse_hessian(rows.take(flows), part_of(point, flows), part, yields=True)
        relaxed[flows] = transpose(rows_of_C) @ answer @ rows_of_C
    tangent = tangent - relaxed.reshape(tangent.shape)
    return np.asarray((tangent + transpose(tangent)) / 2.0)


def peak_stress(wires: Wires, state: HeldState, area: Array, section_modulus: Array) -> Array:
    """(..., w) MPa: largest T_i/A + |M|/W along each wire.

    Between stations nothing loads the wire, so |M| is largest at the end of a span. area (w,) mm²,
    section_modulus (w,) mm³.
    """
    size = np.sqrt(np.sum(state.bending.moments**2, axis=-1)).max(axis=-1)
    stress = state.tensions / area[..., None] + size / section_modulus[..., None]
    return np.asarray(stress.max(axis=-1))
