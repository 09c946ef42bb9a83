"""Sparse factor of a symmetric stiffness, scaled to unit diagonal, pivots kept on the diagonal.

L D Lᵀ of D^-½ K D^-½: small pivots tell of mechanisms (``fem.mechanisms``), the number of negative
ones is the number of negative eigenvalues of K (Sylvester's law of inertia).
"""

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import splu

from fem.algebra import Array
from fem.errors import ModelError
from fem.mechanisms import PIVOT_LIMIT, Factor, refuse_mechanism


class SparseFactor:
    """Factor of K (n, n).

    ``negative``: number of negative pivots, None when SuperLU left the diagonal for a pivot, so
    that they cannot be counted.
    """

    def __init__(
        self, K: sparse.sparray, node_names: tuple[str, ...], dofs: NDArray[np.intp], state: str
    ) -> None:
        """dofs : (n,) freedom numbers (6 node + freedom) of the rows, for the words of an error.

        Raises ``MechanismError`` when something can move freely, ``ModelError`` when K cannot be
        factored for another reason.
        """
        diagonal = K.diagonal()
        self._scale = 1.0 / np.sqrt(np.where(diagonal > 0, diagonal, 1.0))
        D = sparse.diags_array(self._scale)
        if (diagonal == 0.0).any():
            refuse_mechanism(Factor(K.toarray()), node_names, dofs, state)
        try:
            lu = splu(
                sparse.csc_array(D @ K @ D),
                permc_spec="MMD_AT_PLUS_A",
                diag_pivot_thresh=0.0,
                options={"SymmetricMode": True},
            )
        except RuntimeError:  # splu's word for an exactly singular matrix
            refuse_mechanism(Factor(K.toarray()), node_names, dofs, state)
            raise ModelError(
                f"{state}: the stiffness cannot be factored; look for members of very different "
                "stiffness."
            ) from None
        pivots = lu.U.diagonal()
        if np.abs(pivots).min(initial=1.0) < PIVOT_LIMIT:
            refuse_mechanism(Factor(K.toarray()), node_names, dofs, state)
        self._lu = lu
        on_diagonal = np.array_equal(lu.perm_r, lu.perm_c)
        self.negative = int(np.sum(pivots < 0)) if on_diagonal else None

    def solve(self, b: Array) -> Array:
        """K⁻¹ b for b (n,) or (n, k)."""
        s = self._scale if b.ndim == 1 else self._scale[:, None]
        return np.asarray(s * self._lu.solve(s * b))
