"""Main effects: a panel for each parameter, the mean of an output at its levels."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from frames.picture.chart_style import (
    BLUE,
    SMALL_PT,
    TEXT_PT,
    WIDTH_MM,
    fold,
    height_of,
    new_figure,
    set_ticks,
)
from frames.picture.charts import EffectPanel, EffectSheet
from frames.picture.colour import PALE_INK

_COLUMNS = 3
_PANEL_MM = 34.0  # height without its labels
_ROOM_MM = 42.0


def compose_effects(sheet: EffectSheet) -> Figure:
    """The whole page; panels share their y axis."""
    across = min(_COLUMNS, max(2, len(sheet.panels)))
    rows = -(-len(sheet.panels) // across)
    labels = [fold(p.x.label, _ROOM_MM, TEXT_PT) for p in sheet.panels]
    height = 22.0 + rows * (_PANEL_MM + 10.0 + height_of(labels, TEXT_PT))
    figure = new_figure(sheet.title, sheet.note, WIDTH_MM, height)
    grid = figure.subplots(rows, across, sharey=True, squeeze=False)
    for number, axes in enumerate(grid.ravel()):
        if number >= len(sheet.panels):
            axes.set_visible(False)
            continue
        _panel(axes, sheet.panels[number], sheet.mean)
        axes.set_xlabel(labels[number])
    for row in grid[:, 0]:
        row.set_ylabel(fold(sheet.value, _PANEL_MM, TEXT_PT))
    return figure


def _panel(axes: Axes, panel: EffectPanel, mean: float) -> None:
    axes.axhline(mean, color=PALE_INK, linewidth=0.8, linestyle=(0, (4, 3)), zorder=1)
    joined = panel.x.words is None
    axes.errorbar(
        panel.x.at, panel.means, np.nan_to_num(panel.errors), color=BLUE,
        marker="o" if joined else "s", markersize=4.0, capsize=2.5, elinewidth=0.9,
        linestyle="-" if joined else "none", zorder=3,
    )  # fmt: skip
    set_ticks(axes, "x", panel.x, _ROOM_MM)
    axes.set_title(panel.remark, fontsize=SMALL_PT, loc="right", pad=2.0, color=PALE_INK)
