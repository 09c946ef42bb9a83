"""The frame without a graphics driver: faces painted from the farthest to the nearest.

Only faces turned to the eye are painted, each in one flat shade. They are laid on a sheet twice
as large without smoothing and averaged down: smoothed edges of neighbours would let the
background shine through between them.
"""

from dataclasses import dataclass

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure

from frames.picture.colour import SHEET, colours, see_through
from frames.picture.scene import TUBES, Floats, Scene, Strand
from frames.picture.sweep import Surface
from frames.picture.view import View

FINER = 2
LIGHT = np.array([-0.45, 0.55, 0.70]) / np.linalg.norm([-0.45, 0.55, 0.70])  # right, up, eye
AMBIENT = 0.5
BRIGHTER = 1.1
# mm towards the eye: a wire lies on a ring and its faces are much smaller than the ring's, so
# that sorting by the middles of faces would let the ring cover it here and there; marks alike
IN_FRONT = {"wire": 2.0, "pin": 2.0, "olive": 3.0, "joint": 6.0, "hinge": 6.0}


def paint(scene: Scene, surfaces: list[Surface], view: View) -> np.ndarray:
    """(h, w, 3) picture, 0 to 255, of ``surfaces``, one for each strand of ``scene``."""
    parts = list(zip(scene.strands, surfaces, strict=True))
    inside = _sheet([_faces(scene, s, f, view) for s, f in parts if s.kind not in TUBES], view)
    whole = _sheet([_faces(scene, s, f, view) for s, f in parts], view)
    return see_through(whole, inside)


@dataclass(frozen=True)
class _Faces:
    """polygons : (k, 4, 2) px; shades : (k, 3); nearness : (k,) mm, larger is nearer."""

    polygons: Floats
    shades: Floats
    nearness: Floats


def _faces(scene: Scene, strand: Strand, surface: Surface, view: View) -> _Faces:
    """The faces of one part that are turned to the eye."""
    normals = surface.normals()
    seen = normals @ view.eye > 0.0
    quads = surface.quads[seen]
    corners = surface.corners[quads]
    colour = colours(scene, strand, surface)[seen]
    light = np.stack([view.right, view.up, view.eye], axis=1) @ LIGHT
    bright = AMBIENT + (1.0 - AMBIENT) * np.clip(normals[seen] @ light, 0.0, 1.0)
    forward = IN_FRONT.get(strand.kind, 0.0)
    return _Faces(
        view.pixels(corners),
        np.clip(BRIGHTER * bright[:, None] * colour, 0.0, 1.0),
        view.nearness(corners.mean(axis=1)) + forward,
    )


def _sheet(faces: list[_Faces], view: View) -> np.ndarray:
    """(h, w, 3) picture, 0 to 255, of ``faces``, the nearest on top."""
    width, height = view.size
    # the tiny surplus keeps the canvas from losing a pixel to rounding
    inches = ((width + 1e-3) / 100.0, (height + 1e-3) / 100.0)
    figure = Figure(figsize=inches, dpi=100 * FINER, facecolor=SHEET)
    canvas = FigureCanvasAgg(figure)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.set_xlim(0.0, width)
    axes.set_ylim(height, 0.0)
    if faces:
        order = np.argsort(np.concatenate([f.nearness for f in faces]), kind="stable")
        painted = PolyCollection(
            list(np.concatenate([f.polygons for f in faces])[order]),
            facecolors=np.concatenate([f.shades for f in faces])[order],
            edgecolors="none",
            antialiaseds=False,
        )
        axes.add_collection(painted, autolim=False)
    canvas.draw()
    fine = np.asarray(canvas.buffer_rgba())[: FINER * height, : FINER * width, :3]
    parts = [fine[i::FINER, j::FINER] for i, j in np.ndindex(FINER, FINER)]
    total = np.sum(parts, axis=0, dtype=np.uint16)
    return np.asarray((total + FINER**2 // 2) // FINER**2, dtype=np.uint8)
