"""Where the eye stands, and how the frame is laid on the sheet: a parallel projection.

The eye is in front of the leg, turned towards its medial side and a little above. With
e the unit vector from the frame to the eye,

    right = (-e) x z / |...|,   up = right x (-e)

span the sheet; a point p falls on pixel (w/2 + s (p-c).right, h/2 - s (p-c).up), counted from the
top left corner, with s pixels per mm and c the point in the middle of the sheet.
"""

from dataclasses import dataclass

import numpy as np

from frames.picture.scene import Floats

TURNED = np.deg2rad(32.0)  # from anterior towards medial
RAISED = np.deg2rad(20.0)  # above the transverse plane


@dataclass(frozen=True)
class View:
    """right, up, eye : (3,) unit vectors; centre : (3,) mm; scale : px/mm; size : (w, h) px."""

    right: Floats
    up: Floats
    eye: Floats
    centre: Floats
    scale: float
    size: tuple[int, int]

    def pixels(self, points: Floats) -> Floats:
        """(n, 2) pixels of ``points`` (n, 3) mm; x to the right, y down from the top left."""
        from_centre = np.asarray(points) - self.centre
        across, above = from_centre @ self.right, from_centre @ self.up
        width, height = self.size
        return np.stack(
            [0.5 * width + self.scale * across, 0.5 * height - self.scale * above],
            axis=-1,
        )

    def nearness(self, points: Floats) -> Floats:
        """(n,) mm towards the eye, from the plane of the centre."""
        return (np.asarray(points) - self.centre) @ self.eye


def medial(side: str) -> Floats:
    """(3,) unit vector towards the medial side of a left or right leg."""
    return np.array([0.0, -1.0 if side == "left" else 1.0, 0.0])


def view_of(
    points: Floats,
    side: str,
    size: tuple[int, int],
    area: tuple[float, float, float, float],
) -> View:
    """The view in which ``points`` (n, 3) mm just fill ``area`` (left, top, right, bottom; px)."""
    level = np.cos(TURNED) * np.array([1.0, 0.0, 0.0]) + np.sin(TURNED) * medial(side)
    eye = np.cos(RAISED) * level + np.array([0.0, 0.0, np.sin(RAISED)])
    right = np.cross(-eye, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    up = np.cross(right, -eye)
    sheet = np.stack([points @ right, points @ up], axis=1)
    low, high = sheet.min(axis=0), sheet.max(axis=0)
    left, top, right_edge, bottom = area
    room = np.array([right_edge - left, bottom - top])
    scale = float((room / np.maximum(high - low, 1e-9)).min())
    middle = 0.5 * (low + high)
    # the frame's middle belongs in the middle of the area, which is not that of the sheet
    shift = np.array([0.5 * (size[0] - left - right_edge), 0.5 * (top + bottom - size[1])]) / scale
    across, above = middle + shift
    depth = float(np.mean(points @ eye))
    centre = across * right + above * up + depth * eye
    return View(right, up, eye, centre, scale, size)
