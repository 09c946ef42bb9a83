"""Bending of a tensioned wire over several stations.

A wire runs straight through S stations 0 … S-1 (clamp, cortex, cortex, clamp), between which
nothing loads it. In each of its two planes its bent state is given by

    z = (c₁ … c_{S-1}, φ₀ … φ_{S-1}):   chord slope of every span, wire slope at every station,

and span i, of length L_i, has the end slopes β₁ = φ_{i-1} - c_i and β₂ = φ_i - c_i relative to its
chord. With the stability functions (``fem.stability``) the bending energy at tension T is

    U(z, T) = Σ_i (EI / 4 L_i) [k₊ (φ_{i-1} + φ_i - 2 c_i)² + k₋ (φ_{i-1} - φ_i)²] = ½ zᵀ K(T) z.

Where a station turns the wire (a clamp, or bone that is "built in"), φ is given; where it is a
knife edge ("pivot"), φ is free and takes the value of least energy, K_ff φ_f = -K_fh z_h. With z^ =
(z_h, φ_f),

    U* = ½ z^ᵀ K z^,    ∂U*/∂z_h = (K z^)_h,    ∂²U*/∂z_h² = K* = K_hh - K_hf K_ff⁻¹ K_fh,
    ∂U*/∂T = ½ z^ᵀ K′ z^ = b,  ∂b/∂z_h = (K′z^)_h - K_hf K_ff⁻¹ (K′z^)_f,
    ∂²U*/∂T² = ½ z^ᵀ K″ z^ - (K′z^)_fᵀ K_ff⁻¹ (K′z^)_f,

b being the shortening of the wire by bowing.  The section is round, so both planes share K.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array, transpose
from fem.stability import stability_functions


@dataclass(frozen=True)
class Bending:
    """Bent state at given tension; leading axes ``...`` are load cases, then w wires.

    slopes : (..., w, 2, n_z) z^. force : (..., w, 2, n_z) K z^ (N·mm). stiffness : (..., w, n_z,
    n_z) K*.
    energy, bow, bow_by_T : (..., w) U*, b and ∂b/∂T.  bow_by_z : (..., w, 2, n_z) ∂b/∂z_h.
    """

    slopes: Array
    force: Array
    stiffness: Array
    energy: Array
    bow: Array
    bow_by_T: Array
    bow_by_z: Array


def _modes(stations: int) -> Array:
    """(2 (S-1), n_z) mode vectors: first those of all k₊, then of all k₋."""
    n = stations - 1
    plus = np.zeros((n, 2 * n + 1))
    minus = np.zeros((n, 2 * n + 1))
    for i in range(n):
        plus[i, i], plus[i, n + i], plus[i, n + i + 1] = -2.0, 1.0, 1.0
        minus[i, n + i], minus[i, n + i + 1] = 1.0, -1.0
    return np.concatenate([plus, minus])


_MODES = {s: _modes(s) for s in range(2, 9)}
_SQUARES = {s: np.einsum("ka,kb->kab", m, m).reshape(len(m), -1) for s, m in _MODES.items()}
"""(2 (S-1), n_z²) their outer products."""


def bend(z: Array, T: Array, EI: Array, spans: Array, free: NDArray[np.bool_]) -> Bending:
    """Bent state for held slopes ``z`` and tension ``T``.

    z : (..., w, 2, n_z), zero where free.  T : (..., w) N, not negative.  EI : (w,) N·mm².
    spans : (w, S-1) mm.  free : (w, n_z), True at the slopes of knife edges.
    """
    n_z = z.shape[-1]
    squares = _SQUARES[spans.shape[-1] + 1]
    by_T = spans**2 / (4.0 * EI[..., None])
    f = stability_functions(T[..., None] * by_T)
    scale = EI[..., None] / (2.0 * spans)

    def matrix(plus: Array, minus: Array, factor: Array) -> Array:
        weights = np.concatenate([plus * factor, minus * factor], axis=-1)
        return _times(weights, squares).reshape(*weights.shape[:-1], n_z, n_z)

    K = matrix(f.plus, f.minus, scale)
    K1 = matrix(f.plus_1, f.minus_1, scale * by_T)
    K2 = matrix(f.plus_2, f.minus_2, scale * by_T**2)

    # K and its derivatives are symmetric, so that rows z of both planes go from the left
    some = _some(free)
    K_f = K[..., some]
    K_ff = K_f[..., some, :]
    _, _, inverse = _free_inverse(K_ff.reshape(*K_ff.shape[:-2], len(some) ** 2), free)
    slopes = z.copy()
    slopes[..., some] -= z @ K_f @ inverse
    force, K1z = slopes @ K, slopes @ K1
    relaxed = K1z[..., some] @ inverse
    held = ~free
    stiffness = (K - K_f @ inverse @ transpose(K_f)) * (held[..., :, None] & held[..., None, :])
    bow_by_z = (K1z - relaxed @ transpose(K_f)) * held[..., None, :]
    return Bending(
        slopes=slopes,
        force=force,
        stiffness=(stiffness + transpose(stiffness)) / 2.0,
        energy=np.sum(slopes * force, axis=(-2, -1)) / 2.0,
        bow=np.sum(slopes * K1z, axis=(-2, -1)) / 2.0,
        bow_by_T=np.sum(slopes * (slopes @ K2), axis=(-2, -1)) / 2.0
        - np.sum(K1z[..., some] * relaxed, axis=(-2, -1)),
        bow_by_z=bow_by_z,
    )


def bowing(
    z: Array, T: Array, EI: Array, spans: Array, free: NDArray[np.bool_]
) -> tuple[Array, Array]:
    """b and ∂b/∂T (..., w) alone, arguments as ``bend``.

    With the amplitudes a = M z of the modes (rows of M), those of the bent wire are
    e = a + M_f φ_f, and K, K′, K″ are Mᵀ W M with diagonal W, so that b = ½ Σ w′ e².
    """
    modes = _MODES[spans.shape[-1] + 1]
    by_T = spans**2 / (4.0 * EI[..., None])
    f = stability_functions(T[..., None] * by_T)
    scale = EI[..., None] / (2.0 * spans)
    w, w1, w2 = (
        np.concatenate([plus * factor, minus * factor], axis=-1)
        for plus, minus, factor in (
            (f.plus, f.minus, scale),
            (f.plus_1, f.minus_1, scale * by_T),
            (f.plus_2, f.minus_2, scale * by_T**2),
        )
    )
    some, own, inverse = _free_inverse(_times(w, _products(modes, free)), free)
    M_f = modes[:, some]
    own = own[..., None, :]
    a = _times(z, modes.T)
    e = a - _times(((_times(w[..., None, :] * a, M_f) * own) @ inverse) * own, M_f.T)
    stretched = w1[..., None, :] * e
    pull = _times(stretched, M_f) * own
    b = np.sum(stretched * e, axis=(-2, -1)) / 2.0
    curved = np.sum(w2[..., None, :] * e * e, axis=(-2, -1)) / 2.0
    return b, curved - np.sum((pull @ inverse) * pull, axis=(-2, -1))


def _times(x: Array, M: Array) -> Array:
    """(..., k) by (k, n), as one product."""
    rows = int(np.prod(x.shape[:-1]))
    return (x.reshape(rows, len(M)) @ M).reshape(*x.shape[:-1], M.shape[1])


def _some(free: NDArray[np.bool_]) -> NDArray[np.intp]:
    """(f,) slopes that are free in some wire."""
    return np.flatnonzero(free.any(axis=tuple(range(free.ndim - 1))))


def _products(modes: Array, free: NDArray[np.bool_]) -> Array:
    """(2 (S-1), f²) products of the modes' entries at those."""
    M_f = modes[:, _some(free)]
    return np.asarray((M_f[:, :, None] * M_f[:, None, :]).reshape(len(modes), -1))


