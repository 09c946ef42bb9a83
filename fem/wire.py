"""Tensioned wire: a pretensioned beam that slides through its inner stations.

A wire runs straight from a clamp over inner stations to another clamp. Each station k is a point of
a body: node with displacement u_k and rotation θ_k, rigid arm a_k from node to point. The clamps
hold the wire in every direction; an inner station (cortex of a bone) holds it sideways only: along
its axis the wire slides, so that one tension T reaches from clamp to clamp.

Motion relative to the clamps. With e the direction from clamp A to clamp B, L their distance and U
the displacement of the points to first order, U_k = u_k + θ_k × a_k, the chord between the clamps
turns by

    Ω = e × (U_B - U_A) / L + e e·(θ_A + θ_B) / 2,

and everything is measured from it: ρ_k = θ_k - Ω and, with the rotation of each arm to second
order,

    d_k = U_k - U_A - Ω × (X_k - X_A) + ½ ρ_k × (ρ_k × a_k).

A motion of the whole as a rigid body then costs nothing, exactly, as it must when rings, rods and
bone are small-displacement members. (The forces of the wire's clamps on each other run through the
ring; measured from a fixed direction instead, the wire would resist a turn of ring and bone
together with T L, which the compression in the ring cancels.)

Path. P = Σ ℓ_i with ℓ_i = |X_i - X_{i-1} + d_i - d_{i-1}|, exact. When the bone turns by ρ against
the ring, each cortex, r off the axis, comes nearer to the axis by r ρ²/2: the second-order arm
gives the rotational stiffness T r per leg that first-order kinematics would lose.

Energy. With natural length P_n, stretch stiffness EA and the bending energy U*(z, T) of
``fem.wire_bending`` (z linear in the displacements: chord slopes from d, end slopes from ρ × e)

    Π(q) = max_{T ≥ 0} { T (P - P_n) + U*(z, T) - ½ T² P_n / EA }.

Stationarity in T is the law of the wire: P - P_n + b = T P_n / EA, b the shortening by bowing. U*
is concave in T, so T is unique, and Π has a continuous gradient also where the wire goes slack:
there T is exactly zero and the wire follows its stations as an unstretched beam. With T given
instead (while tensioning), Π = T (P - L) + U*. Pretension has no other home than P_n.

    gradient  g = T ∂P + Zᵀ K z^
    tangent   H = T ∂²P + Zᵀ K* Z + a aᵀ / (P_n/EA - ∂b/∂T),    a = ∂P + Zᵀ ∂b/∂z

(the last term only for a locked, taut wire). Neglected: torsion of the wire about its own axis,
friction in the bone, a clamp that turns by itself on an arm along the wire (its chord is then taken
to first order only), third powers of slopes against the chord (slopes in a frame reach 0.1).

Sources: stability functions and bowing, C. Oran, J. Struct. Div. ASCE 99 (1973) 973-985 and
Livesley & Chandler 1956; elimination of T as for any complementary energy.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array, across, skew, transpose
from fem.errors import ModelError
from fem.wire_bending import Bending, bend, span_end_moments


@dataclass(frozen=True)
class Wires:
    """w wires with S stations each, and the constant maps of their kinematics.

    names : (w,).
    nodes : (w, S) node that carries each station.
    points : (w, S, 3) mm.
    arms : (w, S, 3) mm, from node to point.
    turns : (w, S) whether the station turns the wire.
    EA, EI : (w,) N, N·mm².
    spans : (w, S-1) mm.
    across : (w, 2, 3) the two directions across the wire.
    shift : (w, S, 3, 6S) d_k to first order.
    turn : (w, S, 3, 6S) ρ_k.
    slopes : (w, 2, 2S-1, 6S) z, rows of free slopes zero.
    free : (w, 2S-1) which slopes are free.
    """

    names: tuple[str, ...]
    nodes: NDArray[np.intp]
    points: Array
    arms: Array
    turns: NDArray[np.bool_]
    EA: Array
    EI: Array
    spans: Array
    across: Array
    shift: Array
    turn: Array
    slopes: Array
    free: NDArray[np.bool_]

    @property
    def length(self) -> Array:
        """(w,) distance of the clamps, mm."""
        return np.asarray(self.spans.sum(axis=-1))


@dataclass(frozen=True)
class WireState:
    """Answer of the wires to displacements; leading axes ``...`` are load cases.

    tension : (..., w) N, never negative.
    energy : (..., w) N·mm.
    path : (..., w) P - L, mm.
    gradient : (..., w, 6S) forces on the stations' nodes that the wire needs.
    tangent : (..., w, 6S, 6S), or (..., w, 0, 0) when it was not asked for.
    bending : bent state (slopes, moments).
    points : (..., w, S, 3) d_k, mm, relative to the clamp chord.
    """

    tension: Array
    energy: Array
    path: Array
    gradient: Array
    tangent: Array
    bending: Bending
    points: Array


def make_wires(
    names: tuple[str, ...],
    nodes: NDArray[np.intp],
    points: Array,
    arms: Array,
    turns: NDArray[np.bool_],
    EA: Array,
    EI: Array,
) -> Wires:
    """Check the stations and lay out the constant maps (see ``Wires`` for shapes)."""
    w, S = nodes.shape
    for name, X, ea, ei in zip(names, points, EA, EI, strict=True):
        _check(name, X, float(ea), float(ei))
    line = points[:, -1] - points[:, 0]
    L = np.linalg.norm(line, axis=-1)
    e = line / L[:, None]
    sides = across(e)
    spans = np.linalg.norm(np.diff(points, axis=1), axis=-1)

    u = np.zeros((w, S, 3, 6 * S))
    theta = np.zeros((w, S, 3, 6 * S))
    for k in range(S):
        u[:, k, :, 6 * k : 6 * k + 3] = np.eye(3)
        theta[:, k, :, 6 * k + 3 : 6 * k + 6] = np.eye(3)
    U = u - skew(arms) @ theta
    ee = e[:, :, None] * e[:, None, :]
    omega = (
        skew(e) @ (U[:, -1] - U[:, 0]) / L[:, None, None] + ee @ (theta[:, 0] + theta[:, -1]) / 2.0
    )
    turn = theta - omega[:, None]
    shift = U - U[:, :1] + skew(points - points[:, :1]) @ omega[:, None]

    chord = np.diff(shift, axis=1) / spans[..., None, None]
    # slope vector ρ × e: its components along (e₁, e₂) are (ρ·e₂, -ρ·e₁)
    side_turn = np.stack([sides[:, 1], -sides[:, 0]], axis=1)
    z = np.concatenate(
        [np.einsum("wpx,wkxq->wpkq", sides, chord), np.einsum("wpx,wkxq->wpkq", side_turn, turn)],
        axis=2,
    )
    free = np.concatenate([np.zeros((w, S - 1), dtype=bool), ~turns], axis=1)
    z = np.where(free[:, None, :, None], 0.0, z)
    return Wires(names, nodes, points, arms, turns, EA, EI, spans, sides, shift, turn, z, free)


def _check(name: str, X: Array, EA: float, EI: float) -> None:
    if not 2 <= len(X) <= 8:
        raise ModelError(f"wire {name!r}: needs 2 to 8 stations (got {len(X)}).", part=name)
    if not (EA > 0 and EI > 0):
        raise ModelError(
            f"wire {name!r}: EA and EI must be more than 0 (got {EA}, {EI}).", part=name
        )
    line = X[-1] - X[0]
    L = float(np.linalg.norm(line))
    along = (X - X[0]) @ line / L if L > 0 else np.zeros(len(X))
    if not L > 0 or np.any(np.diff(along) < 1e-6 * L):
        raise ModelError(
            f"wire {name!r}: its stations must follow each other along the wire with a length "
            "between them.",
            part=name,
        )
    off = np.linalg.norm(X - X[0] - along[:, None] * line / L, axis=-1).max()
    if off > 1e-6 * L:
        raise ModelError(
            f"wire {name!r}: its stations must lie on one straight line "
            f"(one lies {off:.3g} mm off it).",
            part=name,
        )


def wire_state(
    wires: Wires,
    q: Array,
    *,
    tension: Array | None = None,
    natural: Array | None = None,
    with_tangent: bool = True,
) -> WireState:
    """Energy, forces and tangent of the wires.

    q : (..., w, 6S) displacements of the stations' nodes, mm and rad, global axes.
    Give either ``tension`` (..., w) N, held while tensioning, or ``natural`` (..., w) mm of locked
    wires: their natural length less the clamp distance, P_n - L (negative under pretension).
    """
    rho = np.einsum("wkxq,...wq->...wkx", wires.turn, q)
    first = np.einsum("wkxq,...wq->...wkx", wires.shift, q)
    a = wires.arms
    rho_a = np.sum(rho * a, axis=-1, keepdims=True)
    d = first + (rho * rho_a - a * np.sum(rho * rho, axis=-1, keepdims=True)) / 2.0

    # chords: elongation without the cancellation of ℓ - L
    along = np.diff(wires.points, axis=1)
    change = np.diff(d, axis=-2)
    chord = along + change
    length = np.linalg.norm(chord, axis=-1)
    n = chord / length[..., None]
    elongation = np.sum(change * (2.0 * along + change), axis=-1) / (length + wires.spans)
    path = np.sum(elongation, axis=-1)

    z = np.einsum("wpkq,...wq->...wpk", wires.slopes, q)
    if tension is not None:
        T = np.broadcast_to(tension, path.shape)
        bent = bend(z, T, wires.EI, wires.spans, wires.free)
        energy = T * path + bent.energy
        locked = np.zeros(path.shape)
    else:
        assert natural is not None
        T, bent, locked, energy = _locked(wires, z, path, natural)

    # ∂d_k = shift_k + N_k turn_k,  N = ½ [(ρ·a) 1 + ρ aᵀ] - a ρᵀ
    outer = rho[..., :, None] * a[..., None, :]
    N = (rho_a[..., None] * np.eye(3) + outer) / 2.0 - transpose(outer)
    by_q = wires.shift + N @ wires.turn
    pull = np.zeros(d.shape)  # ∂P/∂d_k
    pull[..., 1:, :] += n
    pull[..., :-1, :] -= n
    path_by_q = np.einsum("...wkx,...wkxq->...wq", pull, by_q)
    n_z = wires.free.shape[-1]
    slopes = wires.slopes.reshape(len(wires.names), 2 * n_z, -1)
    flat = (*path.shape, 2 * n_z)
    bend_force = np.einsum("wrq,...wr->...wq", slopes, bent.force.reshape(flat))
    tangent = np.zeros((*path.shape, 0, 0))
    if with_tangent:
        tangent = T[..., None, None] * _path_curvature(wires, n, length, pull, by_q)
        stiff = np.zeros((*flat, 2 * n_z))
        stiff[..., :n_z, :n_z] = stiff[..., n_z:, n_z:] = bent.stiffness
        tangent = tangent + transpose(slopes) @ stiff @ slopes
        if tension is None:
            by_T = path_by_q + np.einsum("wrq,...wr->...wq", slopes, bent.bow_by_z.reshape(flat))
            tangent = tangent + locked[..., None, None] * by_T[..., :, None] * by_T[..., None, :]
        tangent = (tangent + transpose(tangent)) / 2.0
    return WireState(
        tension=T,
        energy=energy,
        path=path,
        gradient=T[..., None] * path_by_q + bend_force,
        tangent=tangent,
        bending=bent,
        points=d,
    )


def _path_curvature(wires: Wires, n: Array, length: Array, pull: Array, by_q: Array) -> Array:
    """∂²P (..., w, 6S, 6S): chords turning across their direction n, and the second order of the
    arms.
    """
    a, w, size = wires.arms, len(wires.names), by_q.shape[-1]
    span_by_q = np.diff(by_q, axis=-3)
    stretch = np.einsum("...x,...xq->...q", n, span_by_q)
    across_n = span_by_q - n[..., None] * stretch[..., None, :]
    rows = (across_n / np.sqrt(length)[..., None, None]).reshape(*length.shape[:-2], w, -1, size)
    fa = pull[..., :, None] * a[..., None, :]
    second = (fa + transpose(fa)) / 2.0 - np.sum(pull * a, axis=-1)[..., None, None] * np.eye(3)
    turned = (second @ wires.turn).reshape(*length.shape[:-2], w, -1, size)
    return transpose(rows) @ rows + transpose(wires.turn.reshape(w, -1, size)) @ turned


def natural_length(wires: Wires, state: WireState) -> Array:
    """P_n - L (..., w), mm, of wires locked in ``state``: P_n (1 + T/EA) = P + b."""
    stretched = wires.length + state.path + state.bending.bow
    return np.asarray(stretched / (1.0 + state.tension / wires.EA) - wires.length)


def _locked(
    wires: Wires, z: Array, path: Array, natural: Array
) -> tuple[Array, Bending, Array, Array]:
    """Tension by Newton on r(T) = P - P_n + b(T) - T P_n/EA, from the left of its convex, falling
    graph.
    """
    stretch = path - natural
    c = (wires.length + natural) / wires.EA
    T = np.maximum(stretch / c, 0.0)
    for _ in range(50):
        bent = bend(z, T, wires.EI, wires.spans, wires.free)
        residual = stretch + bent.bow - c * T
        slope = c - bent.bow_by_T
        new = np.maximum(T + residual / slope, 0.0)
        done = np.abs(new - T) <= 1e-11 * (T + 1.0)
        if done.all():
            break
        T = np.where(done, T, new)
    slack = (T == 0.0) & (stretch + bent.bow < 0.0)
    locked = np.where(slack, 0.0, 1.0 / slope)
    energy = T * stretch + bent.energy - T**2 * c / 2.0
    return T, bent, locked, energy


def peak_stress(wires: Wires, state: WireState, area: Array, section_modulus: Array) -> Array:
    """(..., w) MPa: largest T/A + |M|/W along each wire.

    Between stations nothing loads the wire, so |M| is largest at a station. area (w,) mm²,
    section_modulus (w,) mm³.
    """
    M = span_end_moments(state.bending, state.tension, wires.EI, wires.spans)
    size = np.sqrt(np.sum(M**2, axis=-1)).max(axis=(-2, -1))
    return np.asarray(state.tension / area + size / section_modulus)
