"""How far a frame is within its targets: the smallest margin, as a share of the bound.

    margin = (value - at_least) / |at_least|     or     (at_most - value) / |at_most|

per bound; of a bound of 0 the divisor is 1 in its unit, as in ``frames.outputs``. What cannot be
solved has the margin -∞.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fem.algebra import Array
from frames.bulk import evaluate
from frames.casefile import Case, Target
from frames.mending.answers import Asked, asked_of
from frames.outputs import Output


@dataclass(frozen=True)
class Bounds:
    """All bounds of a case's targets. asked: quantities and loads, each once; of every bound
    column (b,): the quantity it is on, way (b,): +1 at least, -1 at most, bound (b,)."""

    asked: tuple[Asked, ...]
    column: Array
    way: Array
    bound: Array

    @property
    def size(self) -> Array:
        """(b,) what margins are divided by."""
        return np.where(self.bound == 0.0, 1.0, np.abs(self.bound))

    @property
    def outputs(self) -> tuple[Output, ...]:
        """What has to be evaluated."""
        return tuple(Output(*a) for a in self.asked)

    def margins(self, values: Array) -> Array:
        """(..., b) from values (..., k) of what is asked for; -∞ where a value is missing."""
        found = self.way * (values[..., self.column] - self.bound) / self.size
        return np.where(np.isfinite(found), found, -np.inf)

    def worst(self, values: Array) -> Array:
        """(...) smallest margins."""
        return np.asarray(self.margins(values).min(axis=-1))


def bounds_of(targets: Sequence[Target]) -> Bounds:
    """At least one target."""
    asked = asked_of(targets)
    rows = [
        (asked.index((t.quantity, t.load)), way, bound)
        for t in targets
        for way, bound in ((1.0, t.at_least), (-1.0, t.at_most))
        if bound is not None
    ]
    column, way, bound = zip(*rows, strict=True)
    return Bounds(asked, np.array(column), np.array(way), np.array(bound, dtype=float))


def solved(cases: Sequence[Case], bounds: Bounds) -> Array:
    """(n, k) values of what is asked for, NaN for frames that cannot be solved."""
    rows = evaluate(cases, bounds.outputs)
    return np.array(
        [[np.nan if v is None else v for v in row.values] for row in rows], dtype=float
    ).reshape(-1, len(bounds.asked))
