"""The Pareto front: all designs, and those that no other beats, by pairs of aims."""

from itertools import combinations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from frames.picture.bars import COLOURS
from frames.picture.chart_style import (
    MAP,
    MARKS,
    REST,
    TEXT_PT,
    WIDTH_MM,
    fold,
    new_figure,
    said,
    set_ticks,
)
from frames.picture.charts import Axis, FrontSheet
from frames.picture.colour import INK
from frames.picture.scene import Floats

_COLUMNS = 2
_PANEL_MM = 72.0
_MOST_PAIRS = 6
_FEW = 5
"""So many values of a third aim get a mark and a colour each, more a scale of colours."""


def compose_front(sheet: FrontSheet) -> Figure:
    """The whole page; with three aims the third is told by marks or colours."""
    pairs = list(combinations(range(len(sheet.labels)), 2))[:_MOST_PAIRS]
    across = min(_COLUMNS, len(pairs))
    rows = -(-len(pairs) // across)
    width = WIDTH_MM if across > 1 else 120.0
    figure = new_figure(sheet.title, sheet.note, width, 30.0 + rows * _PANEL_MM)
    grid = figure.subplots(rows, across, squeeze=False)
    for number, axes in enumerate(grid.ravel()):
        if number >= len(pairs):
            axes.set_visible(False)
            continue
        y, x = pairs[number]
        others = [k for k in range(len(sheet.labels)) if k not in (x, y)]
        _panel(figure, axes, sheet, x, y, others[0] if len(others) == 1 else None)
    return figure


def _panel(
    figure: Figure, axes: Axes, sheet: FrontSheet, x: int, y: int, third: int | None
) -> None:
    at, on = sheet.values, sheet.on.astype(bool)
    axes.plot(
        at[~on, x], at[~on, y], linestyle="none", marker=".", markersize=3.0, color=REST,
        markeredgewidth=0.0, zorder=1, rasterized=True,
    )  # fmt: skip
    axes.set_xlabel(fold(_aim(sheet, x), 62.0, TEXT_PT))
    axes.set_ylabel(fold(_aim(sheet, y), 56.0, TEXT_PT))
    set_ticks(axes, "x", Axis("", at[:, x]), 70.0, most=5)
    set_ticks(axes, "y", Axis("", at[:, y]), 60.0, most=6)
    front = at[on]
    if third is None:
        if len(sheet.labels) == 2:
            _stairs(axes, front[:, [x, y]], sheet.more[x])
        _marks(axes, front[:, x], front[:, y], MARKS[3], COLOURS[1])
    elif len(np.unique(front[:, third])) <= _FEW:
        _kinds(axes, front, x, y, third, sheet.labels[third])
    else:
        points = axes.scatter(
            front[:, x], front[:, y], c=front[:, third], cmap=MAP, marker=MARKS[3], s=22.0,
            edgecolors=[INK], linewidths=0.5, zorder=3,
        )  # fmt: skip
        bar = figure.colorbar(points, ax=axes, pad=0.02)
        bar.set_label(fold(sheet.labels[third], 56.0, TEXT_PT))


def _aim(sheet: FrontSheet, i: int) -> str:
    return f"{sheet.labels[i]}, {'more' if sheet.more[i] else 'less'} is better"


def _marks(axes: Axes, x: Floats, y: Floats, mark: str, colour: tuple[float, ...]) -> None:
    axes.plot(
        x, y, linestyle="none", marker=mark, markersize=4.5, markerfacecolor=colour,
        markeredgecolor=INK, markeredgewidth=0.5, zorder=3,
    )  # fmt: skip


def _kinds(axes: Axes, front: Floats, x: int, y: int, third: int, label: str) -> None:
    entries = []
    for k, value in enumerate(np.unique(front[:, third])):
        here = front[front[:, third] == value]
        mark, colour = MARKS[k], COLOURS[k]
        _marks(axes, here[:, x], here[:, y], mark, colour)
        entries.append(
            Line2D([], [], linestyle="none", marker=mark, markersize=4.5, markerfacecolor=colour,
                   markeredgecolor=INK, markeredgewidth=0.5, label=said(float(value)))
        )  # fmt: skip
    axes.legend(
        handles=entries, title=fold(label, 56.0, TEXT_PT), title_fontsize=TEXT_PT, frameon=False,
        loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=len(entries), handletextpad=0.2,
        columnspacing=1.0,
    )  # fmt: skip


def _stairs(axes: Axes, front: Floats, more: bool) -> None:
    """The edge of what has been reached: along it no aim gains without the other losing."""
    front = front[np.argsort(front[:, 0])]
    axes.step(
        front[:, 0], front[:, 1], where="pre" if more else "post", color=INK, linewidth=0.8,
        zorder=2,
    )  # fmt: skip
