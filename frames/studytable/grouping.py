"""The values of a parameter in groups: its levels, or bins with equally many designs."""

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from frames.studytable.columns import Column

FEW = 10
"""A sampled parameter with no more different values than this is grouped by value."""


@dataclass(frozen=True)
class Grouping:
    """codes : (n,) int, the group of each design. labels : of the groups. middles : (m,) value, or
    mean value in a bin; None for words. edges : (m + 1,) ends of the bins; None for levels."""

    codes: np.ndarray
    labels: tuple[str, ...]
    middles: np.ndarray | None
    edges: np.ndarray | None = None

    @property
    def size(self) -> int:
        return len(self.labels)

    @property
    def binned(self) -> bool:
        return self.edges is not None


def by_level(column: Column, values: np.ndarray) -> Grouping:
    """Every value that occurs is a group: numbers rising, words in the order of the study."""
    if values.dtype == float:
        found, codes = np.unique(values, return_inverse=True)
        return Grouping(codes.reshape(-1), tuple(shown(v) for v in found), found)
    listed = list(dict.fromkeys([*(column.levels or ()), *values.tolist()]))
    occurring = set(values.tolist())
    here = [v for v in listed if v in occurring]
    place = {value: i for i, value in enumerate(here)}
    codes = np.array([place[v] for v in values.tolist()], dtype=int)
    return Grouping(codes, tuple(shown(v) for v in here), None)


def by_bin(column: Column, values: np.ndarray, bins: int) -> Grouping:
    """Bins with equally many designs; a parameter of words or few values goes by level."""
    if values.dtype != float or len(np.unique(values)) <= max(FEW, bins):
        return by_level(column, values)
    edges = np.unique(np.quantile(values, np.linspace(0.0, 1.0, bins + 1)))
    codes = np.clip(np.searchsorted(edges, values, side="right") - 1, 0, len(edges) - 2)
    count = np.bincount(codes, minlength=len(edges) - 1)
    middles = np.bincount(codes, values, minlength=len(count)) / np.maximum(count, 1)
    labels = tuple(f"{shown(a)} to {shown(b)}" for a, b in pairwise(edges))
    return Grouping(codes, labels, middles, edges)


def bins_for(designs: int) -> int:
    """How many bins so many designs allow: about 16 designs in each, two to eight bins."""
    return int(np.clip(designs // 16, 2, 8))


def shown(value: Any) -> str:
    """A value of a parameter in words, numbers with up to four significant digits."""
    if isinstance(value, bool | np.bool_):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.4g}"
    return str(value)
