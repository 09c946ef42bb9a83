"""Frames side by side as bars, in a PNG file.

Every bar begins at zero, so that lengths within a panel compare as the numbers do. Colours are
those of Okabe and Ito (2008, from memory), made to be told apart by the colour-blind; the letter
before each bar and the number behind it say the same without colour.
"""

import os
from pathlib import Path

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from frames.picture import words
from frames.picture.bar_sheet import BarPanel, BarSheet
from frames.picture.colour import INK, PALE_INK, SHEET
from frames.picture.drawing import save
from frames.picture.layout import LEADING, MARGIN, SMALL, TITLE
from frames.picture.pen import Pen

WIDTH = 1400
COLUMNS = 3
APART = 36.0  # px between panels
BAR, STEP = 19.0, 25.0  # px, thickness of a bar and from bar to bar
LETTER = 34.0  # px for the letter before a bar
VALUE = 132.0  # px for what is written behind the longest bar
PANEL_TITLE, SECTION_TITLE = 26.0, 44.0  # px
COLOURS = (
    (0.00, 0.45, 0.70),
    (0.90, 0.62, 0.00),
    (0.00, 0.62, 0.45),
    (0.80, 0.40, 0.00),
    (0.34, 0.71, 0.91),
    (0.80, 0.47, 0.65),
    (0.35, 0.35, 0.35),
)


def draw_bars(sheet: BarSheet, path: str | os.PathLike[str]) -> None:
    """Draw to the PNG file ``path``, which is written whole or not at all.

    Raises PictureError when it cannot be written.
    """
    save(compose_bars(sheet), Path(path))


def compose_bars(sheet: BarSheet) -> np.ndarray:
    """(h, w, 3) picture, 0 to 255."""
    height = _height(sheet)
    figure = Figure(figsize=((WIDTH + 1e-3) / words.DPI, (height + 1e-3) / words.DPI))
    figure.set_dpi(words.DPI)
    figure.set_facecolor(SHEET)
    canvas = FigureCanvasAgg(figure)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.set_xlim(0.0, WIDTH)
    axes.set_ylim(height, 0.0)
    pen = Pen(axes, 1.0)
    y = _write_heading(pen, sheet)
    for title, panels in sheet.sections:
        pen.write((MARGIN, y + 24.0), title, SMALL, bold=True)
        y += SECTION_TITLE
        for start in range(0, len(panels), COLUMNS):
            for column, panel in enumerate(panels[start : start + COLUMNS]):
                _draw_panel(pen, panel, sheet, MARGIN + column * (_panel_width() + APART), y)
            y += _panel_height(sheet)
    for line in _note(sheet):
        y += LEADING * SMALL
        pen.write((MARGIN, y), line, SMALL, along="baseline", colour=PALE_INK)
    canvas.draw()
    return np.asarray(canvas.buffer_rgba())[:height, :WIDTH, :3].copy()


def _panel_width() -> float:
    return (WIDTH - 2.0 * MARGIN - (COLUMNS - 1) * APART) / COLUMNS


def _panel_height(sheet: BarSheet) -> float:
    return PANEL_TITLE + STEP * len(sheet.frames) + 14.0


def _note(sheet: BarSheet) -> list[str]:
    return words.folded(sheet.note, WIDTH - 2.0 * MARGIN, SMALL)


def _height(sheet: BarSheet) -> int:
    rows = sum(-(-len(panels) // COLUMNS) for _, panels in sheet.sections)
    text = LEADING * (TITLE + SMALL * (len(sheet.frames) + len(_note(sheet))))
    sections = len(sheet.sections) * SECTION_TITLE + rows * _panel_height(sheet)
    return round(2.0 * MARGIN + text + sections + 12.0)


def _write_heading(pen: Pen, sheet: BarSheet) -> float:
    """Heading and who is who; where they end, px."""
    y = float(MARGIN)
    pen.write((MARGIN, y), sheet.heading, TITLE, along="top", bold=True)
    y += LEADING * TITLE
    for number, (letter, name) in enumerate(sheet.frames):
        middle = y + 0.5 * LEADING * SMALL
        _block(pen, MARGIN, middle - 7.0, 14.0, 14.0, COLOURS[number % len(COLOURS)])
        text = words.shortened(f"{letter}  {name}", WIDTH - 2.0 * MARGIN - 30.0, SMALL)
        pen.write((MARGIN + 24.0, middle), text, SMALL)
        y += LEADING * SMALL
    return y


def _draw_panel(pen: Pen, panel: BarPanel, sheet: BarSheet, x: float, y: float) -> None:
    """One quantity with its upper left corner at (x, y)."""
    pen.write((x, y + 0.4 * PANEL_TITLE), panel.title, SMALL)
    known = [v for v in panel.values if v is not None]
    low, high = min([0.0, *known]), max([0.0, *known])
    room = _panel_width() - LETTER - VALUE
    scale = room / (high - low) if high > low else 0.0
    zero = x + LETTER - low * scale
    top = y + PANEL_TITLE
    for number, value in enumerate(panel.values):
        middle = top + STEP * (number + 0.5)
        pen.write((x + LETTER - 8.0, middle), sheet.frames[number][0], SMALL, "right")
        if value is None:
            pen.write((zero + 6.0, middle), "no value", SMALL, colour=PALE_INK)
            continue
        left, right = sorted((zero, zero + value * scale))
        colour = COLOURS[number % len(COLOURS)]
        _block(pen, left, middle - BAR / 2.0, right - left, BAR, colour)
        said = f"{words.number(value)}  {panel.remarks[number]}".rstrip()
        pen.write((max(right, zero) + 6.0, middle), said, SMALL)
    bottom = top + STEP * len(panel.values)
    pen.line(np.array([(zero, top), (zero, bottom)]), colour=PALE_INK, width=1.2)


def _block(
    pen: Pen, x: float, y: float, width: float, height: float, colour: tuple[float, float, float]
) -> None:
    pen.axes.add_patch(
        Rectangle((x, y), width, height, facecolor=colour, edgecolor=INK, linewidth=0.6)
    )
