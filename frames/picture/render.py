"""The frame drawn by pyvista. The only file that loads it.

To be called after ``probe.trouble()`` has found nothing: without a graphics driver the drawing
library ends the process, and no exception can be caught.
"""

import threading

# first of all: the plotting part is loaded on first use, and not safely from two threads at once
import pyvista.plotting  # isort: skip

import numpy as np
import pyvista

from frames.picture.colour import SHEET, colours, see_through
from frames.picture.probe import off_screen
from frames.picture.scene import TUBES, Scene, Strand
from frames.picture.sweep import Surface
from frames.picture.view import View

FAR = 2000.0  # mm from the frame's middle to the eye; the projection is parallel
SHARP = 40.0  # degrees: edges between faces that meet at more are not smoothed
one_at_a_time = threading.Lock()


def render(scene: Scene, surfaces: list[Surface], view: View) -> np.ndarray:
    """(h, w, 3) picture, 0 to 255, of ``surfaces``, one for each strand of ``scene``."""
    with one_at_a_time, off_screen():
        plotter = pyvista.Plotter(off_screen=True, window_size=list(view.size), lighting="none")
        try:
            plotter.background_color = pyvista.Color(SHEET)
            actors = [
                _add(plotter, scene, strand, surface)
                for strand, surface in zip(scene.strands, surfaces, strict=True)
            ]
            _set_camera(plotter, view)
            _set_lights(plotter, view)
            plotter.enable_anti_aliasing("ssaa")
            whole = _taken(plotter)
            for strand, actor in zip(scene.strands, actors, strict=True):
                actor.visibility = strand.kind not in TUBES
            return see_through(whole, _taken(plotter))
        finally:
            plotter.close()


def _taken(plotter: pyvista.Plotter) -> np.ndarray:
    plotter.render()
    return np.array(plotter.screenshot(return_img=True))[..., :3]


def _add(plotter: pyvista.Plotter, scene: Scene, strand: Strand, surface: Surface) -> pyvista.Actor:
    """Put one part into the scene."""
    faces = np.column_stack([np.full(len(surface.quads), 4), surface.quads])
    mesh = pyvista.PolyData(surface.corners, faces.ravel())
    mesh.cell_data["colour"] = np.rint(255.0 * colours(scene, strand, surface)).astype(np.uint8)
    return plotter.add_mesh(
        mesh, scalars="colour", rgb=True, smooth_shading=True, split_sharp_edges=True,
        feature_angle=SHARP, culling="back", ambient=0.5, diffuse=0.75, specular=0.12,
        specular_power=12.0,
    )  # fmt: skip


def _set_camera(plotter: pyvista.Plotter, view: View) -> None:
    camera = plotter.camera
    camera.focal_point = view.centre
    camera.position = view.centre + FAR * view.eye
    camera.up = view.up
    camera.parallel_projection = True
    camera.parallel_scale = 0.5 * view.size[1] / view.scale
    plotter.reset_camera_clipping_range()


def _set_lights(plotter: pyvista.Plotter, view: View) -> None:
    for strength, (right, up, eye) in (
        (0.85, (-0.45, 0.55, 0.70)),
        (0.25, (0.8, -0.1, 0.6)),
    ):
        towards = right * view.right + up * view.up + eye * view.eye
        plotter.add_light(
            pyvista.Light(
                position=view.centre + FAR * towards,
                focal_point=view.centre,
                intensity=strength,
                light_type="scene light",
            )
        )
