"""Spring between two nodes at the same place, or between a node and the ground.

Its force and moment on node A are ``k (d_B - d_A)`` with the six relative motions d in global axes
(mm, rad) and k (6 × 6) symmetric, not negative. The two nodes must share their place: between nodes
apart, a lateral spring force alone would turn the structure out of nothing; put a rigid arm
between.
"""

import numpy as np

from fem.algebra import Array
from fem.errors import ModelError


def spring_stiffness(k: Array, name: str) -> Array:
    """(6,) or (6, 6) spring constants (N/mm, N·mm/rad) → (12, 12) in the dofs of both ends."""
    k = np.asarray(k, float)
    k = np.diag(k) if k.shape == (6,) else k
    if (
        k.shape != (6, 6)
        or not np.isfinite(k).all()
        or np.abs(k - k.T).max() > 1e-9 * np.abs(k).max()
    ):
        raise ModelError(
            f"spring {name!r}: needs 6 constants or a symmetric 6 × 6 matrix.", part=name
        )
    if np.linalg.eigvalsh(k).min() < -1e-9 * np.abs(k).max():
        raise ModelError(f"spring {name!r}: its matrix must not be negative.", part=name)
    return np.block([[k, -k], [-k, k]])