def _free_inverse(
    K_ff: Array, free: NDArray[np.bool_]
) -> tuple[NDArray[np.intp], NDArray[np.bool_], Array]:
    """Slopes that are free in some wire (f,), which of them are in each (..., w, f), and K_ff⁻¹
    (..., w, f, f), zero elsewhere, of K_ff (..., w, f²).
    """
    some = _some(free)
    own, f = free[..., some], len(some)
    both = own[..., :, None] & own[..., None, :]
    K = np.where(both, K_ff.reshape(*K_ff.shape[:-1], f, f), np.eye(f))
    if f != 2:
        return some, own, np.linalg.inv(K) * both
    inverse = np.empty_like(K)  # of two: by hand, many times as fast
    inverse[..., 0, 0], inverse[..., 1, 1] = K[..., 1, 1], K[..., 0, 0]
    inverse[..., 0, 1], inverse[..., 1, 0] = -K[..., 0, 1], -K[..., 1, 0]
    determinant = K[..., 0, 0] * K[..., 1, 1] - K[..., 0, 1] * K[..., 1, 0]
    return some, own, inverse / determinant[..., None, None] * both


def span_end_moments(bending: Bending, T: Array, EI: Array, spans: Array) -> Array:
    """(..., w, S-1, 2, 2) N·mm: moment that the wire needs at start and end of each span, in its
    two planes.
    """
    n = spans.shape[-1]
    chord, phi = bending.slopes[..., :n], bending.slopes[..., n:]
    b1 = np.moveaxis(phi[..., :-1] - chord, -1, -2)  # (..., w, span, plane)
    b2 = np.moveaxis(phi[..., 1:] - chord, -1, -2)
    f = stability_functions(T[..., None] * spans**2 / (4.0 * EI[..., None]))
    s = ((f.plus + f.minus) / 2.0)[..., None]
    sc = ((f.plus - f.minus) / 2.0)[..., None]
    k = (EI[..., None] / spans)[..., None]
    return np.stack([k * (s * b1 + sc * b2), k * (sc * b1 + s * b2)], axis=-2)


def span_deflection(start: Array, end: Array, T: Array, EI: Array, span: Array, t: Array) -> Array:
    """Deflection (..., k) mm from the chord of a span with end slopes ``start``, ``end`` (...), at
    shares t (k,) of it.

    With u = L √(T/EI): y = a + b t + C e^(-ut) + D e^(-u(1-t)), no deflection at the ends; below u
    = 0.1 the cubic.
    """
    u = span * np.sqrt(T / EI)
    stiff = np.maximum(u, 0.1)
    eps = np.exp(-stiff)
    total = -span * (start - end) / (stiff * (1.0 - eps))
    difference = span * (start + end) / (2.0 * (1.0 - eps) - stiff * (1.0 + eps))
    C, D = ((total + way * difference) / 2.0 for way in (1.0, -1.0))
    C, D, eps, stiff = (v[..., None] for v in (C, D, eps, stiff))
    b = (1.0 - eps) * (C - D)
    tensioned = -C - D * eps + b * t + C * np.exp(-stiff * t) + D * np.exp(-stiff * (1.0 - t))
    cubic = span[..., None] * (
        t * (1 - t) ** 2 * start[..., None] - t**2 * (1 - t) * end[..., None]
    )
    return np.asarray(np.where((u < 0.1)[..., None], cubic, tensioned))
