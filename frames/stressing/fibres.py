"""How the stress of single fibres comes and goes with a load.

A fibre at (y, z) of a section with the forces N, M_x, M_y, M_z (``fem.recovery``) bears

    σ = N / A + M_y z / I_y - M_z y / I_z,      τ = |M_x| r / J  (rectangle: M_x min(b, t) / J),

with its sign, tension positive. Load comes from rest (0) to its full height (1) and goes again, so
that the fibre's amplitude and mean are, in the manner of von Mises,

    σ_a = sqrt( ((σ₁ - σ₀) / 2)² + 3 ((τ₁ - τ₀) / 2)² ),
    σ_m = sqrt( max((σ₁ + σ₀) / 2, 0)² + 3 ((τ₁ + τ₀) / 2)² ).

Fibres stand at every 10° of a round section, whose worst one is missed by 0.4 % of the bending
stress at most, and at the four corners of a rectangular one. τ of a rectangle is an upper bound, by
half for a square and exact for a thin strip (Roark, from memory).
"""

from collections.abc import Sequence

import numpy as np

from fem.algebra import Array
from fem.sections import Section

ROUND = 36
"""Fibres of a section; those of a rectangle come nine times over."""

_TURN = np.arange(ROUND) * 2.0 * np.pi / ROUND
CIRCLE: Array = np.stack([np.cos(_TURN), np.sin(_TURN)], axis=-1)
_CORNERS: Array = np.tile([[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]], (ROUND // 4, 1))


def is_round(s: Section) -> bool:
    """Whether a section is a circle or a tube: I_y = I_z, J twice that."""
    return abs(s.I_y - s.I_z) < 1e-9 * s.I_y and abs(s.J - 2.0 * s.I_y) < 1e-6 * s.J


def twist_stress(s: Section) -> float:
    """τ / M_x, 1/mm³."""
    return (s.reach_y if is_round(s) else 2.0 * min(s.reach_y, s.reach_z)) / s.J


def fibre_stress(sections: Sequence[Section], forces: Array) -> tuple[Array, Array]:
    """σ (..., m, k, f) and τ (..., m, k, 1) MPa, with signs, of forces (..., m, k, 6) in the
    members' own axes."""
    places = np.array(
        [(CIRCLE if is_round(s) else _CORNERS) * (s.reach_y, s.reach_z) for s in sections]
    ).reshape(-1, ROUND, 2)
    data = np.array([(s.area, s.I_y, s.I_z, twist_stress(s)) for s in sections]).reshape(-1, 4)
    A, I_y, I_z, twist = (column[:, None, None] for column in data.T)
    y, z = places[:, None, :, 0], places[:, None, :, 1]
    N, M_x, M_y, M_z = (forces[..., i, None] for i in (0, 3, 4, 5))
    return np.asarray(N / A + M_y * z / I_y - M_z * y / I_z), np.asarray(M_x * twist)


def coming_and_going(rest: tuple[Array, Array], under: tuple[Array, Array]) -> tuple[Array, Array]:
    """σ_a and σ_m (n,) MPa of all fibres between two states, each a pair of σ and τ."""
    swing, shear_swing = ((b - a) / 2.0 for a, b in zip(rest, under, strict=True))
    middle, shear_middle = ((a + b) / 2.0 for a, b in zip(rest, under, strict=True))
    amplitude = np.sqrt(swing**2 + 3.0 * shear_swing**2)
    mean = np.sqrt(np.maximum(middle, 0.0) ** 2 + 3.0 * shear_middle**2)
    return amplitude.ravel(), mean.ravel()
