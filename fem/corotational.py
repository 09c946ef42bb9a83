"""Corotational beam for large displacements and rotations: the checking path of the kernel.

Each straight two-node element is followed by its chord and by the mean of its end triads; what is
left is small and elastic.  Written from an energy in six natural modes, after Crisfield 1990 (the
mean triad as turning frame: Comput. Methods Appl. Mech. Eng. 81, 131-150), Battini and Pacoste 2002
(consistent tangent, bowing in the axial strain: same journal 191, 1755-1789) and Krenk 2009
(symmetric and antisymmetric bending modes: Non-linear Modeling and Analysis of Solids and
Structures, ch. 5).  The references are from memory; the derivation below is complete in itself.

**Modes.**  Nodes X₁, X₂ displaced by u; end triads T₁ = R₁E, T₂ = R₂E with columns x, y, z, E the
triad of the straight element at rest.  With Δ = X₂ - X₁ + u₂ - u₁, and the mean triad T̄ and
relative rotation ψ of ``fem.rotations``,

    l = |Δ|                 length of the chord
    ψ = (ψ_x, ψ_y, ψ_z)     end 2 relative to end 1: twist and symmetric bending
    c = T̄ᵀΔ / l             chord in T̄: antisymmetric bending a_y = c_z, a_z = -c_y

None changes in a rigid motion.  The sections stand at a ∓ ψ/2 against the chord at ends 1 and 2,
and the axis between them, ξ = x/L, slopes by

    v′ = ψ_z (ξ - ½) + a_z (1 - 6ξ + 6ξ²)/(1 + Φ_z),     Φ_z = 12 EI_z / (GA_y L²),

the exact shape of a beam with shear that is loaded at its ends (likewise y, with EI_y and GA_z).

**Energy.**  L is the natural length: that of the element without force.  The axial strain is
uniform, the shortening by bowing ½∫v′² included:

    ε = l/L - 1 + Σ [ψ²/24 + a²/(10 (1 + Φ)²)]                            (sums over y and z)
    U = ½ EA L ε² + GJ ψ_x²/2L + Σ [EI ψ²/2L + 6 EI a²/(L (1 + Φ))]

An axial force N = EA ε so stiffens an element against bending also within its length, to first
order in N L²/EI: the error of a tensioned wire falls with the fourth power of the element length.
A bar without bending: GA = 0 and its rotations held.  Strains must be small, and ψ in each element
well below π; a finer mesh sees to it.

**Forces.**  n = ∂U/∂l, m = ∂U/∂ψ, q = ∂U/∂c.  In the axes of T̄, with δΔ, spins w₁, w₂,
D = w₂ - w₁, and A, r of ``fem.rotations``,

    δl = c·δΔ,   δψ = A D,   w̄ = (w₁ + w₂)/2 - (r/2) ψ×D,   δc = (1 - c cᵀ)δΔ/l + c×w̄

and virtual work gives the force F on end 2 (-F on end 1) and the end moments M̄/2 ∓ μ:

    F = n c + (1 - c cᵀ) q / l,      M̄ = q×c,      μ = A m - (r/2) M̄×ψ.

**Tangent.**  The exact derivative of these nodal forces by displacements and spins, with the
turning of T̄ (w̄ × …).  Spins do not commute, so it is not symmetric: K - Kᵀ = -[M]× in the
rotations of each end, M its end moment.  Assembled, this cancels where no outside moment acts on
free rotations.

Units N, mm, rad.  Freedoms of a node: u_x, u_y, u_z, spins about x, y, z, all in global axes.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from fem.algebra import Array, skew, transpose
from fem.corotational_model import CorotationalModel
from fem.rotations import mean_rotation_factors, rotation_matrix, rotation_vector

_EYE = np.eye(3)
_BOW_PSI = np.array([0.0, 1.0, 1.0]) / 24.0
# (δu₁, w₁, δu₂, w₂) to δΔ, to the mean of the spins, and to their difference D
_CHORD, _MEAN, _SPREAD = (
    np.hstack([-a * _EYE, (0.5 * b - d) * _EYE, a * _EYE, (0.5 * b + d) * _EYE])
    for a, b, d in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
)


@dataclass(frozen=True)
class ElementState:
    """What the elements answer to a set of displacements and rotations.

    energy : (m,) U, N·mm.
    force : (m, 12) forces (N) and moments (N·mm) of the nodes on the element, ends 1 and 2, global.
    tangent : (m, 12, 12) exact derivative of ``force`` by displacements and spins.
    section_force : (m, 2, 6) N, V_y, V_z (N), T, M_y, M_z (N·mm) at both ends, in the turned axes
        x, y, z of that end, on the face that looks along +x: tension positive, M_z = EI_z dθ_z/dx.
    relative_rotation : (m,) |ψ|, rad.
    """

    energy: Array
    force: Array
    tangent: Array
    section_force: Array
    relative_rotation: Array


class _Modes(NamedTuple):
    """The six modes of each element, with the triads they are read from."""

    elongation: Array  # (m,) l - L
    l: Array  # noqa: E741  (m, 1)
    psi: Array  # (m, 3)
    c: Array  # (m, 3)
    mean: Array  # (m, 3, 3)
    ends: Array  # (m, 2, 3, 3) T₁, T₂


class _Energy(NamedTuple):
    """U with its first derivatives n, m, q, and what its second derivatives are made of:

    ∂²U/∂i∂j = EA L (∂ε/∂i)(∂ε/∂j) + diagonal, i and j over l, ψ, c.
    """

    U: Array  # (m,)
    n: Array  # (m, 1)
    m: Array  # (m, 3)
    q: Array  # (m, 3)
    strain_psi: Array  # (m, 3) ∂ε/∂ψ
    strain_c: Array  # (m, 3) ∂ε/∂c
    diagonal_psi: Array  # (m, 3)
    diagonal_c: Array  # (m, 3)


def _outer(a: Array, b: Array) -> Array:
    return a[..., :, None] * b[..., None, :]


def _times(matrix: Array, vector: Array) -> Array:
    return np.einsum("...ij,...j->...i", matrix, vector)


def _dot(a: Array, b: Array) -> Array:
    return np.sum(a * b, axis=-1, keepdims=True)


def _row(vector: Array, matrix: Array) -> Array:
    return np.einsum("ej,eji->ei", vector, matrix)


def element_state(
    model: CorotationalModel,
    displacement: Array,
    rotation: Array,
    natural_length: Array | None = None,
) -> ElementState:
    """Energy, forces and tangent of all elements.

    displacement : (n, 3) mm.  rotation : (n, 3, 3) rotation of each node from rest, global axes.
    natural_length : (m,) mm, instead of the model's (for bringing initial stress on in parts).
    """
    L = model.natural_length if natural_length is None else natural_length
    modes = _modes(model, displacement, rotation, L)
    energy = _energy(model, modes, L)
    local, d_local = _nodal(modes, energy, model.EA[:, None], L[:, None])

    nodal = _times(modes.mean[:, None], local)
    blocks = (modes.mean[:, None] @ d_local).reshape(-1, 4, 3, 4, 3).swapaxes(2, 3)
    blocks = (blocks @ transpose(modes.mean)[:, None, None]).swapaxes(2, 3)
    faces = nodal.reshape(-1, 2, 2, 3) * np.array([-1.0, 1.0])[:, None, None]
    return ElementState(
        energy=energy.U,
        force=nodal.reshape(-1, 12),
        tangent=blocks.reshape(-1, 12, 12),
        section_force=_times(transpose(modes.ends)[:, :, None], faces).reshape(-1, 2, 6),
        relative_rotation=np.linalg.norm(modes.psi, axis=1),
    )


def _modes(model: CorotationalModel, displacement: Array, rotation: Array, L: Array) -> _Modes:
    first, second = model.elements.T
    triad = transpose(model.frames)
    T_1, T_2 = rotation[first] @ triad, rotation[second] @ triad
    chord = model.points[second] - model.points[first]
    move = displacement[second] - displacement[first]
    rest = np.linalg.norm(chord, axis=1)
    l = np.linalg.norm(chord + move, axis=1)  # noqa: E741  the derivation's symbol
    # l - rest without the digits that the difference of two lengths would lose
    elongation = np.sum((2.0 * chord + move) * move, axis=1) / (l + rest) + (rest - L)
    psi = rotation_vector(transpose(T_1) @ T_2)
    mean = T_1 @ rotation_matrix(0.5 * psi)
    c = _times(transpose(mean), chord + move) / l[:, None]
    return _Modes(elongation, l[:, None], psi, c, mean, np.stack([T_1, T_2], axis=1))


def _energy(model: CorotationalModel, modes: _Modes, L: Array) -> _Energy:
    psi, c = modes.psi, modes.c
    # c_y belongs to bending about z: columns change places
    flexible = 1.0 / (1.0 + model.shear_parameters(L))[:, ::-1]
    k_psi = np.stack([model.GJ, model.EIy, model.EIz], axis=1) / L[:, None]
    zero = np.zeros((len(L), 1))
    k_c = np.hstack([zero, 12.0 * k_psi[:, :0:-1] * flexible])
    bow_c = np.hstack([zero, 0.1 * flexible**2])

    strain = modes.elongation / L + psi**2 @ _BOW_PSI + np.sum(bow_c * c**2, axis=1)
    n = model.EA * strain
    nL = (n * L)[:, None]
    strain_psi, strain_c = 2.0 * _BOW_PSI * psi, 2.0 * bow_c * c
    return _Energy(
        U=0.5 * (n * L * strain + np.sum(k_psi * psi**2 + k_c * c**2, axis=1)),
        n=n[:, None],
        m=nL * strain_psi + k_psi * psi,
        q=nL * strain_c + k_c * c,
        strain_psi=strain_psi,
        strain_c=strain_c,
        diagonal_psi=2.0 * nL * _BOW_PSI + k_psi,
        diagonal_c=2.0 * nL * bow_c + k_c,
    )


def _nodal(modes: _Modes, energy: _Energy, EA: Array, L: Array) -> tuple[Array, Array]:
    """(m, 4, 3) F₁, M₁, F₂, M₂ in the axes of T̄; (m, 4, 3, 12) their variation, T̄ turning too.

    B_i : variation of mode i as rows over (δu₁, w₁, δu₂, w₂), all in the axes of T̄.
    """
    l, psi, c = modes.l, modes.psi, modes.c  # noqa: E741
    n, m, q = energy.n, energy.m, energy.q
    g, dg, h, dh, r, dr = (f[:, None] for f in mean_rotation_factors(psi))
    A = g[..., None] * _EYE + h[..., None] * _outer(psi, psi)
    projector = _EYE - _outer(c, c)

    force = n * c + _times(projector, q) / l
    M = np.cross(q, c)
    M_psi = np.cross(M, psi)
    mu = _times(A, m) - 0.5 * r * M_psi
    local = np.stack([-force, 0.5 * M - mu, force, 0.5 * M + mu], axis=1)

    B_l = c @ _CHORD
    B_psi = A @ _SPREAD
    B_w = _MEAN - 0.5 * r[..., None] * skew(psi) @ _SPREAD
    B_c = projector @ _CHORD / l[..., None] + skew(c) @ B_w

    dn = EA * (B_l / L + _row(energy.strain_psi, B_psi) + _row(energy.strain_c, B_c))
    dm = _outer(L * energy.strain_psi, dn) + energy.diagonal_psi[..., None] * B_psi
    dq = _outer(L * energy.strain_c, dn) + energy.diagonal_c[..., None] * B_c

    d_across = (  # of (1 - c cᵀ) q / l
        projector @ dq
        - _dot(c, q)[..., None] * B_c
        - _outer(c, _row(q, B_c))
        - _outer(_times(projector, q) / l, B_l)
    ) / l[..., None]
    d_force = _outer(c, dn) + n[..., None] * B_c + d_across
    dM = skew(q) @ B_c - skew(c) @ dq
    dx = 2.0 * _row(psi, B_psi)  # x = |ψ|², by which g, h and r are differentiated
    psi_m = _dot(psi, m)
    dmu = (
        A @ dm
        + h[..., None] * (psi_m[..., None] * _EYE + _outer(psi, m)) @ B_psi
        + _outer(dg * m + dh * psi_m * psi - 0.5 * dr * M_psi, dx)
        - 0.5 * r[..., None] * (skew(M) @ B_psi - skew(psi) @ dM)
    )
    d_local = np.stack([-d_force, 0.5 * dM - dmu, d_force, 0.5 * dM + dmu], axis=1)
    return local, d_local - skew(local) @ B_w[:, None]
