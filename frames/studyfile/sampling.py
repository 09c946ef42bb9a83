"""Numbers between 0 and 1 that a study's values are drawn by.

They come in blocks of ``BLOCK`` rows, each reckoned from the seed and its own number alone, so that
any rows can be had without those before them and a slice of a study gives what the whole does.

    random           PCG64 seeded by [seed, block]
    latin hypercube  u = (π(i) + v) / n: one of n equal strata for each row, π a permutation for
                     each column, v random within the stratum (McKay, Beckman and Conover 1979)
    sobol sequence   scipy's, scrambled by the seed
    saltelli         A and B are the two halves of a Sobol sequence of 2 k columns; after them, for
                     each column i, A with column i from B (Saltelli et al. 2010)

The strata of correlated columns are shared out by the ranks of correlated normal variables (the
idea of Iman and Conover 1982): each column keeps one row in each stratum.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array

BLOCK = 4096
Rows = tuple[tuple[float, ...], ...]
"""A matrix that can be a key."""


def uniforms(
    method: str, seed: int, count: int, columns: int, start: int, stop: int, mix: Rows | None
) -> Array:
    """(stop - start, columns) numbers of the rows start to stop - 1 of count; mix: lower Cholesky
    factor of the correlation of the underlying normal variables, None when there is none."""
    if method == "saltelli":
        return _saltelli(seed, count, columns, start, stop)
    return _rows(method, seed, count, columns, start, stop, mix)


def _rows(
    method: str, seed: int, count: int, columns: int, start: int, stop: int, mix: Rows | None
) -> Array:
    parts = [
        _block(method, seed, count, columns, block, mix)[
            max(start - block * BLOCK, 0) : stop - block * BLOCK
        ]
        for block in range(start // BLOCK, -(-stop // BLOCK))
    ]
    return np.concatenate(parts) if parts else np.empty((0, columns))


def _saltelli(seed: int, count: int, columns: int, start: int, stop: int) -> Array:
    """Rows of A, B, then A with one column from B for each column."""
    parts = [np.empty((0, columns))]
    row = start
    while row < stop:
        part, first = divmod(row, count)
        last = min(first + stop - row, count)
        both = _rows("saltelli", seed, count, 2 * columns, first, last, None)
        A, B = both[:, :columns], both[:, columns:]
        if part >= 2:
            A = A.copy()
            A[:, part - 2] = B[:, part - 2]
        parts.append(B if part == 1 else A)
        row += last - first
    return np.concatenate(parts)


@lru_cache(maxsize=4)
def _block(method: str, seed: int, count: int, columns: int, block: int, mix: Rows | None) -> Array:
    first = block * BLOCK
    size = min(BLOCK, count - first)
    if method in ("sobol sequence", "saltelli"):
        u = _sobol(seed, columns, first, size)
    else:
        u = np.random.default_rng([seed, block]).random((size, columns))
    if method != "latin hypercube":
        return u if mix is None else _correlated(u, mix)
    stratum = _strata(seed, count, columns, mix)[:, first : first + size].T
    return np.asarray((stratum + u) / count)


def _sobol(seed: int, columns: int, first: int, size: int) -> Array:
    from scipy.stats.qmc import Sobol

    sequence = Sobol(columns, scramble=True, seed=np.random.default_rng(seed))
    if first:
        sequence.fast_forward(first)
    return np.asarray(sequence.random(size))


def _correlated(u: Array, mix: Rows) -> Array:
    """Independent numbers (n, k) → numbers whose normal scores have the correlation L Lᵀ."""
    from scipy.special import ndtr, ndtri

    from frames.studyfile.distributions import END

    return np.asarray(ndtr(ndtri(np.clip(u, END, 1.0 - END)) @ np.array(mix).T))


@lru_cache(maxsize=2)
def _strata(seed: int, count: int, columns: int, mix: Rows | None) -> NDArray[np.uint32]:
    """(columns, count) a permutation of 0 … count - 1 for each column."""
    found = np.empty((columns, count), dtype=np.uint32)
    L = np.eye(columns) if mix is None else np.array(mix)
    for column in range(columns):
        scores = np.zeros(count)
        for k in np.flatnonzero(L[column]).tolist():
            # a stream of its own, apart from those of the blocks: three words in place of two
            rng = np.random.default_rng([seed, k, count])
            scores += L[column, k] * rng.standard_normal(count)
        found[column, np.argsort(scores)] = np.arange(count, dtype=np.uint32)
    return found
