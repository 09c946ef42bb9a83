"""Where forces and tangents of the nonlinear parts go among the freedoms of a system."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array


@dataclass(frozen=True)
class Scatter:
    """force (m,) and tangent (k,) places (in u, among ``cells``) of those entries for which
    ``has_force`` (M,) and ``has_tangent`` (K,) say that they have one; cells (e,): places in the
    flattened matrix that get anything.
    """

    force: NDArray[np.intp]
    tangent: NDArray[np.intp]
    has_force: NDArray[np.bool_]
    has_tangent: NDArray[np.bool_]
    cells: NDArray[np.intp]


def make_scatter(places: Sequence[NDArray[np.intp]], size: int) -> Scatter:
    """From places (m, k) of elements in u, -1 where condensed."""
    force = np.concatenate([p.ravel() for p in places])
    rows = np.concatenate([np.repeat(p, p.shape[1], axis=1).ravel() for p in places])
    cols = np.concatenate([np.tile(p, (1, p.shape[1])).ravel() for p in places])
    both = (rows >= 0) & (cols >= 0)
    cells, places_in_cells = np.unique((rows * size + cols)[both], return_inverse=True)
    return Scatter(force[force >= 0], places_in_cells, force >= 0, both, cells)


def summed(places: NDArray[np.intp], values: Array, size: int) -> Array:
    """(r, size) sums of values (r, m) at their places (m,)."""
    rows = len(values)
    at = places + size * np.arange(rows)[:, None]
    sums = np.bincount(at.ravel(), values.ravel(), minlength=rows * size)
    return np.asarray(sums.reshape(rows, size), dtype=np.float64)
