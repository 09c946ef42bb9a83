"""An output over two parameters: contours with labelled lines, or cells with their numbers."""

import numpy as np
from matplotlib import colormaps, patheffects
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from matplotlib.ticker import MaxNLocator

from frames.picture.chart_style import (
    HATCH,
    LEAST_PT,
    MAP,
    SMALL_PT,
    TEXT_PT,
    WIDTH_MM,
    fold,
    new_figure,
    said,
    set_ticks,
)
from frames.picture.charts import MapSheet
from frames.picture.colour import INK, PALE_INK
from frames.picture.scene import Floats

_HEIGHT_MM = 120.0
_ROOM_MM = 115.0  # of the axes, about
_DARK = 0.45  # letters are white on colours darker than this
_LINES = 8
_EDGE = 0.03  # of the axes: values of lines nearer to their ends would be cut


def compose_map(sheet: MapSheet) -> Figure:
    """The whole page."""
    figure = new_figure(sheet.title, sheet.note, WIDTH_MM, _HEIGHT_MM)
    axes = figure.add_subplot()
    axes.set_xlabel(fold(sheet.x.label, _ROOM_MM, TEXT_PT))
    axes.set_ylabel(fold(sheet.y.label, 80.0, TEXT_PT))
    known = sheet.mean[np.isfinite(sheet.mean)]
    low, high = (float(known.min()), float(known.max())) if known.size else (0.0, 1.0)
    if high <= low:
        low, high = low - 0.5 * (abs(low) or 1.0), low + 0.5 * (abs(low) or 1.0)
    if sheet.smooth and known.size and np.ptp(known) > 0.0:
        colours = _contours(axes, sheet)
    else:
        colours = _cells(axes, sheet, Normalize(low, high))
    bar = figure.colorbar(colours, ax=axes, pad=0.02)
    bar.set_label(fold(sheet.value, 80.0, TEXT_PT))
    bar.outline.set_linewidth(0.5)
    return figure


def _contours(axes: Axes, sheet: MapSheet) -> ScalarMappable:
    x, y = sheet.x.at, sheet.y.at
    axes.set_xlim(x.min(), x.max())
    axes.set_ylim(y.min(), y.max())
    if not np.isfinite(sheet.mean).all():
        axes.add_patch(_hatched((0.0, 0.0), 1.0, 1.0, transform=axes.transAxes))
    mean = np.ma.masked_invalid(sheet.mean)
    levels = MaxNLocator(_LINES).tick_values(float(mean.min()), float(mean.max()))
    filled = axes.contourf(x, y, mean, levels, cmap=MAP)
    lines = axes.contour(x, y, mean, levels, colors=[INK], linewidths=0.8)
    halo: list[patheffects.AbstractPathEffect] = [
        patheffects.withStroke(linewidth=2.0, foreground="white")
    ]
    lines.set_path_effects(halo)
    for label in axes.clabel(lines, fmt=_line_value, fontsize=SMALL_PT):
        label.set_path_effects(halo)
        at = axes.transLimits.transform(label.get_position())
        label.set_visible(bool(np.all((at > _EDGE) & (at < 1.0 - _EDGE))))
    across, up = np.meshgrid(x, y)
    here = np.isfinite(sheet.mean)
    axes.plot(
        across[here], up[here], linestyle="none", marker=".", markersize=3.5, color=INK,
        markeredgecolor="white", markeredgewidth=0.3, clip_on=False, zorder=5,
    )  # fmt: skip
    return filled


def _line_value(value: float) -> str:
    return f"{value:.6g}".replace("-", "−")


def _cells(axes: Axes, sheet: MapSheet, scale: Normalize) -> ScalarMappable:
    map_ = colormaps[MAP]
    rows, columns = sheet.mean.shape
    set_ticks(axes, "x", sheet.x, _ROOM_MM)
    set_ticks(axes, "y", sheet.y, 24.0)
    axes.tick_params(length=0)
    wide, tall = _ROOM_MM / columns, 88.0 / rows
    for r in range(rows):
        for c in range(columns):
            corner = (c - 0.5, r - 0.5)
            if not np.isfinite(sheet.mean[r, c]):
                if sheet.designs[r, c]:
                    axes.add_patch(_hatched(corner, 1.0, 1.0))
                continue
            colour = map_(scale(sheet.mean[r, c]))
            axes.add_patch(
                Rectangle(corner, 1.0, 1.0, facecolor=colour, edgecolor="white", linewidth=0.8)
            )
            if wide >= 9.0 and tall >= 4.0:
                _write(axes, sheet, r, c, _on(colour), tall >= 8.0)
    return ScalarMappable(scale, map_)


def _write(axes: Axes, sheet: MapSheet, r: int, c: int, colour: str, below: bool) -> None:
    """The number of a cell, and how many designs it stands for when some are missing."""
    text = said(float(sheet.mean[r, c]))
    axes.text(c, r, text, color=colour, fontsize=TEXT_PT, ha="center", va="center")
    if below and sheet.missing[r, c]:
        all_ = int(sheet.designs[r, c])
        count = f"{all_ - int(sheet.missing[r, c])} of {all_}"
        axes.annotate(
            count, (c, r), (0.0, -8.0), textcoords="offset points", color=colour,
            fontsize=LEAST_PT, ha="center", va="center",
        )  # fmt: skip


def _on(colour: tuple[float, ...] | Floats) -> str:
    lightness = float(np.dot(colour[:3], (0.299, 0.587, 0.114)))
    return "white" if lightness < _DARK else "black"


def _hatched(corner: tuple[float, float], wide: float, tall: float, **where: object) -> Rectangle:
    return Rectangle(
        corner, wide, tall, facecolor="white", edgecolor=PALE_INK, hatch=HATCH, linewidth=0.0,
        zorder=0, **where,  # type: ignore[arg-type]
    )  # fmt: skip
