"""The Pareto front: designs that no other design beats.

Design a beats design b when it is at least as good in every aim and better in one. Designs that are
equal in every aim do not beat each other: all of them are kept. Values are compared to nine digits
of the largest one: what differs less is rounding.
"""

from dataclasses import dataclass

import numpy as np

_DIGITS = 9


@dataclass(frozen=True)
class Aim:
    """An output that should be larger (more) or smaller; column: its place among the outputs."""

    name: str
    label: str
    unit: str
    more: bool
    column: int

    @property
    def text(self) -> str:
        """Label and unit."""
        return f"{self.label} ({self.unit})" if self.unit else self.label


@dataclass(frozen=True)
class Front:
    """designs : numbers of those on the front, best in the first aim first. compared : how many
    designs have every aim."""

    aims: tuple[Aim, ...]
    designs: tuple[int, ...]
    compared: int


def unbeaten(costs: np.ndarray) -> np.ndarray:
    """(n,) bool: rows of costs (n, m), each aim the smaller the better, that no other row beats."""
    rows, back = np.unique(costs, axis=0, return_inverse=True)
    # sorted by the first aim, then the next: a row is beaten only by one before it, so that those
    # that are left after each step are on the front up to there
    left = np.arange(len(rows))
    at = 0
    while at < len(left):
        row = rows[left[at]]
        kept = np.any(rows[left] < row, axis=1)
        kept[: at + 1] = True
        left = left[kept]
        at += 1
    on = np.zeros(len(rows), dtype=bool)
    on[left] = True
    return on[back.reshape(-1)]


def front_of(aims: tuple[Aim, ...], y: np.ndarray) -> Front:
    """y : (n, n_outputs) of all designs; those without a value in an aim are left out."""
    chosen = y[:, [a.column for a in aims]]
    known = np.flatnonzero(np.isfinite(chosen).all(axis=1))
    signs = np.array([-1.0 if a.more else 1.0 for a in aims])
    on = known[unbeaten(_rounded(chosen[known]) * signs)] if len(known) else known
    costs = chosen[on] * signs
    order = np.lexsort(costs.T[::-1])
    return Front(aims, tuple(int(d) for d in on[order]), len(known))


def _rounded(values: np.ndarray) -> np.ndarray:
    """(n, m), each column to ``_DIGITS`` digits of its largest size."""
    unit = np.maximum(np.abs(values).max(axis=0), np.finfo(float).tiny) * 10.0**-_DIGITS
    return np.asarray(np.rint(values / unit))
