"""Static condensation of the linear part to chosen freedoms.

    S = K_bb - K_bi K_ii⁻¹ K_ib,       d_i = X d_b,   X = -K_ii⁻¹ K_ib,

with i the freedoms that neither wires, loads nor supports touch. Exact for statics. K_ii is
factored sparse in symmetric mode on a scaled matrix, so its pivots tell whether a part of the
structure hangs on nothing.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import splu

from fem.algebra import Array
from fem.errors import ModelError
from fem.mechanisms import PIVOT_LIMIT, Factor, refuse_mechanism


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
    diagonal = K_ii.diagonal()
    scale = 1.0 / np.sqrt(np.where(diagonal > 0, diagonal, 1.0))
    D = sparse.diags_array(scale)
    scaled = sparse.csc_array(D @ K_ii @ D)
    if (diagonal <= 0).any():
        refuse_mechanism(Factor(K_ii.toarray()), node_names, internal, state)
    try:
        factor = splu(
            scaled,
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
        smallest = np.abs(factor.U.diagonal()).min()
    except RuntimeError:  # splu's word for an exactly singular matrix
        factor, smallest = None, 0.0
    if smallest < PIVOT_LIMIT:
        refuse_mechanism(Factor(K_ii.toarray()), node_names, internal, state)
    if factor is None:
        raise ModelError(
            f"{state}: the stiffness of what is condensed cannot be factored; look for members "
            "of very different stiffness."
        )
    X = -scale[:, None] * factor.solve(scale[:, None] * K_ib)
    S = S + K_ib.T @ X
    return Condensed((S + S.T) / 2.0, kept, internal, X, before)
