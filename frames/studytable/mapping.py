"""An output over two parameters: its mean in every cell of their levels or bins."""

from dataclasses import dataclass

import numpy as np

from frames.studytable.columns import Column, Columns
from frames.studytable.effects_of import is_grid, plain_rows
from frames.studytable.grouping import Grouping, by_bin, by_level

_IN_A_CELL = 8  # designs of a sample for each cell


@dataclass(frozen=True)
class Map:
    """across, up : parameters; x, y : their groups. mean : (n_y, n_x), NaN where no design has a
    value; designs, missing : (n_y, n_x) how many there are, and how many of them have no value."""

    across: Column
    up: Column
    output: Column
    x: Grouping
    y: Grouping
    mean: np.ndarray
    designs: np.ndarray
    missing: np.ndarray


def map_of(columns: Columns, across: int, up: int, output: int) -> Map:
    """Numbers of the parameters and of the output in ``columns``; of a full grid by level, of a
    sample in bins. The mean in a cell is over all values of the other parameters."""
    rows = plain_rows(columns)
    values = columns.y[rows, output]
    x, y = (_grouped(columns, i, rows) for i in (across, up))
    cell = y.codes * x.size + x.codes
    shape, cells = (y.size, x.size), x.size * y.size
    known = np.isfinite(values)
    designs = np.bincount(cell, minlength=cells)
    counted = np.bincount(cell[known], minlength=cells)
    sums = np.bincount(cell[known], values[known], minlength=cells)
    mean = np.where(counted > 0, sums / np.maximum(counted, 1), np.nan)
    return Map(
        columns.parameters[across], columns.parameters[up], columns.outputs[output], x, y,
        mean.reshape(shape), designs.reshape(shape), (designs - counted).reshape(shape),
    )  # fmt: skip


def _grouped(columns: Columns, i: int, rows: np.ndarray) -> Grouping:
    column, values = columns.parameters[i], columns.x[i][rows]
    if is_grid(columns):
        return by_level(column, values)
    bins = int(np.clip(np.sqrt(len(rows) / _IN_A_CELL), 2, 8))
    return by_bin(column, values, bins)
