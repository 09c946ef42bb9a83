"""Static condensation of the linear part to chosen freedoms.

    S = K_bb - K_bi K_ii⁻¹ K_ib,       d_i = X d_b,   X = -K_ii⁻¹ K_ib,

with i the freedoms that neither wires, loads nor supports touch. Exact for statics. The pivots of
K_ii (``fem.sparse_factor``) tell whether a part of the structure hangs on nothing.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from fem.algebra import Array
from fem.sparse_factor import SparseFactor


@dataclass(frozen=True)
class Condensed:
    """stiffness (k, k) on the kept freedoms ``kept`` (k,); ``internal`` (i,) freedoms follow by
    ``recover`` (i, k);
    ``diagonal`` (k,): that of K_bb, the measure of what is rounding in ``stiffness``.
    """

    stiffness: Array
    kept: NDArray[np.intp]
    internal: NDArray[np.intp]
    recover: Array
    diagonal: Array


def condense(
    K: sparse.csr_array, kept: NDArray[np.intp], node_names: tuple[str, ...], state: str
) -> Condensed:
    """Condense K (n, n) to the freedoms ``kept``; ``node_names`` name the nodes of K, six rows
    each.
    """
    n = K.shape[0]
    internal = np.setdiff1d(np.arange(n), kept)
    K_b = K[kept]
    S = K_b[:, kept].toarray()
    before = np.diagonal(S).copy()
    if not len(internal):
        return Condensed((S + S.T) / 2.0, kept, internal, np.zeros((0, len(kept))), before)
    K_ib = K_b[:, internal].T.toarray()
    K_ii = sparse.csc_array(K[internal][:, internal])
    factor = SparseFactor(K_ii, node_names, internal, state)
    X = -factor.solve(K_ib)
    S = S + K_ib.T @ X
    return Condensed((S + S.T) / 2.0, kept, internal, X, before)
