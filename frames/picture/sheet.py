"""The sheet round the drawn frame: heading, notes, names of parts, the unloaded shape.

Both engines give only the picture of the solids; everything written is put on here, so that it
is the same and stays readable.
"""

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from frames.picture import words
from frames.picture.colour import INK, PALE_INK, SHEET
from frames.picture.layout import (
    LEADING,
    MARGIN,
    NAMES_LEFT,
    NAMES_RIGHT,
    SMALL,
    TITLE,
    TRIAD,
    Layout,
)
from frames.picture.legend import draw_axes, draw_colour_bar, draw_key, draw_scale
from frames.picture.pen import Across, Pen
from frames.picture.scene import Floats, Scene, Strand
from frames.picture.view import View

MARKS = ("olive", "joint", "hinge", "callus", "arm")  # drawn with the parts on which they lie
SEEN_TO_MOVE = 1.0  # sheet units, least movement on the sheet for which dashes are drawn

Named = tuple[Floats, str]  # (2,) px of the part to which the name is tied, and the name


def compose(drawn: np.ndarray, scene: Scene, view: View, layout: Layout) -> np.ndarray:
    """(h, w, 3) finished picture from the ``drawn`` solids (h, w, 3)."""
    width, height = layout.size
    # the tiny surplus keeps the canvas from losing a pixel to rounding
    figure = Figure(figsize=((width + 1e-3) / words.DPI, (height + 1e-3) / words.DPI))
    figure.set_dpi(words.DPI)
    canvas = FigureCanvasAgg(figure)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.imshow(drawn, extent=(0, width, height, 0), aspect="auto", interpolation="nearest")
    axes.set_xlim(0.0, width)
    axes.set_ylim(height, 0.0)
    pen = Pen(axes, layout.unit)
    write_heading_and_notes(pen, layout)
    draw_unloaded(pen, scene, view)
    name_parts(pen, scene, view, layout)
    draw_axes(pen, scene, view, layout)
    draw_scale(pen, view, layout)
    draw_colour_bar(pen, scene, layout)
    canvas.draw()
    return np.asarray(canvas.buffer_rgba())[:height, :width, :3].copy()


def write_heading_and_notes(pen: Pen, layout: Layout) -> None:
    x, y = MARGIN * layout.unit, MARGIN * layout.unit
    for line in layout.heading:
        pen.write((x, y), line, TITLE, along="top", bold=True)
        y += LEADING * TITLE * layout.unit
    for line in layout.subheading:
        pen.write((x, y), line, SMALL, along="top", colour=PALE_INK)
        y += LEADING * SMALL * layout.unit
    draw_key(pen, layout, y + 6.0 * layout.unit)
    y = layout.size[1] - MARGIN * layout.unit
    for line in reversed(layout.notes):
        pen.write((x, y), line, SMALL, along="baseline", colour=INK)
        y -= LEADING * SMALL * layout.unit


def draw_unloaded(pen: Pen, scene: Scene, view: View) -> None:
    """Thin dashes along the lines of parts that are seen to move, as they stand without load."""
    for strand in scene.strands:
        if strand.kind in MARKS:
            continue
        line = view.pixels(strand.points)
        shift = np.abs(line - view.pixels(strand.drawn(scene.magnification)))
        if shift.max() < SEEN_TO_MOVE * pen.unit:
            continue
        if strand.closed:
            line = np.concatenate([line, line[:1]])
        pen.line(line, colour=INK, width=1.1, linestyle=(0, (5, 4)), alpha=0.55)


def name_parts(pen: Pen, scene: Scene, view: View, layout: Layout) -> None:
    """Names of rings on the left of the frame, of wires with their value on its right, of half-pins
    on the side from which they come.
    """
    _, top, _, bottom = layout.area
    above_axes = bottom - TRIAD[1] * layout.unit  # they stand in the lower left corner
    everything = np.concatenate([view.pixels(s.drawn(scene.magnification)) for s in scene.strands])
    middle = 0.5 * (everything[:, 0].min() + everything[:, 0].max())
    rings: list[Named] = []
    wires: list[Named] = []
    for strand in scene.strands:
        line = view.pixels(strand.drawn(scene.magnification))
        if strand.kind == "ring":
            rings.append((line[np.argmin(line[:, 0])], strand.name))
        elif strand.kind == "wire":
            name = named_with_value(strand, scene.unit, (NAMES_RIGHT - 50.0) * pen.unit, pen)
            wires.append((line[0] if line[0, 0] > line[-1, 0] else line[-1], name))
        elif strand.kind == "pin":
            at_side = line[0, 0] < middle and line[0, 1] < above_axes
            (rings if at_side else wires).append((line[0], strand.name))
    rings += [(view.pixels(np.array([place]))[0], words_) for place, words_ in scene.marks]
    gap = 45.0 * layout.unit
    at_left = everything[:, 0].min() - gap
    lowest = bottom
    longest = max((words.width_of(name, SMALL * layout.unit) for _, name in rings), default=0.0)
    if at_left - longest < (MARGIN + TRIAD[0]) * layout.unit:
        lowest = above_axes
    write_names(pen, rings, at_left, (top, lowest), -1.0, NAMES_LEFT)
    write_names(pen, wires, everything[:, 0].max() + gap, (top, bottom), 1.0, NAMES_RIGHT)


def named_with_value(strand: Strand, unit: str, room: float, pen: Pen) -> str:
    """Name and value of a wire, the name shortened so that both have ``room`` px."""
    value = ""
    if strand.value is not None:
        low, high = words.number(strand.value.min()), words.number(strand.value.max())
        value = f"  {low if low == high else f'{low} to {high}'} {unit}"
    left_for_name = room - words.width_of(value, SMALL * pen.unit)
    return words.shortened(strand.name, left_for_name, SMALL * pen.unit) + value


def write_names(
    pen: Pen, named: list[Named], x: float, span: tuple[float, float], side: float, width: float
) -> None:
    """One column of names at ``x``, left (-1) or right (+1) of it, each tied to its part."""
    height = LEADING * SMALL * pen.unit
    low, high = span[0] + 0.5 * height, span[1] - 0.5 * height
    room = max(1, int((high - low) / height))
    named = sorted(named, key=lambda entry: entry[0][1])
    left_over = len(named) - room
    if left_over > 0:
        named = named[: room - 1]
        across: Across = "left" if side > 0 else "right"
        pen.write((x, high), f"and {left_over + 1} more", SMALL, across, colour=PALE_INK)
        high -= height
    places = words.spread(np.array([at[1] for at, _ in named]), height, low, high)
    for (at, name), y in zip(named, places, strict=True):
        end = (x - side * 6.0 * pen.unit, y)
        elbow = (x - side * 20.0 * pen.unit, y)
        pen.line(np.array([at, elbow, end]), colour=SHEET, width=3.0)
        pen.line(np.array([at, elbow, end]), colour=PALE_INK, width=1.2)
        text = words.shortened(name, (width - 50.0) * pen.unit, SMALL * pen.unit)
        pen.write((x, y), text, SMALL, "left" if side > 0 else "right")
