"""Main effects, interactions and indices of one output."""

from collections.abc import Sequence
from itertools import combinations, pairwise

import numpy as np

from frames.studytable.columns import SALTELLI, Columns
from frames.studytable.grouping import Grouping, bins_for, by_bin, by_level
from frames.studytable.parts import Index, Interaction, Level, MainEffect, OutputEffects
from frames.studytable.sobol import sobol
from frames.studytable.variance import Variance, analysed, one_way, pair

_SAME = 1e-9
"""An output whose values differ by less than this part of the largest does not change."""
_FEWEST = 8
_CLEAR = 2.0  # standard errors of a difference between two bins
_CHANCE = 0.05
_IN_A_CELL = 5  # designs of a sample for each pair of bins


def output_effects(columns: Columns, j: int) -> OutputEffects:
    """Everything that the table says of how the parameters move output j."""
    rows = plain_rows(columns)
    y = columns.y[rows, j]
    known = np.isfinite(y)
    y = y[known]
    output = columns.outputs[j]
    missing = int(np.count_nonzero(~known))
    numbers = _numbers(y)
    sampled = not is_grid(columns)
    groupings = [
        _grouping(columns, i, rows[known], sampled) for i in range(len(columns.parameters))
    ]
    moving = [i for i, g in enumerate(groupings) if g.size > 1]
    found = None
    why_not = _why_not(columns, y, moving, sampled)
    if not why_not:
        found = analysed([groupings[i] for i in moving], y)
        if not found.separable:
            why_not = "parameters change together, so that their effects cannot be told apart"
    head = (output.name, output.label, output.unit, len(y), missing, *numbers)
    indices, samples, dropped = _indices(columns, j) if _changes(y) else ((), 0, 0)
    if found is None or why_not:
        none: tuple[()] = ()
        return OutputEffects(*head, "none", why_not, none, none, indices, samples, dropped)
    chosen = [groupings[i] for i in moving]
    names = [columns.parameters[i].name for i in moving]
    main = _main(names, chosen, found, y, sampled)
    interactions = _interactions(names, chosen, y, sampled)
    kind = "bins" if sampled else "grid"
    return OutputEffects(*head, kind, "", main, interactions, indices, samples, dropped)


def plain_rows(columns: Columns) -> np.ndarray:
    """Designs drawn independently of each other: of a saltelli study A and B only."""
    n = len(columns.y)
    if columns.method == SALTELLI:
        n = 2 * n // (len(columns.parameters) + 2)
    return np.arange(n)


