"""Relative motion of two places, each carried by a node over a rigid arm a = place - node:

    U = u + θ × a = u - [a]× θ,   Θ = θ,        D q = (U_B - U_A, Θ_B - Θ_A),

with q the twelve freedoms of node A, then of node B, to first order of the arms. When both arms
lead to the same point, what passes between the two places balances exactly: Dᵀ (F, M) puts F and M
at that point on B and takes them away there from A.
"""

import numpy as np

from fem.algebra import Array, skew


def relative_motion(arms: Array) -> Array:
    """(c, 6, 12) D from arms (c, 2, 3) mm of the places A and B; motions in mm and rad, global."""
    arms = np.where(np.abs(arms) < 1e-9, 0.0, arms)  # rounding of a place is no arm
    D = np.zeros((len(arms), 6, 12))
    for end, sign in ((0, -1.0), (1, 1.0)):
        at = 6 * end
        D[:, :, at : at + 6] = sign * np.eye(6)
        D[:, :3, at + 3 : at + 6] = -sign * skew(arms[:, end])
    return D
