"""Tensioned wire: a pretensioned beam that slides through its inner stations.

Its motion is that of ``fem.wire_path``: path P = Σ ℓ_i along the stations, measured from the chord
between the clamps. The clamps hold the wire in every direction; an inner station (cortex of a bone)
holds it sideways only: along its axis the wire slides, so that one tension T reaches from clamp to
clamp. (Wires that the bone or an olive holds along their axis: ``fem.held_wire``.)

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

from dataclasses import dataclass, replace

import numpy as np

from fem.algebra import Array, transpose
from fem.wire_bending import Bending, bend, bowing, span_end_moments
from fem.wire_path import (
    Motion,
    Wires,
    curvature_rows,
    make_wires,
    motion,
    pull_on_stations,
)

__all__ = [
    "WireState",
    "Wires",
    "make_wires",
    "natural_length",
    "peak_stress",
    "wire_state",
    "wire_tangent",
]


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
    motion, path_by_q (..., w, 6S) ∂P, locked (..., w) 1 / (P_n/EA - ∂b/∂T), 0 of a slack wire or
    one held at its tension: what the tangent is made of (``wire_tangent``).
    """

    tension: Array
    energy: Array
    path: Array
    gradient: Array
    tangent: Array
    bending: Bending
    points: Array
    motion: Motion
    path_by_q: Array
    locked: Array


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
    moved = motion(wires, q)
    path = np.sum(moved.elongation, axis=-1)
    z = moved.slopes
    if tension is not None:
        T = np.broadcast_to(tension, path.shape)
        bent = bend(z, T, wires.EI, wires.spans, wires.free)
        energy = T * path + bent.energy
        locked = np.zeros(path.shape)
    else:
        assert natural is not None
        T, bent, locked, energy = _locked(wires, z, path, natural)

    pull = pull_on_stations(moved.directions)  # ∂P/∂d_k
    path_by_q = np.einsum("...wkx,...wkxq->...wq", pull, moved.by_q)
    bend_force = np.einsum("...wrq,...wr->...wq", _planes(wires), _flat(bent.force))
    state = WireState(
        tension=T,
        energy=energy,
        path=path,
        gradient=T[..., None] * path_by_q + bend_force,
        tangent=np.zeros((*path.shape, 0, 0)),
        bending=bent,
        points=moved.d,
        motion=moved,
        path_by_q=path_by_q,
        locked=locked,
    )
    return replace(state, tangent=wire_tangent(wires, state)) if with_tangent else state


def wire_tangent(wires: Wires, state: WireState) -> Array:
    """(..., w, 6S, 6S) H of wires in a state, each term as a product of rows AᵀB, all in one."""
    bent, T = state.bending, state.tension[..., None, None]
    left, right = curvature_rows(wires, state.motion)
    slopes = np.broadcast_to(_planes(wires), (*state.path.shape, *_planes(wires).shape[-2:]))
    bent_by_q = bent.stiffness[..., None, :, :] @ wires.slopes  # in each plane alike
    bow = np.einsum("...wrq,...wr->...wq", _planes(wires), _flat(bent.bow_by_z))
    by_T = (state.path_by_q + bow)[..., None, :]
    A = np.concatenate([left, slopes, by_T], axis=-2)
    B = np.concatenate(
        [T * right, bent_by_q.reshape(slopes.shape), state.locked[..., None, None] * by_T], axis=-2
    )
    H = transpose(A) @ B
    return np.asarray((H + transpose(H)) / 2.0)


def _planes(wires: Wires) -> Array:
    """(..., w, 2 n_z, 6S) slopes of both planes."""
    s = wires.slopes
    return s.reshape(*s.shape[:-3], -1, s.shape[-1])


def _flat(z: Array) -> Array:
    """(..., w, 2, n_z) → (..., w, 2 n_z)."""
    return z.reshape(*z.shape[:-2], -1)


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
        bow, bow_by_T = bowing(z, T, wires.EI, wires.spans, wires.free)
        residual = stretch + bow - c * T
        new = np.maximum(T + residual / (c - bow_by_T), 0.0)
        done = np.abs(new - T) <= 1e-11 * (T + 1.0)
        if done.all():
            break
        T = np.where(done, T, new)
    bent = bend(z, T, wires.EI, wires.spans, wires.free)
    slope = c - bent.bow_by_T
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
