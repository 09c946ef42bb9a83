"""Sobol indices as bars with their bounds."""

from matplotlib.figure import Figure

from frames.picture.chart_style import (
    BLUE,
    HATCH,
    ORANGE,
    TEXT_PT,
    WIDTH_MM,
    fold,
    new_figure,
)
from frames.picture.charts import IndexSheet
from frames.picture.colour import INK

_BAR_MM = 12.0
_LABEL_MM = 52.0
_THICK = 0.36


def compose_indices(sheet: IndexSheet) -> Figure:
    """The whole page."""
    figure = new_figure(sheet.title, sheet.note, WIDTH_MM, 40.0 + _BAR_MM * len(sheet.bars))
    axes = figure.add_subplot()
    looks = (
        ("by itself (first order)", -0.5 * _THICK, {"facecolor": BLUE}),
        ("with all others (total)", 0.5 * _THICK, {"facecolor": ORANGE, "hatch": HATCH}),
    )
    places = list(range(len(sheet.bars)))
    for k, (label, shift, look) in enumerate(looks):
        values = [(b.first, b.total)[k] for b in sheet.bars]
        reach = [
            [max(v - low, 0.0) for v, low, _ in values],
            [max(h - v, 0.0) for v, _, h in values],
        ]
        axes.barh(
            [p + shift for p in places], [v for v, _, _ in values], height=_THICK, xerr=reach,
            label=label, edgecolor=INK, linewidth=0.6,
            error_kw={"ecolor": INK, "elinewidth": 1.0, "capsize": 2.5}, **look,  # type: ignore[arg-type]
        )  # fmt: skip
    axes.spines["left"].set_visible(False)
    axes.axvline(0.0, color=INK, linewidth=0.7)
    ends = [v for b in sheet.bars for v in (*b.first, *b.total)]
    axes.set_xlim(min(0.0, *ends) - 0.01, max(1.0, *ends) + 0.01)
    axes.set_ylim(len(sheet.bars) - 0.4, -0.6)
    axes.set_yticks(places, [fold(b.label, _LABEL_MM, TEXT_PT) for b in sheet.bars])
    axes.tick_params(axis="y", length=0, labelsize=TEXT_PT)
    axes.set_xlabel("share of the variance")
    figure.legend(loc="outside upper right", ncols=2, frameon=False)
    return figure
