"""What tells how to read the picture: axes in the words of anatomy, scale, colour bar, kinds of
part.
"""

import numpy as np

from frames.picture import words
from frames.picture.colour import BONE_OPACITY, INK, PART, SCALE, SHEET
from frames.picture.layout import BAR, LEADING, MARGIN, SMALL, SWATCH, TEXT, Layout
from frames.picture.pen import Across, Pen
from frames.picture.scene import WORDS, Floats, Kind, Scene
from frames.picture.view import View, medial


def draw_axes(pen: Pen, scene: Scene, view: View, layout: Layout) -> None:
    """Three arrows in the words of anatomy, in the lower left corner."""
    unit = layout.unit
    tips = 85.0 * unit
    leftmost = min(0.0, medial(scene.side) @ view.right, view.right[0])
    to_word = words.width_of("anterior", SMALL * unit) + 8.0 * unit
    origin = np.array([MARGIN * unit + to_word - leftmost * tips, layout.area[3] - 45.0 * unit])
    for direction, word in (
        (np.array([1.0, 0.0, 0.0]), "anterior"),
        (medial(scene.side), "medial"),
        (np.array([0.0, 0.0, 1.0]), "proximal"),
    ):
        shift = np.array([direction @ view.right, -(direction @ view.up)])
        tip = origin + tips * shift
        pen.axes.annotate(
            "", xy=tuple(tip), xytext=tuple(origin),
            arrowprops=dict(
                arrowstyle="-|>", color=INK, linewidth=1.6 * unit,
                mutation_scale=15.0 * unit, shrinkA=0.0, shrinkB=0.0,
            ),
        )  # fmt: skip
        steep = abs(shift[0]) < 0.2
        across: Across = "center" if steep else ("left" if shift[0] > 0 else "right")
        off = np.array([0.0, -14.0]) if steep else np.array([8.0 * np.sign(shift[0]), 6.0])
        pen.write(tip + off * unit, word, SMALL, across)


def draw_scale(pen: Pen, view: View, layout: Layout) -> None:
    """A bar of a round length, lower right."""
    unit = layout.unit
    longest = 170.0 * unit / view.scale
    power = 10.0 ** np.floor(np.log10(longest))
    length = power * max(step for step in (1.0, 2.0, 5.0) if step * power <= longest)
    right, y = layout.size[0] - MARGIN * unit, layout.area[3] - 8.0 * unit
    left = right - length * view.scale
    tick = 6.0 * unit
    bar = [[left, y - tick], [left, y + tick], [left, y], [right, y], [right, y - tick]]
    pen.line(np.array([*bar, [right, y + tick]]), width=2.0)
    pen.write((0.5 * (left + right), y - 18.0 * unit), f"{length:g} mm", SMALL, "center")


def draw_colour_bar(pen: Pen, scene: Scene, layout: Layout) -> None:
    limits = scene.colour_limits()
    if limits is None:
        return
    unit, (low, high), values = layout.unit, limits, scene.values()
    right = layout.size[0] - MARGIN * unit
    left = right - BAR * unit + 20.0 * unit
    y = layout.area[1]
    name = scene.quantity + (f" ({scene.unit})" if scene.unit else "")
    for line in words.folded(name, right - left, TEXT * unit):
        pen.write((left, y), line, TEXT, along="top")
        y += LEADING * TEXT * unit
    beyond = values.min() < low, values.max() > high
    top = y + (46.0 if beyond[1] else 22.0) * unit
    bottom = top + 330.0 * unit
    colours = np.linspace(1.0, 0.0, 256)[:, None]
    box = (left, left + 26.0 * unit, bottom, top)
    pen.axes.imshow(colours, cmap=SCALE, vmin=0.0, vmax=1.0, extent=box, aspect="auto")
    corners = np.array([[box[0], top], [box[1], top], [box[1], bottom], [box[0], bottom]])
    pen.line(np.concatenate([corners, corners[:1]]), width=1.0)
    marks = round_numbers(low, high)
    for mark in marks:
        at = bottom + (top - bottom) * (mark - low) / (high - low)
        pen.line(np.array([[box[1], at], [box[1] + 7.0 * unit, at]]), width=1.0)
        pen.write((box[1] + 12.0 * unit, at), f"{mark:g}", SMALL)
    if beyond[1]:
        pen.write((left, top - 26.0 * unit), f"up to {words.number(values.max())}", SMALL)
    if beyond[0]:
        text = f"down to {words.number(values.min())}"
        pen.write((left, bottom + 26.0 * unit), text, SMALL)


def draw_key(pen: Pen, layout: Layout, y: float) -> None:
    """Kinds of part in words, each after a sample of its colour and shape; y : px of its top."""
    unit, step = layout.unit, LEADING * SMALL * layout.unit
    for number, line in enumerate(layout.key):
        middle = y + (number + 0.5) * step
        for x, kind in line:
            left = MARGIN * unit + x
            draw_sample(pen, kind, np.array([left + 0.4 * SWATCH * unit, middle]))
            pen.write((left + SWATCH * unit, middle), WORDS[kind], SMALL)


def draw_sample(pen: Pen, kind: Kind, at: Floats) -> None:
    """What a kind of part looks like: a stroke as thick as the part beside others, a bead, a patch
    of callus; joints on a piece of ring.  at : (2,) px of its middle."""
    unit = pen.unit
    half = 0.35 * SWATCH * unit
    shapes = {"rod": (half, 4.0), "post": (half, 6.0), "arm": (half, 2.5), "pin": (half, 5.0)}
    if kind in ("joint", "hinge"):
        stroke(pen, at, (half, 0.0), PART["ring"], 9.0)
        across = (0.0, 8.0 * unit) if kind == "joint" else (0.0, 11.0 * unit)
        stroke(pen, at, across, PART[kind], 5.0 if kind == "joint" else 10.0)
    elif kind == "olive":
        stroke(pen, at, (half, 0.0), PART["wire"], 2.5)
        turn = np.linspace(0.0, 2.0 * np.pi, 40)
        oval = at + unit * np.stack([9.0 * np.cos(turn), 6.0 * np.sin(turn)], axis=1)
        pen.axes.fill(*oval.T, color=PART["olive"], linewidth=0.0)
    elif kind == "callus":
        seen = BONE_OPACITY * np.array(PART["callus"]) + (1.0 - BONE_OPACITY) * np.array(SHEET)
        stroke(pen, at, (half, 0.0), tuple(seen.tolist()), 14.0)
    else:
        length, width = shapes[kind]
        stroke(pen, at, (length, 0.0), PART[kind], width)


def stroke(
    pen: Pen,
    at: Floats,
    half: tuple[float, float],
    colour: tuple[float, float, float],
    width: float,
) -> None:
    ends = np.array([at - half, at + half])
    pen.line(ends, colour=colour, width=width, solid_capstyle="butt")


def round_numbers(low: float, high: float) -> Floats:
    """Four to ten round numbers from ``low`` to ``high``."""
    rough = (high - low) / 4.0
    power = 10.0 ** np.floor(np.log10(rough))
    step = power * max(s for s in (1.0, 2.0, 5.0) if s * power <= rough * (1.0 + 1e-9))
    marks = step * np.arange(np.ceil(low / step - 1e-9), np.floor(high / step + 1e-9) + 1.0)
    return np.round(marks, 12) + 0.0