def is_grid(columns: Columns) -> bool:
    """Every combination of the values that occur is there equally often."""
    if columns.method not in ("grid", "list"):
        return False
    groups = [by_level(c, x) for c, x in zip(columns.parameters, columns.x, strict=True)]
    cells = int(np.prod([g.size for g in groups], dtype=float))
    if cells == 0 or len(columns.y) % cells:
        return False
    code = np.ravel_multi_index([g.codes for g in groups], [g.size for g in groups])
    return bool(np.all(np.bincount(code, minlength=cells) == len(columns.y) // cells))


def _grouping(columns: Columns, i: int, rows: np.ndarray, sampled: bool) -> Grouping:
    column, values = columns.parameters[i], columns.x[i][rows]
    return by_bin(column, values, bins_for(len(rows))) if sampled else by_level(column, values)


def _changes(y: np.ndarray) -> bool:
    return len(y) > 0 and float(np.ptp(y)) > _SAME * float(np.abs(y).max())


def _why_not(columns: Columns, y: np.ndarray, moving: Sequence[int], sampled: bool) -> str:
    """Why there are no effects, "" when there are."""
    if len(y) == 0:
        return "no design has a value"
    if not _changes(y):
        return "it is the same in all designs"
    if columns.method == "list" and sampled:
        return (
            "the designs are a list in which parameters change together; effects need a grid or "
            "a sample"
        )
    if not moving:
        return "no parameter changes"
    if sampled and len(y) < _FEWEST * (len(moving) + 1):
        return (
            f"{len(y)} sampled designs are too few for {len(moving)} parameters; "
            f"{_FEWEST * (len(moving) + 1)} are the least"
        )
    return ""


def _numbers(y: np.ndarray) -> tuple[float | None, float | None, float | None, float | None]:
    if len(y) == 0:
        return None, None, None, None
    return float(y.min()), float(y.max()), float(y.mean()), float(y.std())


def _main(
    names: Sequence[str],
    groupings: Sequence[Grouping],
    found: Variance,
    y: np.ndarray,
    sampled: bool,
) -> tuple[MainEffect, ...]:
    effects = []
    for i, (name, grouping) in enumerate(zip(names, groupings, strict=True)):
        share, chance = float(found.mains[i] / found.total), 0.0
        means = found.levels[i]
        if sampled:
            share, chance = one_way(grouping, y)
            count = np.bincount(grouping.codes, minlength=grouping.size)
            means = np.bincount(grouping.codes, y, minlength=grouping.size) / count
        effects.append(_main_effect(name, grouping, means, y, share, sampled, chance))
    return tuple(sorted(effects, key=lambda e: -e.share))


def _main_effect(
    name: str,
    grouping: Grouping,
    means: np.ndarray,
    y: np.ndarray,
    share: float,
    sampled: bool,
    chance: float,
) -> MainEffect:
    levels = []
    for k, label in enumerate(grouping.labels):
        here = y[grouping.codes == k]
        value = None if grouping.middles is None else float(grouping.middles[k])
        error = float(here.std(ddof=1) / np.sqrt(len(here))) if len(here) > 1 else None
        mean = float(means[k]) if len(here) else None
        levels.append(Level(label, value, mean, error, len(here)))
    low, high = int(np.nanargmin(means)), int(np.nanargmax(means))
    size = float(means[high] - means[low])
    falls = grouping.middles is not None and high < low
    known = [(v.mean, v.error or 0.0) for v in levels if v.mean is not None]
    least = [
        _CLEAR * float(np.hypot(a[1], b[1])) if sampled else _SAME * abs(a[0])
        for a, b in pairwise(known)
    ]
    steps = np.diff([mean for mean, _ in known])
    steady = not (np.any(steps > least) and np.any(steps < -np.array(least)))
    return MainEffect(
        name, tuple(levels), -size if falls else size, bool(steady), share, low, high,
        chance > _CHANCE,
    )  # fmt: skip


def _interactions(
    names: Sequence[str],
    groupings: Sequence[Grouping],
    y: np.ndarray,
    sampled: bool,
) -> tuple[Interaction, ...]:
    """Of all pairs, largest first; for a sample in coarser bins, so that cells are filled."""
    if sampled:
        most = int(np.sqrt(len(y) / _IN_A_CELL))
        if most < 2:
            return ()
        groupings = [_coarser(g, min(4, most)) for g in groupings]
    found = []
    for i, j in combinations(range(len(groupings)), 2):
        share, chance = pair(groupings, i, j, y, sampled)
        pairs = len(groupings) * (len(groupings) - 1) // 2
        found.append(Interaction(names[i], names[j], share, sampled and chance > _CHANCE / pairs))
    return tuple(sorted(found, key=lambda e: -e.share))


def _coarser(grouping: Grouping, bins: int) -> Grouping:
    """Neighbouring bins put together; levels stay as they are."""
    if grouping.size <= bins or not grouping.binned:
        return grouping
    codes = grouping.codes * bins // grouping.size
    return Grouping(codes, tuple(str(k) for k in range(bins)), None)


def _indices(columns: Columns, j: int) -> tuple[tuple[Index, ...], int, int]:
    if columns.method != SALTELLI:
        return (), 0, 0
    parameters = columns.parameters
    try:
        found = sobol(columns.y[:, j], len(parameters), columns.seed)
    except ValueError:  # too few base samples are complete
        base = len(columns.y) // (len(parameters) + 2)
        return (), 0, base
    rows = np.column_stack(
        [found.first, found.first_low, found.first_high, found.total, found.total_low,
         found.total_high]
    )  # fmt: skip
    indices = [Index(p.name, *(float(v) for v in r)) for p, r in zip(parameters, rows, strict=True)]
    return tuple(sorted(indices, key=lambda i: -i.total)), found.kept, found.dropped
