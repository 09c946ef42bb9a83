"""Writing on the sheet: measuring, folding and shortening text; numbers; labels side by side.

Sizes are pixels. The font is the one that comes with matplotlib, so that a sheet looks the same
everywhere.
"""

import numpy as np
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.font_manager import FontProperties

from frames.picture.scene import Floats

DPI = 100.0
FAMILY = "DejaVu Sans"
MORE = "…"


def font(pixels: float, bold: bool = False) -> FontProperties:
    return FontProperties(
        family=FAMILY, size=pixels * 72.0 / DPI, weight="bold" if bold else "normal"
    )


def width_of(text: str, pixels: float, bold: bool = False) -> float:
    """px, length of one line of text."""
    measure = RendererAgg(8, 8, DPI)
    width, _, _ = measure.get_text_width_height_descent(text, font(pixels, bold), ismath=False)
    return float(width)


def shortened(text: str, room: float, pixels: float, bold: bool = False) -> str:
    """``text``, or its beginning and an ellipsis if it is longer than ``room``."""
    if width_of(text, pixels, bold) <= room:
        return text
    kept = text
    while kept and width_of(kept.rstrip() + MORE, pixels, bold) > room:
        kept = kept[:-1]
    return kept.rstrip() + MORE


def folded(text: str, room: float, pixels: float, bold: bool = False) -> list[str]:
    """``text`` in lines no longer than ``room``; a single word that is longer is shortened."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_of(longer, pixels, bold) <= room:
            lines[-1] = longer
        else:
            lines.append(shortened(word, room, pixels, bold))
    return lines


def number(value: float) -> str:
    """Three significant figures, more if they stand before the point: 1083, 96.2, 0.128."""
    size = abs(value)
    if size == 0.0:
        return "0"
    decimals = int(np.clip(2 - np.floor(np.log10(size)), 0, 6))
    text = f"{value:.{decimals}f}"
    return text if float(text) != 0.0 else "0"


def spread(wanted: Floats, gap: float, low: float, high: float) -> Floats:
    """Places (n,) as near to ``wanted`` (n,) as they can be, at least ``gap`` apart.

    The sum of squared shifts is least (pool-adjacent-violators on wanted_i - i gap), then the row
    is held between ``low`` and ``high``; if it is too long for that the gap shrinks.
    """
    order = np.argsort(wanted, kind="stable")
    if len(wanted) > 1:
        gap = min(gap, (high - low) / (len(wanted) - 1))
    steps = gap * np.arange(len(wanted))
    pools: list[list[float]] = []  # [mean, count]
    for place in wanted[order] - steps:
        pools.append([float(place), 1.0])
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            mean, count = pools.pop()
            total = count + pools[-1][1]
            pools[-1] = [(mean * count + pools[-1][0] * pools[-1][1]) / total, total]
    means = np.repeat([mean for mean, _ in pools], [int(count) for _, count in pools])
    last = steps[-1] if len(steps) else 0.0
    places = np.empty(len(wanted))
    places[order] = np.clip(means, low, high - last) + steps
    return places
