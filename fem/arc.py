"""Circular-arc beam by force-based integration: one element between two attachments is exact.

The centre line turns about ``axis`` n through ``centre`` C, from A through the angle α (0 < α < 2π)
to B. At the place s the triad is t (tangent), ρ (away from the centre), n. End forces at B, (P, M),
give the section at s

    force P,   moment M + (X_B - X_s) × P,

so with R = [t ρ n] and the section flexibility f = diag(1/EA, 1/GA_ρ, 1/GA_n, 1/GJ, 1/EI_ρ, 1/EI_n)

    H(s) = [[Rᵀ, 0], [Rᵀ [X_B - X_s]×, Rᵀ]],     F = ∫₀^α Hᵀ f H  R_c dα     (R_c: radius).

In-plane bending, stretch and shear, and out-of-plane bending with torsion come out coupled as the
curvature asks.  The integrands are trigonometric polynomials of low degree: 16 Gauss points reach
rounding for any α below 2π.  The stiffness follows by ``fem.member``.

Neglected: the coupling of axial force and bending by the section's depth h (Winkler's thick curved
bar), of relative size (h / R_c)² / 12, that is 0.2 % for a ring of 14 mm width and 87 mm radius.

Section axes: local y of the section along ρ, local z along n. ``I_z`` is then the second moment for
in-plane bending, ``I_y`` for out-of-plane bending.
"""

from collections.abc import Sequence
from math import pi

import numpy as np

from fem.algebra import Array, skew
from fem.errors import ModelError

_GAUSS = np.polynomial.legendre.leggauss(16)


def check_arcs(
    centre: Array, axis: Array, start: Array, angle: Array, names: Sequence[str]
) -> None:
    """Raise ``ModelError`` unless arcs, arrays (m, 3) and (m,), have a radius, lie across their
    axis and turn by 0 to 2π.
    """
    r = start - centre
    radius = np.linalg.norm(r, axis=-1)
    aside = np.abs(np.sum(r * axis, axis=-1)) > 1e-9 * radius
    for i in np.flatnonzero(~(radius > 0) | aside).tolist():
        raise ModelError(
            f"arc {names[i]!r}: its start must lie off the centre, in the plane across its axis.",
            part=names[i],
        )
    for i in np.flatnonzero(~((angle > 0.0) & (angle < 2.0 * pi))).tolist():
        raise ModelError(
            f"arc {names[i]!r}: its angle must lie between 0 and 360° "
            f"(got {np.degrees(angle[i]):.6g}°).",
            part=names[i],
        )


def arc_points(centre: Array, axis: Array, start: Array, angles: Array) -> Array:
    """Points on arcs: centre, axis (unit), start (..., 3), angles (..., k) from start → (..., k,
    3), mm.
    """
    r = (start - centre)[..., None, :]
    c, s = np.cos(angles)[..., None], np.sin(angles)[..., None]
    across = np.cross(axis[..., None, :], r)
    return np.asarray(centre[..., None, :] + c * r + s * across)


def arc_end_flexibility(
    centre: Array, axis: Array, start: Array, angle: Array, flexibility: Array
) -> Array:
    """F at B of m arcs, global axes, mm/N and rad/(N·mm): (m, 6, 6).

    centre, axis (unit), start : (m, 3).  angle : (m,) rad, right-handed about the axis.
    flexibility : (m, 6), see ``fem.sections.section_flexibility``.
    """
    points, weights = _GAUSS
    X = arc_points(centre, axis, start, angle[:, None] * (points + 1.0) / 2.0)
    end = arc_points(centre, axis, start, angle[:, None])
    radius = np.linalg.norm(start - centre, axis=-1)
    rho = (X - centre[:, None]) / radius[:, None, None]
    n = np.broadcast_to(axis[:, None], rho.shape)
    R_T = np.stack([np.cross(n, rho), rho, n], axis=-2)  # rows t, ρ, n
    H = np.zeros((*R_T.shape[:2], 6, 6))
    H[..., :3, :3] = H[..., 3:, 3:] = R_T
    H[..., 3:, :3] = R_T @ skew(end - X)
    w = weights * (radius * angle / 2.0)[:, None]
    weighted = w[..., None] * flexibility[:, None, :]  # (m, gauss, 6)
    return np.asarray(np.einsum("mgki,mgk,mgkj->mij", H, weighted, H, optimize=True))
