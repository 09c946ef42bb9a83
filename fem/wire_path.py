"""Where a wire runs: its stations, and their motion relative to its clamps.

A wire runs straight from a clamp over inner stations to another clamp. Each station k is a point of
a body: node with displacement u_k and rotation θ_k, rigid arm a_k from node to point.

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
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array, across, skew, transpose
from fem.errors import ModelError


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

    BY_DESIGN: ClassVar = (
        "points", "arms", "EA", "EI", "spans", "across", "shift", "turn", "slopes"
    )  # fmt: skip

    def take(self, cases: NDArray[np.intp]) -> "Wires":
        """Of wires of several designs (arrays with a leading axis of load cases): some cases."""
        return replace(self, **{name: getattr(self, name)[cases] for name in self.BY_DESIGN})

    @property
    def length(self) -> Array:
        """(w,) distance of the clamps, mm."""
        return np.asarray(self.spans.sum(axis=-1))


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
    _check(names, points, EA, EI)
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


def _check(names: Sequence[str], X: Array, EA: Array, EI: Array) -> None:
    """Of wires over the points X (w, S, 3)."""
    S = X.shape[1]
    if not 2 <= S <= 8:
        raise _wrong(names[0], f"needs 2 to 8 stations (got {S})")
    for i in np.flatnonzero(~((EA > 0) & (EI > 0))).tolist():
        raise _wrong(names[i], f"EA and EI must be more than 0 (got {EA[i]}, {EI[i]})")
    line = X[:, -1] - X[:, 0]
    L = np.linalg.norm(line, axis=-1)
    e = line / np.where(L > 0, L, 1.0)[:, None]
    along = np.sum((X - X[:, :1]) * e[:, None], axis=-1)
    for i in np.flatnonzero(
        ~(L > 0) | (np.diff(along, axis=1) < 1e-6 * L[:, None]).any(axis=1)
    ).tolist():
        raise _wrong(
            names[i],
            "its stations must follow each other along the wire with a length between them",
        )
    off = np.linalg.norm(X - X[:, :1] - along[..., None] * e[:, None], axis=-1).max(axis=1)
    for i in np.flatnonzero(off > 1e-6 * L).tolist():
        raise _wrong(
            names[i],
            f"its stations must lie on one straight line (one lies {off[i]:.3g} mm off it)",
        )


def _wrong(name: str, what: str) -> ModelError:
    return ModelError(f"wire {name!r}: {what}.", part=name)


@dataclass(frozen=True)
class Motion:
    """Motion of w wires; leading axes ``...`` are load cases.

    d : (..., w, S, 3) mm, d_k.  directions : (..., w, S-1, 3) of the chords of the spans.
    length, elongation : (..., w, S-1) mm, ℓ_i and ℓ_i - L_i.
    by_q : (..., w, S, 3, 6S) ∂d_k.  slopes : (..., w, 2, 2S-1) z.
    """

    d: Array
    directions: Array
    length: Array
    elongation: Array
    by_q: Array
    slopes: Array


def motion(wires: Wires, q: Array) -> Motion:
    """Motion at displacements q (..., w, 6S) of the stations' nodes, mm and rad, global axes."""
    rho = np.einsum("...wkxq,...wq->...wkx", wires.turn, q)
    first = np.einsum("...wkxq,...wq->...wkx", wires.shift, q)
    a = wires.arms
    rho_a = np.sum(rho * a, axis=-1, keepdims=True)
    d = first + (rho * rho_a - a * np.sum(rho * rho, axis=-1, keepdims=True)) / 2.0

    # chords: elongation without the cancellation of ℓ - L
    along = np.diff(wires.points, axis=-2)
    change = np.diff(d, axis=-2)
    chord = along + change
    length = np.linalg.norm(chord, axis=-1)
    n = chord / length[..., None]
    elongation = np.sum(change * (2.0 * along + change), axis=-1) / (length + wires.spans)

    # ∂d_k = shift_k + N_k turn_k,  N = ½ [(ρ·a) 1 + ρ aᵀ] - a ρᵀ
    outer = rho[..., :, None] * a[..., None, :]
    N = (rho_a[..., None] * np.eye(3) + outer) / 2.0 - transpose(outer)
    return Motion(
        d=d,
        directions=n,
        length=length,
        elongation=elongation,
        by_q=wires.shift + N @ wires.turn,
        slopes=np.einsum("...wpkq,...wq->...wpk", wires.slopes, q),
    )


def pull_on_stations(pulls: Array) -> Array:
    """(..., w, S, 3) ∂(Σ w_i ℓ_i)/∂d_k of ``pulls`` (..., w, S-1, 3) = w_i n_i."""
    out = np.zeros((*pulls.shape[:-2], pulls.shape[-2] + 1, 3))
    out[..., 1:, :] += pulls
    out[..., :-1, :] -= pulls
    return out


def path_curvature(wires: Wires, moved: Motion, weights: Array | None = None) -> Array:
    """∂²(Σ w_i ℓ_i) (..., w, 6S, 6S) with ``weights`` w_i (..., w, S-1), not negative, or 1."""
    left, right = curvature_rows(wires, moved, weights)
    return transpose(left) @ right


def curvature_rows(
    wires: Wires, moved: Motion, weights: Array | None = None
) -> tuple[Array, Array]:
    """Rows A and B, each (..., w, r, 6S), with AᵀB = ``path_curvature``: chords turning across
    their direction, and the second order of the arms.
    """
    a, w, by_q = wires.arms, len(wires.names), moved.by_q
    n, length, size = moved.directions, moved.length, by_q.shape[-1]
    span_by_q = np.diff(by_q, axis=-3)
    stretch = np.einsum("...x,...xq->...q", n, span_by_q)
    across_n = span_by_q - n[..., None] * stretch[..., None, :]
    scale = np.sqrt(length if weights is None else length / np.maximum(weights, 1e-300))
    pull = pull_on_stations(n if weights is None else weights[..., None] * n)
    lead = length.shape[:-2]
    rows = (across_n / scale[..., None, None]).reshape(*lead, w, -1, size)
    fa = pull[..., :, None] * a[..., None, :]
    second = (fa + transpose(fa)) / 2.0 - np.sum(pull * a, axis=-1)[..., None, None] * np.eye(3)
    turned = (second @ wires.turn).reshape(*lead, w, -1, size)
    turn = wires.turn.reshape(*wires.turn.shape[:-3], -1, size)
    turn = np.broadcast_to(turn, turned.shape)
    return np.concatenate([rows, turn], axis=-2), np.concatenate([rows, turned], axis=-2)
