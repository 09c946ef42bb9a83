"""What each draw adds to the variance of a quantity.

First order, with slopes g = ∂q/∂x = Wᵀ ∂q/∂p and independent draws of standard deviations σ:

    sd² = Σ (g σ)²,   share of a tolerance: its terms over all

From the sample: q is fitted by c + Σ b x (least squares). With y the fit, var(y) = Σ b cov(x, q),
so that a tolerance's share is its terms b cov(x, q)/var(q), and all of them make R², the part of
the variance that straight lines explain. For independent draws cov(x, q) = b var(x) but for
sampling: these are squared standardised regression coefficients (Saltelli et al., Global
Sensitivity Analysis: The Primer, Wiley 2008, §1.2.5, from memory).
"""

import numpy as np

from fem.algebra import Array

LEAST_PER_DRAW = 3
"""So many designs for each draw are asked for before a fit to them is told."""


def first_order(slopes: Array, sd: Array, tolerance_of: Array, count: int) -> tuple[float, Array]:
    """Standard deviation of a quantity with ``slopes`` (d,), and the share (count,) of each
    tolerance, which sum to 1 (all 0 where nothing has an effect)."""
    terms = (slopes * sd) ** 2
    total = float(terms.sum())
    by = np.bincount(tolerance_of, weights=terms, minlength=count)
    return total**0.5, by / total if total > 0.0 else np.zeros(count)


def fitted(draws: Array, q: Array, tolerance_of: Array, count: int) -> tuple[Array, float] | None:
    """Shares (count,) by a fit to a sample, draws (n, d) and q (n,), and R²; None where there are
    too few designs or q does not vary."""
    n, d = draws.shape
    if n < LEAST_PER_DRAW * (d + 1):
        return None
    x, y = draws - draws.mean(axis=0), q - q.mean()
    total = float(y @ y)
    if total <= (1e-9 * max(abs(float(q.mean())), 1e-12)) ** 2 * n:
        return None
    b = np.linalg.lstsq(x, y, rcond=None)[0]
    terms = b * (x.T @ y) / total
    shares: Array = np.bincount(tolerance_of, weights=terms, minlength=count).astype(float)
    return shares, float(terms.sum())
