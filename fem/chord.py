"""Axial force of a straight member along its displaced chord (P-Δ).

Small-displacement members put their forces where they were built. A column of length L with axial
force N whose ends shift sideways by Δ against each other then misses the moment N Δ, which decides
how a loaded construct tilts. For members named as columns the linear axial energy ½ k a² is
replaced by that of the true chord:

    a = e·(U_B - U_A),    ε = ℓ - L,  ℓ = |X_B - X_A + U_B - U_A|,    k = EA / L

    ΔU = ½ k (ε² - a²),
    ∂ΔU/∂U_B = -∂ΔU/∂U_A = k (ε n - a e),                 n = direction of the displaced chord,
    ∂²ΔU/∂U_B² = k [n nᵀ - e eᵀ + (ε / ℓ)(1 - n nᵀ)].

A column may be made longer by a misfit δ (a rod whose nuts are turned): it is then free of force at
the length L + δ, and ε - δ stands in the place of ε,

    ΔU = ½ k ((ε - δ)² - a²),   ∂ΔU/∂U_B = k ((ε - δ) n - a e).

Bending, shear and torsion of the member stay linear. (The force on the bent member between its
ends, P-δ, is left out: of relative size N L² / 10 EI, 3 % for the rod of a frame at 1000 N.)  The
chord method is standard in second-order frame analysis, e.g. McGuire, Gallagher & Ziemian, Matrix
Structural Analysis, 2000, ch. 9.
"""

from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array, skew, transpose


@dataclass(frozen=True)
class Chords:
    """c columns. names (c,), nodes (c, 2) that carry their ends, reach (c, 3) X_B - X_A mm,
    stiffness (c,) k N/mm, shift (c, 3, 12): U_B - U_A from the freedoms of both nodes, rigid arms
    included; on_arm (c, 2): whether the end hangs on an arm, so that the node's rotation
    matters.
    """

    names: tuple[str, ...]
    nodes: NDArray[np.intp]
    reach: Array
    stiffness: Array
    shift: Array
    on_arm: NDArray[np.bool_]

    BY_DESIGN: ClassVar = ("reach", "stiffness", "shift")

    def take(self, cases: NDArray[np.intp]) -> "Chords":
        """Of columns of several designs (arrays with a leading axis of load cases): some cases."""
        return replace(self, **{name: getattr(self, name)[cases] for name in self.BY_DESIGN})


@dataclass(frozen=True)
class ChordState:
    """energy (..., c), end_force (..., c, 3) on the ends B, gradient (..., c, 12), tangent (..., c,
    12, 12) or (..., c, 0, 0) when not asked for.
    """

    energy: Array
    end_force: Array
    gradient: Array
    tangent: Array


def make_chords(
    names: tuple[str, ...], nodes: NDArray[np.intp], arms: Array, reach: Array, stiffness: Array
) -> Chords:
    """nodes (c, 2), arms (c, 2, 3) mm from node to end, reach (c, 3), stiffness (c,)."""
    arms = np.where(np.abs(arms) < 1e-9, 0.0, arms)  # rounding of a place is no arm
    shift = np.zeros((len(names), 3, 12))
    for end, sign in ((0, -1.0), (1, 1.0)):
        shift[:, :, 6 * end : 6 * end + 3] = sign * np.eye(3)
        shift[:, :, 6 * end + 3 : 6 * end + 6] = -sign * skew(arms[:, end])
    on_arm = np.abs(arms).max(axis=-1, initial=0.0) > 0.0
    return Chords(names, nodes, reach, stiffness, shift, on_arm)


def chord_state(
    chords: Chords, q: Array, misfit: Array | None = None, *, with_tangent: bool = True
) -> ChordState:
    """What the true chords add to the linear members at q (..., c, 12), mm and rad, global axes.

    misfit : (..., c) mm by which the columns are made longer; none when not given.
    """
    k = chords.stiffness
    L = np.linalg.norm(chords.reach, axis=-1)
    e = chords.reach / L[..., None]
    apart = np.einsum("...cxq,...cq->...cx", chords.shift, q)
    chord = chords.reach + apart
    length = np.linalg.norm(chord, axis=-1)
    n = chord / length[..., None]
    a = np.sum(e * apart, axis=-1)
    stretch = np.sum(apart * (2.0 * chords.reach + apart), axis=-1) / (length + L)
    if misfit is not None:
        stretch = stretch - misfit
    force = (k * stretch)[..., None] * n - (k * a)[..., None] * e
    energy = k * (stretch - a) * (stretch + a) / 2.0
    tangent = np.zeros((*energy.shape, 0, 0))
    if with_tangent:
        nn = n[..., :, None] * n[..., None, :]
        ee = e[..., :, None] * e[..., None, :]
        turning = (stretch / length)[..., None, None] * (np.eye(3) - nn)
        core = k[..., None, None] * (nn - ee + turning)
        tangent = transpose(chords.shift) @ core @ chords.shift
    gradient = np.einsum("...cxq,...cx->...cq", chords.shift, force)
    return ChordState(energy, force, gradient, tangent)
