"""How the sheet is divided: heading above, notes below, names and legend beside the frame.

Places are pixels from the top left corner. Sizes are told in units of the sheet: a pixel of a sheet
of 1400 x 1000, scaled to the one asked for. On a laptop screen of 1366 x 768 such a sheet is shown
at about 0.7, and the smallest letters at 12 pixels.
"""

from dataclasses import dataclass

from frames.picture import words
from frames.picture.scene import PLAIN, WORDS, Kind, PictureError, Scene

MARGIN, TITLE, TEXT, SMALL = 30.0, 28.0, 20.0, 18.0
LEADING = 1.4  # distance of lines, as a multiple of the size of letters
NAMES_LEFT, NAMES_RIGHT, BAR = 190.0, 270.0, 150.0  # widths: ring and wire names, colour bar
NO_MOVEMENT = 1e-6  # mm
TRIAD = (235.0, 170.0)  # width and height kept for the axes
SWATCH, APART = 46.0, 34.0  # in the key: room for the sample before a word, room between entries
SMALLEST = (800, 600)


@dataclass(frozen=True)
class Layout:
    """Where things go: unit is pixels per sheet unit, area (left, top, right, bottom) the frame's.

    heading, subheading, notes : lines already folded to the width.  key : lines of the kinds of
    part that are explained, each with its place from the left, px.
    """

    size: tuple[int, int]
    unit: float
    area: tuple[float, float, float, float]
    heading: list[str]
    subheading: list[str]
    notes: list[str]
    key: list[list[tuple[float, Kind]]]


def layout_of(scene: Scene, size: tuple[int, int]) -> Layout:
    width, height = size
    if width < SMALLEST[0] or height < SMALLEST[1]:
        least = " x ".join(map(str, SMALLEST))
        raise PictureError(f"size is {width} x {height} px, must be at least {least}")
    unit = min(width / 1400.0, height / 1000.0)
    room = width - 2.0 * MARGIN * unit
    heading = words.folded(scene.title, room, TITLE * unit, bold=True)
    subheading = words.folded(subtitle(scene), room, SMALL * unit)
    notes = [line for note in scene.notes for line in words.folded(note, room, SMALL * unit)]
    key = key_lines(scene, room, unit)
    line = LEADING * unit
    above = TITLE * len(heading) + SMALL * (len(subheading) + len(key))
    top = (MARGIN + 15.0) * unit + line * above + (8.0 * unit if key else 0.0)
    bottom = height - (MARGIN + 20.0) * unit - line * SMALL * len(notes)
    if bottom - top < 0.4 * height:
        raise PictureError(
            f"title and notes take {len(heading)} + {len(notes)} lines and leave "
            f"{max(0.0, bottom - top):.0f} of {height} px for the frame; shorten them"
        )
    right = width - (MARGIN + NAMES_RIGHT + (BAR if len(scene.values()) else 0.0)) * unit
    area = ((MARGIN + NAMES_LEFT) * unit, top, right, bottom)
    return Layout(size, unit, area, heading, subheading, notes, key)


def subtitle(scene: Scene) -> str:
    parts = [f"{scene.side} leg, seen from front and medial, a little from above"]
    movement = scene.largest_movement()
    if movement > NO_MOVEMENT:
        if scene.magnification == 1.0:
            scale = "true scale"
        else:
            scale = f"movement drawn {scene.magnification:g} times larger"
        parts += [
            f"{scale} (largest {words.number(movement)} mm)",
            "dashed: without load, where it differs",
        ]
    return "   ·   ".join(parts)


def key_lines(scene: Scene, room: float, unit: float) -> list[list[tuple[float, Kind]]]:
    """Kinds of part to explain, in lines no longer than ``room`` px, each kind with its place.

    None where there are only rings, rods, wires and bone; rods are explained beside others.
    """
    present = {strand.kind for strand in scene.strands}
    if present <= PLAIN:
        return []
    lines: list[list[tuple[float, Kind]]] = [[]]
    x = 0.0
    for kind, word in WORDS.items():
        if kind not in present:
            continue
        width = SWATCH * unit + words.width_of(word, SMALL * unit)
        if lines[-1] and x + width > room:
            lines.append([])
            x = 0.0
        lines[-1].append((x, kind))
        x += width + APART * unit
    return lines
