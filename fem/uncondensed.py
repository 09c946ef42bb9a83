"""The whole tangent of a system at a state, on the freedoms of all masters.

Condensation (``fem.condensation``) is exact for statics only: what vibrates or bows between the
kept freedoms needs the members' own. With K the sparse stiffness of the linear part, S the same
condensed and H the tangent on the kept freedoms b,

    K_t = K + (H - S at b) + K_δ,

H - S being what wires, columns, joints and contacts add, and K_δ the bowing of columns under their
axial force (``fem.bowing``).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from fem.algebra import Array
from fem.assembly import assemble_masters
from fem.bowing import Stressed, bowing_stiffness, column_force
from fem.constraints import master_transform
from fem.errors import ModelError
from fem.system import System


def stressed(system: System, u: Array, tangent: Array, misfit: Array | None = None) -> Stressed:
    """The state at u (n,) with tangent (n, n); misfit (c,) mm of the columns (``fem.chord``)."""
    n = system.size
    if u.shape != (n,) or tangent.shape != (n, n):
        raise ModelError(
            f"a state needs u ({n},) and a tangent ({n}, {n}) of one load case; "
            f"got {u.shape} and {tangent.shape}."
        )
    chords = system.model.chords
    return Stressed(tangent, column_force(chords, u[system.chord_dofs], misfit))


def whole_tangent(system: System, state: Stressed) -> sparse.csr_array:
    """(6m, 6m) K_t of the m masters in ascending node order, N/mm, N, N·mm."""
    c, model = system.condensed, system.model
    K = assemble_masters(model)
    added = sparse.coo_array(state.tangent - c.stiffness)
    rows, cols = c.kept[added.row], c.kept[added.col]
    K = K + sparse.csr_array((added.data, (rows, cols)), shape=K.shape)
    T = master_transform(model.master, model.arm)
    K = K + T.T @ bowing_stiffness(model, state.column_force) @ T
    return sparse.csr_array((K + K.T) / 2.0)


@dataclass(frozen=True)
class Freedoms:
    """rows : (f,) free rows of ``whole_tangent``.  numbers : (f,) of their freedoms, 6 node +
    freedom.  fixed : (n_nodes, 6) what is supported.
    """

    rows: NDArray[np.intp]
    numbers: NDArray[np.intp]
    fixed: NDArray[np.bool_]


def master_freedoms(system: System, held: NDArray[np.bool_] | None = None) -> Freedoms:
    """held : (n,) kept freedoms supported besides those fixed in the model."""
    model = system.model
    masters = np.flatnonzero(model.master == np.arange(len(model.names)))
    numbers = (6 * masters[:, None] + np.arange(6)).ravel()
    fixed = model.fixed.ravel().copy()
    if held is not None:
        fixed[system.kept[held]] = True
    rows = np.flatnonzero(~fixed[numbers])
    return Freedoms(rows, numbers[rows], fixed.reshape(-1, 6))


def at_all_nodes(system: System, freedoms: Freedoms, vectors: Array) -> Array:
    """(k, f) on the free rows → (k, n_nodes, 6), arms followed to first order."""
    T = master_transform(system.model.master, system.model.arm)
    whole = np.zeros((len(vectors), T.shape[1]))
    whole[:, freedoms.rows] = vectors
    return np.asarray((T @ whole.T).T.reshape(len(vectors), len(system.model.names), 6))
