"""What a picture shows, in plain arrays: parts as swept lines, one coloured quantity, words.

A scene knows nothing of the analysis that filled it and nothing of the engine that draws it.

Axes: x anterior, y towards the patient's left, z proximal; lengths in mm, origin anywhere.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

SIZES = {
    "ring": ("width", "thickness"),
    "rod": ("diameter",),
    "wire": ("diameter",),
    "bone": ("outer diameter", "inner diameter"),
    "callus": ("outer diameter", "inner diameter"),
    "pin": ("diameter",),
    "post": ("diameter",),
    "arm": ("diameter",),
    "olive": ("diameter",),
    "joint": ("diameter",),
    "hinge": ("diameter",),
}

Floats = NDArray[np.float64]
Kind = Literal[
    "ring", "rod", "wire", "bone", "callus", "pin", "post", "arm", "olive", "joint", "hinge"
]
TUBES = ("bone", "callus")
PLAIN: frozenset[Kind] = frozenset(("ring", "rod", "wire", "bone"))
WORDS: dict[Kind, str] = {
    "rod": "rod",
    "post": "post",
    "arm": "rigid clamp",
    "pin": "half-pin",
    "olive": "olive (stopper bead)",
    "callus": "callus",
    "joint": "bolted joint",
    "hinge": "hinge",
}
"""What kinds of part are called where the picture explains them."""


class PictureError(Exception):
    """A picture cannot be drawn: the scene is not well formed, or no engine can draw it.

    part : name of the strand at fault, or "".
    """

    def __init__(self, message: str, *, part: str = "") -> None:
        super().__init__(message)
        self.part = part


@dataclass(frozen=True)
class Strand:
    """One part, drawn as a section swept along a line.

    name : the part's name; those of rings, wires and half-pins are written beside them.
    kind : "ring", "rod", "wire", "bone", "callus", "pin" (half-pin), "post", "arm" (what holds a
        clamp that does not give), "olive" (stopper bead, thickest in its middle), "joint" (bolts
        between the halves of a ring) or "hinge" (between them).
    points : (n, 3) mm, centre line without load, as built; at least two, no two neighbours equal.
    moved : (n, 3) mm, the same points under the load that is drawn, true displacement.
    size : mm; (width, thickness) of a ring: radial and along its axis; (outer, inner) diameters of
        a bone or callus, inner 0 for a solid one; (diameter,) of anything else.
    value : (n,) the scene's quantity along the line, coloured on wires; None to leave it out.
    closed : whether the last point joins the first (which need not be repeated).
    cut : normal of the plane in which the first end of a bone is cut; None for square to its line.
    """

    name: str
    kind: Kind
    points: Floats
    moved: Floats
    size: tuple[float, ...]
    value: Floats | None = None
    closed: bool = False
    cut: tuple[float, float, float] | None = None

    def __post_init__(self) -> None:
        if self.kind not in SIZES:
            raise self._refused(f"kind is {self.kind!r}, must be one of {', '.join(SIZES)}")
        points, moved = np.array(self.points, dtype=float), np.array(self.moved, dtype=float)
        value = None if self.value is None else np.array(self.value, dtype=float)
        self._check_line(points, moved)
        self._check_size()
        if value is not None and (value.shape != (len(points),) or not np.isfinite(value).all()):
            raise self._refused(
                f"value has shape {value.shape}, must be ({len(points)},) and finite"
            )
        # own copies that nobody can change later
        for name, array in (("points", points), ("moved", moved), ("value", value)):
            if array is not None:
                array.flags.writeable = False
            object.__setattr__(self, name, array)

    def _refused(self, why: str) -> PictureError:
        return PictureError(f"{self.kind} '{self.name}': {why}", part=self.name)

    def _check_line(self, points: Floats, moved: Floats) -> None:
        if points.ndim != 2 or points.shape[1] != 3 or len(points) < 2:
            raise self._refused(
                f"points have shape {points.shape}, must be (n, 3) with n at least 2"
            )
        if moved.shape != points.shape:
            raise self._refused(
                f"moved has shape {moved.shape}, must be that of points, {points.shape}"
            )
        for what, array in (("points", points), ("moved", moved)):
            if not np.isfinite(array).all():
                row = int(np.flatnonzero(~np.isfinite(array).all(axis=1))[0])
                raise self._refused(f"{what}[{row}] is {array[row].tolist()}, must be finite")
        steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
        if not steps.all():
            row = int(np.flatnonzero(steps == 0.0)[0])
            raise self._refused(
                f"points[{row}] and points[{row + 1}] are the same; leave out one of them"
            )
        if self.closed and len(points) < 3:
            raise self._refused("is closed and has 2 points; a closed line needs at least 3")

    def _check_size(self) -> None:
        names = SIZES[self.kind]
        if len(self.size) != len(names):
            raise self._refused(f"size is {self.size}, must be ({', '.join(names)}) in mm")
        for name, length in zip(names, self.size, strict=True):
            may_be_zero = name == "inner diameter"
            if not np.isfinite(length) or length < 0.0 or (length == 0.0 and not may_be_zero):
                least = "at least" if may_be_zero else "more than"
                raise self._refused(f"{name} is {length} mm, must be {least} 0")
        if self.kind in TUBES and self.size[1] >= self.size[0]:
            outer, inner = self.size
            raise self._refused(
                f"inner diameter {inner} mm must be less than the outer diameter, {outer} mm"
            )

    def drawn(self, magnification: float) -> Floats:
        """(n, 3) mm, the line to draw: its movement multiplied by ``magnification``."""
        return self.points + magnification * (self.moved - self.points)


@dataclass(frozen=True)
class Scene:
    """All that one picture shows.

    title : heading.
    side : "left" or "right" leg: on which side medial lies.
    strands : the parts, at least one.
    quantity, unit : what the colour of the wires means, for the colour bar ("wire tension", "N").
    limits : the two ends of the colour bar, or None for the range of the values.
    magnification : factor on the movement; 1 is true scale.
    marks : places to name beside the frame like its parts: (x, y, z) mm as drawn, and words.
    notes : lines printed small under the picture (the load's name, the caution).
    """

    title: str
    side: str
    strands: tuple[Strand, ...]
    quantity: str = ""
    unit: str = ""
    limits: tuple[float, float] | None = None
    magnification: float = 1.0
    marks: tuple[tuple[tuple[float, float, float], str], ...] = ()
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.side not in ("left", "right"):
            raise PictureError(f"side is {self.side!r}, must be 'left' or 'right'")
        if not self.strands:
            raise PictureError("the scene has no strands; give at least one part to draw")
        if not np.isfinite(self.magnification) or self.magnification <= 0.0:
            raise PictureError(f"magnification is {self.magnification}, must be more than 0")
        if self.limits is not None:
            low, high = self.limits
            if not (np.isfinite(low) and np.isfinite(high) and low < high):
                raise PictureError(f"limits are ({low}, {high}), the first must be the smaller")

    def values(self) -> Floats:
        """(m,) all values of the wires, one after the other; empty if none has any."""
        found = [s.value for s in self.strands if s.kind == "wire" and s.value is not None]
        return np.concatenate(found) if found else np.empty(0)

    def colour_limits(self) -> tuple[float, float] | None:
        """Ends of the colour bar, or None if nothing is coloured.

        Equal values get a little room on both sides, for a bar needs a length.
        """
        values = self.values()
        if not len(values):
            return None
        if self.limits is not None:
            return self.limits
        low, high = float(values.min()), float(values.max())
        if high - low <= 1e-3 * max(abs(low), abs(high)):
            room = 0.05 * max(abs(low), abs(high)) or 1.0
            return low - room, high + room
        return low, high

    def largest_movement(self) -> float:
        """mm, the largest true displacement of any point."""
        return max(float(np.linalg.norm(s.moved - s.points, axis=1).max()) for s in self.strands)
