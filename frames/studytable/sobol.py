r"""Sobol indices from the rows of a "saltelli" study, with bounds.

Rows A and B are two independent samples of n designs of k parameters; AB_i is A with the column of
parameter i from B. With f for the output and V for its variance over A and B,

    S_i  = mean( f_B (f_AB_i - f_A) ) / V          first order: what i explains by itself
    T_i  = mean( (f_A - f_AB_i)^2 ) / (2 V)        total: with all its interactions

(Saltelli et al., Computer Physics Communications 181, 2010, 259-270, table 2, lines b and f; the
same that ``scipy.stats.sobol_indices`` uses, f centred first). That function takes powers of two
only; where designs have no value whole base samples are dropped here, which leaves any number.

Bounds: percentiles of a bootstrap over base samples (Efron and Tibshirani, An Introduction to the
Bootstrap, 1993). Both indices are ratios of means over base samples, so a resample is a row of
counts times a table of columns.  The samples are treated as independent; those of a Sobol sequence
cover space more evenly, and the bounds are then on the wide side.
"""

from dataclasses import dataclass

import numpy as np

RESAMPLES = 1000
CONFIDENCE = 0.95
_AT_ONCE = 50


@dataclass(frozen=True)
class SobolIndices:
    """(k,) each: index, lower and upper bound. kept, dropped : base samples."""

    first: np.ndarray
    first_low: np.ndarray
    first_high: np.ndarray
    total: np.ndarray
    total_low: np.ndarray
    total_high: np.ndarray
    kept: int
    dropped: int


def split(y: np.ndarray, parameters: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Rows of a saltelli study as f_A (n,), f_B (n,), f_AB (k, n)."""
    blocks = y.reshape(parameters + 2, -1)
    return blocks[0], blocks[1], blocks[2:]


def sobol(y: np.ndarray, parameters: int, seed: int = 0) -> SobolIndices:
    """y : (n (k + 2),) in the order A, B, AB_1 ... AB_k; NaN where a design has no value.

    Every base sample with a gap in any of its k + 2 designs is dropped.  Raises ValueError when
    fewer than two are left.
    """
    f_a, f_b, f_ab = split(y, parameters)
    whole = np.isfinite(f_a) & np.isfinite(f_b) & np.isfinite(f_ab).all(axis=0)
    kept = int(whole.sum())
    if kept < 2:
        raise ValueError(f"{kept} of {len(f_a)} base samples have all their values; two are needed")
    mean = 0.5 * (f_a[whole].mean() + f_b[whole].mean())
    a, b, ab = f_a[whole] - mean, f_b[whole] - mean, f_ab[:, whole] - mean
    # columns whose means over base samples give everything
    table = np.column_stack([(b * (ab - a)).T, (0.5 * (a - ab) ** 2).T, a + b, a**2 + b**2])
    first, total = _ratios(table.mean(axis=0)[None], parameters)
    rng = np.random.default_rng(seed)
    even = np.full(kept, 1.0 / kept)
    drawn = []
    for start in range(0, RESAMPLES, _AT_ONCE):
        counts = rng.multinomial(kept, even, size=min(_AT_ONCE, RESAMPLES - start))
        drawn.append(np.concatenate(_ratios(counts @ table / kept, parameters), axis=1))
    tail = 0.5 * (1.0 - CONFIDENCE)
    low, high = np.quantile(np.concatenate(drawn), (tail, 1.0 - tail), axis=0)
    k = parameters
    return SobolIndices(
        first[0], low[:k], high[:k], total[0], low[k:], high[k:], kept, len(f_a) - kept
    )


def _ratios(means: np.ndarray, k: int) -> tuple[np.ndarray, np.ndarray]:
    """(r, k) first-order and total indices from means of the columns (r, 2 k + 2)."""
    variance = 0.5 * means[:, -1] - (0.5 * means[:, -2]) ** 2
    known = np.where(variance > 0.0, variance, np.inf)[:, None]  # a constant output: zero
    return means[:, :k] / known, means[:, k : 2 * k] / known
