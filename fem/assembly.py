"""Assembly: element blocks (m, 12, 12) to one sparse matrix, by a single path."""

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from fem.algebra import Array
from fem.constraints import master_transform
from fem.model import Model


def assemble(model: Model) -> sparse.csr_array:
    """Stiffness of members (not the late ones) and springs, (6n, 6n), symmetric, all nodes, arms
    not yet applied.
    """
    there = ~model.members.late
    blocks = np.concatenate([model.members.stiffness()[there], model.springs.stiffness])
    ends = np.concatenate([model.members.ends[there], model.springs.ends])
    return assemble_blocks(blocks, ends, len(model.names))


def assemble_blocks(blocks: Array, nodes: NDArray[np.intp], n: int) -> sparse.csr_array:
    """Blocks (m, 6k, 6k) of parts on the nodes (m, k), -1 the ground: their sum (6n, 6n)."""
    size = 6 * nodes.shape[1]
    dofs = (6 * nodes[:, :, None] + np.arange(6)).reshape(-1, size)
    rows = np.repeat(dofs[:, :, None], size, axis=2)
    cols = np.repeat(dofs[:, None, :], size, axis=1)
    real = (rows >= 0) & (cols >= 0)  # an end at the ground has no freedoms
    return sparse.csr_array((blocks[real], (rows[real], cols[real])), shape=(6 * n, 6 * n))


def assemble_masters(model: Model) -> sparse.csr_array:
    """The same on the freedoms of the masters: Tᵀ K T."""
    T = master_transform(model.master, model.arm)
    return sparse.csr_array(T.T @ assemble(model) @ T)
