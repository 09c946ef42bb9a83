"""A straight tensioned wire over knife edges on a fine mesh of beam elements.

Elements: cubic beam with consistent geometric and mass matrices (textbook: Przemieniecki 1968,
chapters 11 and 15).
"""

from collections.abc import Sequence
from math import pi

import numpy as np
from scipy import linalg


def wire_tones(
    spans: Sequence[float],
    T: Sequence[float],
    EI: float,
    mass: Sequence[float],
    pieces: int = 40,
    built_in: Sequence[int] = (),
) -> np.ndarray:
    """Hz, ascending: a wire clamped at both ends and held sideways between its spans.

    spans, T, mass : mm, N, tonne/mm of each span; mass 0 allowed (condensed out, exactly).
    built_in : numbers of the supports between spans, from 0, that hold the slope too.
    """
    lengths, pull, heavy = (np.repeat(x, pieces) for x in (np.array(spans) / pieces, T, mass))
    n = len(lengths) + 1
    K, M = np.zeros((2 * n, 2 * n)), np.zeros((2 * n, 2 * n))
    for i, (h, t, m) in enumerate(zip(lengths, pull, heavy, strict=True)):
        at = slice(2 * i, 2 * i + 4)
        K[at, at] += EI / h**3 * np.array(
            [
                [12, 6 * h, -12, 6 * h],
                [6 * h, 4 * h * h, -6 * h, 2 * h * h],
                [-12, -6 * h, 12, -6 * h],
                [6 * h, 2 * h * h, -6 * h, 4 * h * h],
            ]
        ) + t / (30 * h) * np.array(
            [
                [36, 3 * h, -36, 3 * h],
                [3 * h, 4 * h * h, -3 * h, -h * h],
                [-36, -3 * h, 36, -3 * h],
                [3 * h, -h * h, -3 * h, 4 * h * h],
            ]
        )
        M[at, at] += (
            m
            * h
            / 420
            * np.array(
                [
                    [156, 22 * h, 54, -13 * h],
                    [22 * h, 4 * h * h, 13 * h, -3 * h * h],
                    [54, 13 * h, 156, -22 * h],
                    [-13 * h, -3 * h * h, -22 * h, 4 * h * h],
                ]
            )
        )
    edges = [2 * pieces * (i + 1) for i in range(len(spans) - 1)]
    held = [0, 1, 2 * n - 2, 2 * n - 1, *edges, *(edges[i] + 1 for i in built_in)]
    free = np.setdiff1d(np.arange(2 * n), held)
    heavy_ones = free[np.diag(M)[free] > 0.0]
    light = np.setdiff1d(free, heavy_ones)
    stiff = K[np.ix_(heavy_ones, heavy_ones)]
    if len(light):
        across = K[np.ix_(light, heavy_ones)]
        stiff = stiff - across.T @ linalg.solve(K[np.ix_(light, light)], across, assume_a="pos")
    square = linalg.eigh(stiff, M[np.ix_(heavy_ones, heavy_ones)], eigvals_only=True)
    return np.sqrt(square) / (2 * pi)
