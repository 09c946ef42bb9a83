"""Drawing and writing on the sheet in pixels."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from matplotlib.axes import Axes

from frames.picture import words
from frames.picture.colour import INK
from frames.picture.scene import Floats

Colour = tuple[float, float, float]
Across = Literal["left", "center", "right"]


@dataclass(frozen=True)
class Pen:
    """Draws on ``axes``, whose data coordinates are pixels, y down.

    unit : pixels per sheet unit, by which letters and lines are scaled.
    """

    axes: Axes
    unit: float

    def line(self, points: Floats, colour: Colour = INK, width: float = 1.2, **look: Any) -> None:
        """points : (n, 2) px; width : sheet units."""
        width_in_points = width * self.unit * 72.0 / words.DPI
        self.axes.plot(*np.asarray(points).T, color=colour, linewidth=width_in_points, **look)

    def write(
        self,
        at: Sequence[float] | Floats,
        text: str,
        size: float,
        across: Across = "left",
        along: Literal["top", "center", "baseline"] = "center",
        *,
        colour: Colour = INK,
        bold: bool = False,
    ) -> None:
        """at : (x, y) px; size : sheet units; the text is taken literally, without formulas."""
        label = self.axes.text(
            float(at[0]), float(at[1]), text, color=colour,
            fontproperties=words.font(size * self.unit, bold), ha=across, va=along,
        )  # fmt: skip
        label.set_parse_math(False)
