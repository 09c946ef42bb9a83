"""How charts look: sizes for a page of A4, letters, colours, marks.

Letters are 6.5 to 9 points at the size of print. Colours are those of Okabe and Ito (2008, from
memory) and the map *cividis* (Nunez, Anderton and Renslow 2018, from memory), which is even in
lightness: both can be told apart by the colour-blind. What differs in colour differs in mark, line
or hatching as well, so that a copy in grey says the same.
"""

import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, MaxNLocator

from frames.atomic import write_whole
from frames.picture import words
from frames.picture.bars import COLOURS
from frames.picture.charts import Axis
from frames.picture.colour import INK, PALE_INK
from frames.picture.scene import PictureError

WIDTH_MM, LANDSCAPE_MM = 170.0, 257.0
"""Between the margins of a page of A4, upright and lying."""
TALLEST_MM, LANDSCAPE_TALLEST_MM = 240.0, 165.0
TITLE_PT, TEXT_PT, SMALL_PT, LEAST_PT = 9.0, 8.0, 7.0, 6.5
BLUE, ORANGE, GREEN = COLOURS[0], COLOURS[1], COLOURS[2]
REST = (0.72, 0.73, 0.75)  # what is not spoken of
MAP = "cividis"
MARKS = ("o", "s", "^", "D", "v", "P", "X")
HATCH = "////"
DOTS_PER_INCH = 300
FORMATS = ("png", "svg")
_MM = 1.0 / 25.4

_STYLE: Any = {
    "font.family": words.FAMILY,
    "font.size": TEXT_PT,
    "axes.labelsize": TEXT_PT,
    "axes.titlesize": TEXT_PT,
    "xtick.labelsize": SMALL_PT,
    "ytick.labelsize": SMALL_PT,
    "legend.fontsize": SMALL_PT,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "axes.linewidth": 0.7,
    "xtick.major.width": 0.6,
    "ytick.major.width": 0.6,
    "xtick.major.size": 2.5,
    "ytick.major.size": 2.5,
    "lines.linewidth": 1.2,
    "hatch.linewidth": 0.6,
    "axes.formatter.useoffset": False,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "text.parse_math": False,
    "svg.fonttype": "path",  # the same letters everywhere
    "svg.hashsalt": "tautring",
}


@contextmanager
def style() -> Iterator[None]:
    """While a chart is composed and written."""
    with matplotlib.rc_context(_STYLE):
        yield


def new_figure(title: str, note: str, width_mm: float, height_mm: float) -> Figure:
    """An empty page of this size with what stands above and below; what is drawn makes room by
    itself."""
    figure = Figure(figsize=(width_mm * _MM, height_mm * _MM), layout="constrained")
    FigureCanvasAgg(figure)
    room = width_mm - 6.0
    figure.suptitle(
        fold(title, room, TITLE_PT, bold=True), fontsize=TITLE_PT, fontweight="bold",
        x=3.0 / width_mm, ha="left",
    )  # fmt: skip
    if note:
        figure.supxlabel(
            fold(note, room, SMALL_PT), fontsize=SMALL_PT, color=PALE_INK,
            x=3.0 / width_mm, ha="left",
        )  # fmt: skip
    return figure


def fold(text: str, room_mm: float, points: float, bold: bool = False) -> str:
    """Text in lines no longer than the room; a longer word is broken."""
    pixels, room = points * words.DPI / 72.0, room_mm * _MM * words.DPI
    pieces = [p for word in text.split() for p in _broken(word, room, pixels, bold)]
    return "\n".join(words.folded(" ".join(pieces), room, pixels, bold))


def _broken(word: str, room: float, pixels: float, bold: bool) -> Iterator[str]:
    while words.width_of(word, pixels, bold) > room and len(word) > 2:
        kept = len(word) - 1
        while kept > 1 and words.width_of(word[:kept] + "-", pixels, bold) > room:
            kept -= 1
        yield word[:kept] + "-"
        word = word[kept:]
    yield word


def said(value: float) -> str:
    """A number in words, whole ones without a point, with a true minus sign."""
    text = f"{value:.0f}" if value == round(value) else words.number(value)
    return text.replace("-", "−")


def lines_of(text: str) -> int:
    """How many lines a folded text has."""
    return text.count("\n") + 1


def height_of(texts: Sequence[str], points: float) -> float:
    """mm, the tallest of these folded texts."""
    return max((lines_of(t) for t in texts), default=0) * points * 1.25 / 72.0 * 25.4


def set_ticks(axes: Axes, along: str, axis: Axis, room_mm: float, most: int = 4) -> None:
    """Marks on the x or y axis: words at their places; numbers at the values themselves when there
    are few that are not too near each other, else at few round ones."""
    side = axes.xaxis if along == "x" else axes.yaxis
    if axis.words is None:
        found = np.unique(axis.at[np.isfinite(axis.at)])
        apart = np.diff(found)
        if 2 <= len(found) <= most + 1 and apart.min() * (most + 1) > np.ptp(found):
            side.set_major_locator(FixedLocator(found.tolist()))
        else:
            side.set_major_locator(MaxNLocator(most, min_n_ticks=2))
        return
    side.set_major_locator(FixedLocator(np.arange(len(axis.words)).tolist()))
    each = room_mm / len(axis.words) if along == "x" else room_mm
    side.set_ticklabels([fold(w, each, SMALL_PT) for w in axis.words])
    ends = (-0.5, len(axis.words) - 0.5)
    if along == "x":
        axes.set_xlim(*ends)
    else:
        axes.set_ylim(*ends)


def save_figure(figure: Figure, path: Path) -> None:
    """Write as .png or .svg, whole or not at all. Raises PictureError."""
    form = path.suffix.lower().removeprefix(".")
    if form not in FORMATS:
        raise PictureError(f"'{path}' must end in .png or .svg")
    stream = io.BytesIO()
    about: dict[str, Any] = {"Software": None} if form == "png" else {"Date": None}
    figure.savefig(stream, format=form, dpi=DOTS_PER_INCH, metadata=about)
    try:
        write_whole(path, stream.getvalue())
    except OSError as error:
        raise PictureError(f"cannot write '{path}': {error.strerror or error}") from error
