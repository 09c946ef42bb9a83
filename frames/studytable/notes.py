"""What the way designs were chosen allows to say, in words."""

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np

from frames.studytable.columns import GRID, LIST, SALTELLI, Columns
from frames.studytable.effects_of import plain_rows
from frames.studytable.parts import OutputEffects

_CORRELATED = 0.3
"""Correlations from this on are named, when chance alone does not give them."""


def notes_of(columns: Columns, outputs: Sequence[OutputEffects]) -> Iterator[str]:
    """Sentences, those that matter most first."""
    kinds = {o.kind for o in outputs}
    if "grid" in kinds:
        yield (
            "Every combination of the levels was asked for: an effect is the difference between "
            "the highest and the lowest mean over all levels of the other parameters, a share is "
            "the part of the variance (analysis of variance); shares belong to these levels."
        )
    if any(o.kind == "grid" and o.missing for o in outputs):
        yield (
            "Designs without values leave holes in the grid: means and shares are then by least "
            "squares with the other parameters held even, and shares no longer add up to 100 %."
        )
    if "bins" in kinds:
        yield from _sampled(columns)
    if columns.method == SALTELLI:
        if any(o.dropped for o in outputs):
            most = max(o.dropped for o in outputs)
            base = most + min(o.samples for o in outputs)
            yield (
                f"{most} of {base} base samples were dropped whole because one of their designs "
                "has no value: the indices hold for the designs that have one."
            )
    elif columns.method in (GRID, LIST):
        yield (
            "Sobol indices over whole ranges of values need a study with the method "
            '"saltelli"; a grid or list gives none.'
        )
    else:
        yield 'Sobol indices with bounds need the method "saltelli".'
    if columns.method != GRID:
        yield from _correlations(columns)


def _sampled(columns: Columns) -> Iterator[str]:
    of = " in the two independent samples" if columns.method == SALTELLI else ""
    yield (
        f"Designs are sampled: an effect is between bins with equally many designs{of}, a share is "
        "an estimate with the part of chance taken off (it can come out a little below zero). "
        "Interactions are found between coarse bins: small ones are not seen."
    )


def _correlations(columns: Columns) -> Iterator[str]:
    """Pairs of parameters that rise together."""
    rows = plain_rows(columns)
    numbers = [i for i, x in enumerate(columns.x) if x.dtype == float and np.ptp(x[rows]) > 0.0]
    least = max(_CORRELATED, 3.0 / np.sqrt(max(len(rows), 1)))
    named = []
    for i, j in combinations(numbers, 2):
        r = float(np.corrcoef(columns.x[i][rows], columns.x[j][rows])[0, 1])
        if abs(r) > least:
            first, second = columns.parameters[i], columns.parameters[j]
            named.append(f'"{first.name}" and "{second.name}" ({r:.2f})')
    if named:
        yield (
            f"Parameters change together (correlation): {', '.join(named)}. What is due to one of "
            "them shows in the effect and share of the other too."
        )
