"""Finite rotations: matrix, vector, and the mean of two of them.

A rotation is stored as an orthogonal matrix R (3, 3).  Its rotation vector ψ has the direction of
the axis and the length of the angle (rad); with [a]× the matrix of the cross product a×,

    R = exp([ψ]×) = 1 + (sin θ / θ) [ψ]× + ((1 - cos θ) / θ²) [ψ]×²,      θ = |ψ|

(Rodrigues).  A *spin* w is the infinitesimal rotation that follows R in fixed axes, dR = [w]× R.
Spins do not add up to rotation vectors; finite rotations are updated by R ← exp([w]×) R.

Two triads T₁, T₂ turned apart by ψ (in body axes, T₁ᵀT₂ = exp([ψ]×)) have the mean triad
T̄ = T₁ exp([ψ/2]×), and ψ has the same components in T₁, T̄ and T₂.  For spins w₁, w₂ of the two,
written in the axes of T̄, with D = w₂ - w₁:

    δψ = A D,        A = g 1 + h ψ ψᵀ,   g = (θ/2) / sin(θ/2),   h = (1 - g) / θ²
    w̄ = (w₁ + w₂)/2 - (r/2) ψ×D,         r = tan(θ/4) / θ

w̄ the spin of T̄ (from the Jacobian of the exponential, which across ψ is a turn by θ/2 scaled by
sin(θ/2)/(θ/2)).  g, h and r are even and analytic for θ < 2π.  They and their slopes are summed as
power series in x = θ² from

    y / sin y = 1 + 2 Σ (1 - 2^(1-2k)) ζ(2k) (y/π)^2k
    tan y     =     2 Σ (4^k - 1) ζ(2k) y^(2k-1) / π^2k,        k = 1, 2, …

(Abramowitz and Stegun 4.3.67, 4.3.68 with 23.1.18; from memory), which avoids the cancellation of
the closed forms near zero.  32 terms reach rounding up to θ = π.
"""

import numpy as np

from fem.algebra import Array, skew, transpose

_TERMS = 32


def rotation_matrix(vector: Array) -> Array:
    """Rotation matrix (..., 3, 3) of a rotation vector (..., 3), rad."""
    angle = np.linalg.norm(vector, axis=-1)[..., None, None]
    cross = skew(vector)
    first = np.sinc(angle / np.pi)
    second = 0.5 * np.sinc(0.5 * angle / np.pi) ** 2
    return np.eye(3) + first * cross + second * (cross @ cross)


def rotation_vector(matrix: Array) -> Array:
    """Rotation vector (..., 3), rad, of length 0 to π, of a rotation matrix (..., 3, 3).

    By way of the unit quaternion q: the symmetric matrix 4 q qᵀ is linear in the entries of R, and
    its column with the largest diagonal gives q without cancellation (Spurrier 1978, from memory).
    At exactly π either of the two opposite vectors may come back.
    """
    trace = np.trace(matrix, axis1=-2, axis2=-1)
    outer = np.empty((*trace.shape, 4, 4))
    outer[..., 0, 0] = 1.0 + trace
    outer[..., 1:, 1:] = matrix + transpose(matrix)
    outer[..., 1:, 1:] += (1.0 - trace)[..., None, None] * np.eye(3)
    for i, (j, k) in enumerate(((2, 1), (0, 2), (1, 0)), start=1):
        outer[..., 0, i] = outer[..., i, 0] = matrix[..., j, k] - matrix[..., k, j]
    largest = np.argmax(np.diagonal(outer, axis1=-2, axis2=-1), axis=-1)
    quaternion = np.take_along_axis(outer, largest[..., None, None], axis=-1)[..., 0]
    quaternion /= np.linalg.norm(quaternion, axis=-1, keepdims=True)
    quaternion *= np.where(quaternion[..., :1] < 0.0, -1.0, 1.0)
    sine = np.linalg.norm(quaternion[..., 1:], axis=-1, keepdims=True)
    half = np.arctan2(sine, quaternion[..., :1])
    tiny = sine < np.finfo(float).tiny
    return quaternion[..., 1:] * np.where(tiny, 2.0, 2.0 * half / np.where(tiny, 1.0, sine))


def orthonormalised(matrix: Array) -> Array:
    """Nearest rotation to a matrix that has drifted from one by rounding, (..., 3, 3).

    One step of Newton's iteration for the polar factor; error of the order of the drift squared.
    """
    return matrix @ (1.5 * np.eye(3) - 0.5 * transpose(matrix) @ matrix)


def _zeta(s: Array) -> Array:
    """Riemann's zeta for s >= 2: a sum with the Euler-Maclaurin tail, good to rounding."""
    n = 2000.0
    head = np.sum(np.arange(n, 0.0, -1.0)[:, None] ** -s, axis=0)
    return np.asarray(head + n ** (1.0 - s) / (s - 1.0) - n**-s / 2.0 + s * n ** (-s - 1.0) / 12.0)


def _mean_rotation_coefficients() -> Array:
    """(terms, 6): power series in x = θ² of g, dg/dx, h, dh/dx, r, dr/dx."""
    k = np.arange(1.0, _TERMS + 2.0)
    zeta = _zeta(2.0 * k) / np.pi ** (2.0 * k)
    g = np.concatenate(([1.0], 2.0 * (1.0 - 2.0 ** (1.0 - 2.0 * k)) * zeta / 4.0**k))
    h = -g[1:]
    r = 2.0 * (4.0**k - 1.0) * zeta / 4.0 ** (2.0 * k - 1.0)
    power = np.arange(1.0, _TERMS + 1.0)
    columns = []
    for series in (g, h, r):
        columns += [series[:_TERMS], power * series[1 : _TERMS + 1]]
    return np.stack(columns, axis=1)


_COEFFICIENTS = _mean_rotation_coefficients()


def mean_rotation_factors(vector: Array) -> tuple[Array, ...]:
    """g, dg/dx, h, dh/dx, r, dr/dx of the module docstring, x = |ψ|²; each (...,).

    vector : (..., 3) rotation vector ψ between the two triads, |ψ| up to π.
    """
    x = np.sum(vector * vector, axis=-1)
    powers = x[..., None] ** np.arange(len(_COEFFICIENTS))
    return tuple(np.moveaxis(powers @ _COEFFICIENTS, -1, 0))
