"""Bending of a wire that has a tension of its own in every span, and kinks where it yields.

As ``fem.wire_bending``, with T_i in span i and plastic slopes α at the ends of the spans, so that

    β₁ = φ_{i-1} - c_i - α_i1,    β₂ = φ_i - c_i - α_i2

are the elastic end slopes of span i relative to its chord. In the held slopes and kinks y = (c, φ,
α) the bending energy is, with the mode vectors p_i, m_i: p_i·y = β₁ + β₂, m_i·y = β₁ - β₂,

    U(y, T) = ½ Σ_i [w₊ (p_i·y)² + w₋ (m_i·y)²] = ½ yᵀ K y,  w± = (EI / 2 L_i) k±(T_i L_i² / 4 EI).

Free slopes φ_f take the value of least energy, K_ff φ_f = -K_fh y_h, y^ = (y_h, φ_f). As there,

    U* = ½ y^ᵀ K y^,    ∂U*/∂y_h = (K y^)_h,    ∂²U*/∂y_h² = K* = K_hh - K_hf K_ff⁻¹ K_fh,
    ∂U*/∂T_i = ½ y^ᵀ K′_i y^ = b_i,    ∂b_i/∂y_h = (K′_i y^)_h - K_hf K_ff⁻¹ (K′_i y^)_f,
    ∂b_i/∂T_j = δ_ij ½ y^ᵀ K″_i y^ - (K′_i y^)_fᵀ K_ff⁻¹ (K′_j y^)_f,

b_i being the shortening of span i by bowing; all spans feel each other through the free slopes. The
moments at the ends of a span, positive as they turn its ends, are M₁ = ∂U/∂β₁, M₂ = ∂U/∂β₂.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array, transpose
from fem.stability import stability_functions


@dataclass(frozen=True)
class SpanBending:
    """Bent state at given tensions; leading axes ``...`` are load cases, then w wires of S
    stations, n = S-1 spans.  m = 2S-1, or 4S-3 with kinks, is the size of y, last its 2n kinks in
    the order of spans, start before end.

    slopes : (..., w, 2, m) y^.  force : (..., w, 2, m) K y^, N·mm, nought at free slopes.
    stiffness : (..., w, m, m) K*. It, force, bow_by_y, ends and moments are empty when it was
    not asked for.
    energy : (..., w) U*.  bow : (..., w, n) b_i, mm.  bow_by_T : (..., w, n, n).
    bow_by_y : (..., w, n, 2, m).
    ends : (..., w, n, 2, 2) β at start and end of each span, in the two planes.
    moments : (..., w, n, 2, 2) N·mm, likewise.
    """

    slopes: Array
    force: Array
    stiffness: Array
    energy: Array
    bow: Array
    bow_by_T: Array
    bow_by_y: Array
    ends: Array
    moments: Array


class _Modes(NamedTuple):
    """rows (2n, m): p_i then m_i.  outer (2n, m²) and turned (2n, S²): products of the rows, whole
    and of the slopes φ alone.
    """

    rows: Array
    outer: Array
    turned: Array


def _modes(stations: int, kinks: bool) -> _Modes:
    n = stations - 1
    rows = np.zeros((2 * n, 2 * n + 1 + (2 * n if kinks else 0)))
    for i in range(n):
        rows[i, i] = -2.0
        rows[i, n + i] = rows[i, n + i + 1] = rows[n + i, n + i] = 1.0
        rows[n + i, n + i + 1] = -1.0
        if kinks:
            first = 2 * n + 1 + 2 * i
            rows[i, first] = rows[i, first + 1] = rows[n + i, first] = -1.0
            rows[n + i, first + 1] = 1.0
    phi = rows[:, n : 2 * n + 1]
    return _Modes(
        rows,
        np.einsum("ka,kb->kab", rows, rows).reshape(2 * n, -1),
        np.einsum("ka,kb->kab", phi, phi).reshape(2 * n, -1),
    )


_MODES = {(s, kinks): _modes(s, kinks) for s in range(2, 9) for kinks in (False, True)}


def bend_spans(
    y: Array,
    T: Array,
    EI: Array,
    spans: Array,
    free: NDArray[np.bool_],
    *,
    with_stiffness: bool = True,
) -> SpanBending:
    """Bent state for held slopes and kinks ``y`` and tensions ``T``.

    y : (..., w, 2, m), zero where free.  T : (..., w, n) N, not negative.  EI : (w,) N·mm².
    spans : (w, n) mm.  free : (w, 2S-1), True at the slopes of knife edges.
    """
    n, m = spans.shape[-1], y.shape[-1]
    S, lead = n + 1, T.shape[:-1]
    modes = _MODES[S, m > 2 * n + 1]
    rows = modes.rows
    phi = rows[:, n : 2 * n + 1]
    by_T = spans**2 / (4.0 * EI[:, None])
    f = stability_functions(T * by_T)
    scale = EI[:, None] / (2.0 * spans)
    W = np.concatenate([f.plus * scale, f.minus * scale], axis=-1)[..., None, :]
    turning = free[:, n:]
    any_free = bool(turning.any())

    amplitude = y @ rows.T
    slopes = y
    inverse = np.zeros((1, S, S))
    if any_free:
        both = turning[:, :, None] & turning[:, None, :]
        K_phi = (W[..., 0, :] @ modes.turned).reshape(*lead, S, S)
        inverse = np.linalg.inv(np.where(both, K_phi, np.eye(S))) * both  # K_ff⁻¹, zero elsewhere
        turned = -((W * amplitude) @ phi) @ inverse
        amplitude = amplitude + turned @ phi.T
        slopes = y.copy()
        slopes[..., n : 2 * n + 1] += turned

    first = (scale * by_T)[..., None, :]
    second = (scale * by_T**2)[..., None, :]
    p, q = amplitude[..., :n], amplitude[..., n:]
    weighted = W * amplitude
    bow1_p, bow1_q = f.plus_1[..., None, :] * first * p, f.minus_1[..., None, :] * first * q
    bow = np.sum(bow1_p * p + bow1_q * q, axis=-2) / 2.0
    curved = (
        np.sum(second * (f.plus_2[..., None, :] * p**2 + f.minus_2[..., None, :] * q**2), axis=-2)
        / 2.0
    )
    bow_by_T = curved[..., :, None] * np.eye(n)
    if any_free:
        # (K′_i y^)_φ (..., plane, i, S)
        K1_phi = bow1_p[..., :, None] * phi[:n] + bow1_q[..., :, None] * phi[n:]
        relaxed = K1_phi @ inverse[..., None, :, :]
        bow_by_T = bow_by_T - np.sum(relaxed @ transpose(K1_phi), axis=-3)

    stiffness, bow_by_y = np.zeros((*lead, 0, 0)), np.zeros((*lead, n, 2, 0))
    force = ends = moments = np.zeros((*lead, 0))
    if with_stiffness:
        held = np.ones((len(free), m), dtype=bool)
        held[:, : 2 * n + 1] = ~free
        stiffness = (W[..., 0, :] @ modes.outer).reshape(*lead, m, m)
        bow_by_y = bow1_p[..., :, None] * rows[:n] + bow1_q[..., :, None] * rows[n:]
        if any_free:
            to_phi = stiffness[..., n : 2 * n + 1]
            bow_by_y = bow_by_y - relaxed @ transpose(to_phi)[..., None, :, :]
            stiffness = stiffness - to_phi @ inverse @ transpose(to_phi)
            stiffness = stiffness * (held[:, :, None] & held[:, None, :])
            bow_by_y = bow_by_y * held[:, None, None, :]
        bow_by_y = np.moveaxis(bow_by_y, -3, -2)
        force = weighted @ rows
        if any_free:
            force = force * held[:, None, :]
        plus, minus = weighted[..., :n], weighted[..., n:]
        moments = _per_end(plus + minus, plus - minus)
        ends = _per_end((p + q) / 2.0, (p - q) / 2.0)
    return SpanBending(
        slopes=slopes,
        force=force,
        stiffness=stiffness,
        energy=np.sum(weighted * amplitude, axis=(-2, -1)) / 2.0,
        bow=bow,
        bow_by_T=bow_by_T,
        bow_by_y=bow_by_y,
        ends=ends,
        moments=moments,
    )


def _per_end(first: Array, last: Array) -> Array:
    """(..., plane, span) of the start and of the end → (..., span, end, plane)."""
    return np.swapaxes(np.stack([first, last], axis=-2), -1, -3)
