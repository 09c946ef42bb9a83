r"""Analysis of variance on groups: what share of an output's variance each parameter has.

Designs fall into levels (or bins) of every parameter. The additive model

    y = mu + a_i(level of parameter i) + ... + e

is fitted by least squares, and the sum of squares of parameter i is what the residual grows by when
a_i is left out. A two-way interaction gets a term a_ij for every pair of levels, and its sum of
squares is what the residual shrinks by when a_ij comes to the additive model. On a full grid the
terms are orthogonal: these are the textbook sums

    SS_i  = sum over levels of n_l (mean_l - mean)^2
    SS_ij = sum over cells of n_c (mean_c - mean_i - mean_j + mean)^2

and with the higher interactions they add up to the total sum of squares about the mean (Montgomery,
Design and Analysis of Experiments, chapters on factorial designs; from memory). Where rows are
missing they are no longer orthogonal, and the definition by residuals holds.

Sampled designs are drawn independently of each other, and the first-order share is var(E[y | x_i])
/ var(y). Their bins are no grid, so it is estimated one parameter at a time: the sum of squares
between bins, less the (levels - 1) mean squares within bins that chance alone gives, by the total
(epsilon squared, Kelley 1935; from memory). It is right on average and can come out a little below
zero. The F test tells whether bins differ by more than chance.

The terms of the parameter with most levels are eliminated beforehand (Frisch and Waugh 1933: fit
what they leave of the others), and the normal equations are filled from counts of pairs of levels:
neither many designs nor many levels of one parameter, or of one pair, make them large.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.special import fdtrc

from frames.studytable.grouping import Grouping

_RANK = 1e-9
"""Eigenvalues of the normal equations below this part of the largest count are zero."""

Group = tuple[np.ndarray, int]
"""Codes (n,) of a parameter, or of a pair, and the number of levels."""


@dataclass(frozen=True)
class Fit:
    """A fitted model. explained: sum of squares about the mean that it explains; rank: of the model
    with the mean; terms: (m,) of each group, in the sum of which the mean is contained."""

    explained: float
    rank: int
    terms: tuple[np.ndarray, ...]


@dataclass(frozen=True)
class Variance:
    """total : sum of squares about the mean. mains : sum of squares of each parameter. separable :
    False when parameters change together, so that none of the sums can be told apart. levels :
    adjusted mean at each level of each parameter, NaN without designs."""

    total: float
    mains: np.ndarray
    separable: bool
    levels: tuple[np.ndarray, ...]


def fit(groups: Sequence[Group], y: np.ndarray) -> Fit:
    """Least squares of one term for each level of each group. y : (n,)."""
    mean = float(y.mean())
    centred = y - mean
    first = max(range(len(groups)), key=lambda i: groups[i][1])
    cells, count = groups[first]
    others = [g for i, g in enumerate(groups) if i != first]
    number = np.bincount(cells, minlength=count)
    weight = 1.0 / np.maximum(number, 1)
    cell_mean = np.bincount(cells, centred, minlength=count) * weight

    starts = np.cumsum([0, *(size for _, size in others)])
    within = np.concatenate([np.zeros((0, count)), *(_pairs(g, groups[first]) for g in others)])
    normal = np.zeros((starts[-1], starts[-1]))
    right = np.zeros(starts[-1])
    for i, (codes, size) in enumerate(others):
        rows = slice(starts[i], starts[i + 1])
        right[rows] = np.bincount(codes, centred, minlength=size)
        for j in range(i + 1):
            columns = slice(starts[j], starts[j + 1])
            normal[rows, columns] = _pairs(others[i], others[j])
            normal[columns, rows] = normal[rows, columns].T
    largest = float(np.max(np.diag(normal), initial=0.0))
    values, vectors = np.linalg.eigh(normal - (within * weight) @ within.T)
    kept = values > _RANK * largest
    along = vectors[:, kept].T @ (right - within @ cell_mean)
    solution = vectors[:, kept] @ (along / values[kept])
    terms = [solution[a:b] for a, b in pairwise(starts)]
    terms.insert(first, mean + cell_mean - (within.T @ solution) * weight)
    explained = float(number @ cell_mean**2 + np.sum(along**2 / values[kept]))
    return Fit(explained, int(np.count_nonzero(number) + kept.sum()), tuple(terms))


def _pairs(one: Group, other: Group) -> np.ndarray:
    """How many designs have each level of one and each of the other: (sizes)."""
    (a, m), (b, n) = one, other
    return np.bincount(a * n + b, minlength=m * n).reshape(m, n).astype(float)


def analysed(groupings: Sequence[Grouping], y: np.ndarray) -> Variance:
    """Main effects of all parameters on one output, (n,) without gaps."""
    groups = [(g.codes, g.size) for g in groupings]
    counts = [np.bincount(codes, minlength=size) for codes, size in groups]
    whole = fit(groups, y)
    total = float(np.sum((y - y.mean()) ** 2))
    degrees = np.array([np.count_nonzero(c) - 1 for c in counts])
    mains = np.empty(len(groups))
    for i in range(len(groups)):
        without = groups[:i] + groups[i + 1 :]
        mains[i] = whole.explained - (fit(without, y).explained if without else 0.0)
    separable = bool(whole.rank == 1 + degrees.sum())
    return Variance(total, np.maximum(mains, 0.0), separable, _means(whole, counts))


def _means(whole: Fit, counts: Sequence[np.ndarray]) -> tuple[np.ndarray, ...]:
    """At each level, the others taken evenly over theirs."""
    terms = [np.where(c > 0, t, np.nan) for t, c in zip(whole.terms, counts, strict=True)]
    mean = sum(float(np.nanmean(t)) for t in terms)
    return tuple(mean + t - np.nanmean(t) for t in terms)


def pair(
    groupings: Sequence[Grouping], i: int, j: int, y: np.ndarray, sampled: bool
) -> tuple[float, float]:
    """Share of the variance of the interaction of parameters i and j, of a sample with the part of
    chance taken off, and its probability by chance alone (F test)."""
    groups = [(g.codes, g.size) for g in groupings]
    a, b = groupings[i], groupings[j]
    both = (a.codes * b.size + b.codes, a.size * b.size)
    others = [g for k, g in enumerate(groups) if k not in (i, j)]
    without, whole = fit(groups, y), fit([both, *others], y)
    total = float(np.sum((y - y.mean()) ** 2))
    squares = max(whole.explained - without.explained, 0.0)
    degrees, left = whole.rank - without.rank, len(y) - whole.rank
    if degrees == 0 or (sampled and left == 0):
        return 0.0, 1.0
    square = max(total - whole.explained, 0.0) / left if left else 0.0
    share = (squares - (degrees * square if sampled else 0.0)) / total
    return share, float(fdtrc(degrees, left, squares / degrees / square)) if square else 0.0


def one_way(grouping: Grouping, y: np.ndarray) -> tuple[float, float]:
    """Share of the variance between bins, chance taken off, and the probability that bins which do
    not differ would look as different (F test; 0 when nothing is left within bins)."""
    between = fit([(grouping.codes, grouping.size)], y)
    total = float(np.sum((y - y.mean()) ** 2))
    degrees, left = between.rank - 1, len(y) - between.rank
    if left == 0:
        return float("nan"), 1.0
    square = max(total - between.explained, 0.0) / left
    share = (between.explained - degrees * square) / total
    if square == 0.0:
        return share, 0.0
    return share, float(fdtrc(degrees, left, between.explained / degrees / square))
