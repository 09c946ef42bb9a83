"""Effects sorted by size: bars between the lowest and the highest mean of every parameter."""

from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from frames.picture.chart_style import (
    BLUE,
    HATCH,
    ORANGE,
    REST,
    SMALL_PT,
    TEXT_PT,
    WIDTH_MM,
    fold,
    new_figure,
)
from frames.picture.charts import TornadoBar, TornadoSheet
from frames.picture.colour import INK

_BAR_MM = 10.0
_LABEL_MM = 48.0
_MARGIN = 0.22  # of the longest bar, for what is written at the ends


def compose_tornado(sheet: TornadoSheet) -> Figure:
    """The whole page."""
    height = 46.0 + _BAR_MM * len(sheet.bars)
    figure = new_figure(sheet.title, sheet.note, WIDTH_MM, height)
    axes = figure.add_subplot()
    for place, bar in enumerate(sheet.bars):
        _bar(axes, bar, place, sheet.mean)
    axes.axvline(sheet.mean, color=INK, linewidth=0.9, linestyle=(0, (4, 3)), zorder=4)
    low, high = min(b.low for b in sheet.bars), max(b.high for b in sheet.bars)
    beside = _MARGIN * (high - low or 1.0)
    axes.set_xlim(low - beside, high + beside)
    axes.set_ylim(len(sheet.bars) - 0.4, -0.6)
    axes.set_yticks(range(len(sheet.bars)), [fold(b.label, _LABEL_MM, TEXT_PT) for b in sheet.bars])
    axes.tick_params(axis="y", length=0, labelsize=TEXT_PT)
    axes.set_xlabel(fold(sheet.value, 110.0, TEXT_PT))
    _key(axes, sheet)
    return figure


def _bar(axes: Axes, bar: TornadoBar, place: int, mean: float) -> None:
    """Two parts that meet at the mean of all designs."""
    middle = min(max(mean, bar.low), bar.high)
    for start, end, upper in ((bar.low, middle, False), (middle, bar.high, True)):
        axes.barh(
            place, end - start, left=start, height=0.62, edgecolor=INK, linewidth=0.6, zorder=3,
            **_look(None if bar.rises is None else bar.rises == upper),
        )  # fmt: skip
    for at, value, across, shift in (
        (bar.low, bar.at_low, "right", -3.0),
        (bar.high, bar.at_high, "left", 3.0),
    ):
        axes.annotate(
            fold(value, 20.0, SMALL_PT), (at, place), (shift, 0.0), textcoords="offset points",
            ha=across, va="center", fontsize=SMALL_PT, zorder=5,
        )  # fmt: skip


def _look(larger: bool | None) -> dict[str, Any]:
    if larger is None:
        return {"facecolor": REST}
    return {"facecolor": ORANGE, "hatch": HATCH} if larger else {"facecolor": BLUE}


def _key(axes: Axes, sheet: TornadoSheet) -> None:
    kinds = {b.rises is None for b in sheet.bars}
    entries: list[tuple[str, bool | None]] = []
    if False in kinds:
        entries += [("smaller value of the parameter", False), ("larger value", True)]
    if True in kinds:
        entries.append(("values in words", None))
    patches = [Patch(edgecolor=INK, linewidth=0.6, label=t, **_look(k)) for t, k in entries]
    axes.legend(  # between title and bars, whatever the length of the title
        handles=patches, loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=3, frameon=False,
        borderaxespad=0.2,
    )  # fmt: skip
