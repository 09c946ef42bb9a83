"""Rigid arms as constraint algebra.

A slave node on a rigid arm a = X_slave - X_master follows its master:

    u_s = u_m + θ_m × a = u_m - [a]× θ_m,      θ_s = θ_m,

so that all displacements are ``d = T d_masters`` and a stiffness reduces to Tᵀ K T. Nothing is
approximated by a stiff member. Arms may hang on arms; the chain is followed to its free end. (Where
an arm carries a tensioned wire its rotation is carried to second order, inside ``fem.wire``.)
"""

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from fem.algebra import Array, skew
from fem.errors import ModelError


def resolve_arms(
    names: tuple[str, ...], points: Array, arms: dict[int, int]
) -> tuple[NDArray[np.intp], Array]:
    """``arms`` slave → master; returns for every node its final master (n,) and arm (n, 3) from it,
    mm.
    """
    master = np.arange(len(names))
    for slave in arms:
        seen = {slave}
        node = slave
        while node in arms:
            node = arms[node]
            if node in seen:
                raise ModelError(
                    f"rigid arms form a loop through node {names[slave]!r}; "
                    "each node may follow one master.",
                    part=names[slave],
                )
            seen.add(node)
        master[slave] = node
    return master, points - points[master]


def on_masters(K: Array, arms: Array) -> Array:
    """(..., 12, 12) stiffness of parts with two ends on rigid arms (..., 2, 3), as their masters
    feel it.
    """
    carry = np.zeros(K.shape)
    carry[...] = np.eye(12)
    for k in (0, 1):
        carry[..., 6 * k : 6 * k + 3, 6 * k + 3 : 6 * k + 6] = -skew(arms[..., k, :])
    return np.asarray(np.swapaxes(carry, -1, -2) @ K @ carry)


def master_transform(master: NDArray[np.intp], arm: Array) -> sparse.csr_array:
    """(6n, 6m) T; columns are the dofs of the m masters in ascending node order."""
    n = len(master)
    masters = np.flatnonzero(master == np.arange(n))
    column = np.zeros(n, dtype=np.intp)
    column[masters] = np.arange(len(masters))
    blocks = np.tile(np.eye(6), (n, 1, 1))
    blocks[:, :3, 3:] = -skew(arm)
    rows = (
        (6 * np.arange(n))[:, None, None] + np.arange(6)[None, :, None] + np.zeros((1, 1, 6), int)
    )
    cols = (
        (6 * column[master])[:, None, None] + np.arange(6)[None, None, :] + np.zeros((1, 6, 1), int)
    )
    used = blocks != 0.0
    return sparse.csr_array(
        (blocks[used], (rows[used], cols[used])), shape=(6 * n, 6 * len(masters))
    )
