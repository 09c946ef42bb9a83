"""Every output over every parameter, and outputs over each other."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from frames.picture.chart_style import (
    BLUE,
    LANDSCAPE_MM,
    LANDSCAPE_TALLEST_MM,
    LEAST_PT,
    REST,
    fold,
    new_figure,
    set_ticks,
)
from frames.picture.charts import Axis, ScatterSheet
from frames.picture.colour import INK
from frames.picture.scene import Floats

_JITTER = 0.18


def compose_scatter(sheet: ScatterSheet) -> Figure:
    """The whole page, lying."""
    columns = (*sheet.columns, *sheet.rows)
    rows, wide = len(sheet.rows), (LANDSCAPE_MM - 28.0) / len(columns)
    height = min(LANDSCAPE_TALLEST_MM, 40.0 + rows * max(wide, 20.0))
    figure = new_figure(sheet.title, sheet.note, LANDSCAPE_MM, height)
    grid = figure.subplots(rows, len(columns), squeeze=False)
    figure.get_layout_engine().set(w_pad=0.04, h_pad=0.03, wspace=0.01, hspace=0.02)  # type: ignore[union-attr, call-arg]
    for r, row in enumerate(sheet.rows):
        for c, column in enumerate(columns):
            axes = grid[r, c]
            other = c - len(sheet.columns)
            if other < 0 or other < r:
                _points(axes, column, row)
            elif other == r:
                _histogram(axes, row)
            else:
                _correlation(axes, column, row)
            _edges(axes, column, row, r == rows - 1, c == 0, wide)
            if r == rows - 1:
                axes.set_xlabel(fold(column.label, wide - 1.0, LEAST_PT), fontsize=LEAST_PT)
        grid[r, 0].set_ylabel(fold(row.label, 100.0 / rows, LEAST_PT), fontsize=LEAST_PT)
    return figure


def _points(axes: Axes, x: Axis, y: Axis) -> None:
    here = np.isfinite(x.at) & np.isfinite(y.at)
    axes.plot(
        _spread(x)[here], y.at[here], linestyle="none", marker=".", markersize=_size(here.sum()),
        markeredgewidth=0.0, color=BLUE, alpha=0.55, rasterized=True,
    )  # fmt: skip


def _size(dots: int) -> float:
    """Points; few dots are drawn larger."""
    return float(np.clip(2.0 * np.sqrt(1500.0 / max(dots, 1)), 2.0, 5.0))


def _spread(axis: Axis) -> Floats:
    """Words a little beside each other, always in the same way."""
    if axis.words is None:
        return axis.at
    shift = np.random.default_rng(0).uniform(-_JITTER, _JITTER, len(axis.at))
    return np.asarray(axis.at + shift)


def _histogram(axes: Axes, row: Axis) -> None:
    known = row.at[np.isfinite(row.at)]
    axes.hist(known, bins=12, color=REST, edgecolor=INK, linewidth=0.4)


def _correlation(axes: Axes, x: Axis, y: Axis) -> None:
    here = np.isfinite(x.at) & np.isfinite(y.at)
    a, b = x.at[here], y.at[here]
    moving = here.sum() > 2 and np.ptp(a) > 0.0 and np.ptp(b) > 0.0
    text = f"r\n{np.corrcoef(a, b)[0, 1]:.2f}".replace("-", "−") if moving else "–"
    axes.text(0.5, 0.5, text, transform=axes.transAxes, ha="center", va="center", fontsize=LEAST_PT)


def _edges(axes: Axes, x: Axis, y: Axis, last: bool, first: bool, wide: float) -> None:
    """Numbers at the outer sides only, two on each."""
    set_ticks(axes, "x", x, wide, most=2)
    axes.tick_params(labelsize=LEAST_PT, length=1.5, pad=1.0)
    if x.words is not None:
        axes.set_xticklabels(x.words, rotation=90)
    if last:
        axes.tick_params(axis="x", labelrotation=90)
    else:
        axes.tick_params(labelbottom=False)
    if first:
        set_ticks(axes, "y", y, wide, most=3)
    else:
        axes.set_yticks([])
