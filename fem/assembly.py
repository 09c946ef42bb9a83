"""Assembly: element blocks (m, 12, 12) to one sparse matrix, by a single path."""

import numpy as np
from scipy import sparse

from fem.constraints import master_transform
from fem.model import Model


def assemble(model: Model) -> sparse.csr_array:
    """Stiffness of members and springs, (6n, 6n), symmetric, all nodes, arms not yet applied."""
    n = len(model.names)
    blocks = np.concatenate([model.members.stiffness(), model.springs.stiffness])
    ends = np.concatenate([model.members.ends, model.springs.ends])
    dofs = (6 * ends[:, :, None] + np.arange(6)).reshape(-1, 12)
    rows = np.repeat(dofs[:, :, None], 12, axis=2)
    cols = np.repeat(dofs[:, None, :], 12, axis=1)
    real = (rows >= 0) & (cols >= 0)  # an end at the ground has no freedoms
    return sparse.csr_array((blocks[real], (rows[real], cols[real])), shape=(6 * n, 6 * n))


def assemble_masters(model: Model) -> sparse.csr_array:
    """The same on the freedoms of the masters: Tᵀ K T."""
    T = master_transform(model.master, model.arm)
    return sparse.csr_array(T.T @ assemble(model) @ T)
