"""Curves side by side as a vector drawing (SVG).

Colours are those of Okabe and Ito (2008, from memory), made to be told apart by the colour-blind;
marks and line kinds say the same in print without colour.  The drawing carries no date and no
random name, so that the same numbers give the same file.
"""

import io
from typing import Any

from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from frames.picture.bars import COLOURS
from frames.picture.colour import INK, PALE_INK
from frames.picture.graph import Curve, Graph, Panel
from frames.picture.words import FAMILY

WIDTH, HEIGHT = 3.9, 3.1  # inches, of one panel
LEGEND = 2.0  # inches beside a panel that stands alone
MARKS = "osD^vPX*"
MOST_TICKS = 8
KEY: dict[str, Any] = {
    "fontsize": 8.0,
    "frameon": True,
    "framealpha": 0.85,
    "edgecolor": "none",
}
OTHERS = "Verdana, Arial, sans-serif"  # nearly as wide, where a reader has no DejaVu Sans
STYLE: Any = {
    "svg.hashsalt": "tautring",
    "svg.fonttype": "none",
    "font.family": FAMILY,
    "font.size": 9.0,
    "axes.edgecolor": PALE_INK,
    "axes.labelcolor": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "text.color": INK,
    "path.simplify": False,
}


def draw_curves(graph: Graph) -> str:
    """Text of the SVG file."""
    alone = len(graph.panels) == 1
    with rc_context(STYLE):
        width = WIDTH * len(graph.panels) + (LEGEND if alone else 0.0)
        figure = Figure(figsize=(width, HEIGHT), layout="constrained")
        FigureCanvasSVG(figure)
        row = figure.subplots(1, len(graph.panels), squeeze=False)[0]
        for axes, panel in zip(row, graph.panels, strict=True):
            _draw(axes, panel)
            if alone:
                figure.legend(loc="outside right upper", **KEY)
            elif len(panel.curves) > 1:
                axes.legend(**KEY)
        out = io.StringIO()
        metadata = {"Date": None, "Creator": None, "Description": graph.in_words()}
        figure.savefig(out, format="svg", metadata=metadata, facecolor="white")
    text = out.getvalue().replace(f"'{FAMILY}'", f"'{FAMILY}', {OTHERS}")
    return "\n".join(line.rstrip() for line in text.splitlines()) + "\n"


def _draw(axes: Axes, panel: Panel) -> None:
    if panel.band is not None:
        low, high, label = panel.band
        axes.axhspan(low, high, color=(0.85, 0.85, 0.85), linewidth=0.0, label=label)
    for number, curve in enumerate(panel.curves):
        _line(axes, curve, number)
    if panel.from_zero:
        axes.set_ylim(0.0, 1.06 * max(max(curve.y) for curve in panel.curves))
    if panel.log_x:
        axes.set_xscale("log")
    levels = {tuple(curve.x) for curve in panel.curves}
    if len(levels) == 1 and len(panel.curves[0].x) <= MOST_TICKS:
        ticks = sorted(levels.pop())
        axes.set_xticks(ticks, [f"{x:g}" for x in ticks])
        axes.minorticks_off()
    axes.set_xlabel(panel.x)
    axes.set_ylabel(panel.y)
    axes.grid(visible=True, color=(0.88, 0.88, 0.88), linewidth=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def _line(axes: Axes, curve: Curve, number: int) -> None:
    axes.plot(
        curve.x,
        curve.y,
        label=curve.label,
        color=COLOURS[number % len(COLOURS)],
        marker=MARKS[number % len(MARKS)],
        markersize=4.5,
        linewidth=1.4,
        linestyle="--" if curve.dashed else "-",
    )
