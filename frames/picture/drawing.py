"""From a scene to a PNG file, by the best engine that works here."""

import io
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from frames.atomic import write_whole
from frames.picture import probe
from frames.picture.scene import PictureError, Scene
from frames.picture.sweep import surface
from frames.picture.view import view_of

WIRE_PIXELS = 3.2  # a wire is drawn no thinner than this on a sheet of 1400 x 1000

Engine = Literal["pyvista", "matplotlib"]


@dataclass(frozen=True)
class DrawnPicture:
    """A picture that was drawn.

    path : the file.
    engine : "pyvista" or "matplotlib".
    reason : why "auto" did not take pyvista, in words; "" if it did or if an engine was named.
    """

    path: Path
    engine: Engine
    reason: str = ""


def draw(
    scene: Scene,
    path: str | os.PathLike[str],
    *,
    size: tuple[int, int] = (1400, 1000),
    engine: Literal["auto", "pyvista", "matplotlib"] = "auto",
) -> DrawnPicture:
    """Draw ``scene`` to the PNG file ``path``, which is written whole or not at all.

    size : (width, height) px, at least 800 x 600.
    engine : "auto" takes pyvista where it can draw and else matplotlib; the result says which and
        why. A named engine is used or the call fails.

    Raises PictureError if the scene leaves no room for the frame, the size is too small, the
    named engine cannot draw or the file cannot be written; a file of that name then stays as it
    was.
    """
    if engine not in ("auto", "pyvista", "matplotlib"):
        raise PictureError(f"engine is {engine!r}, must be 'auto', 'pyvista' or 'matplotlib'")
    path = Path(path)
    _can_be_written(path)
    picture, used, reason = _drawn(scene, size, engine)
    _write(path, _png(picture))
    return DrawnPicture(path, used, reason)


def save(picture: np.ndarray, path: Path) -> None:
    """Write a picture (h, w, 3), 0 to 255, whole or not at all.

    Raises PictureError when the name does not end in .png or the file cannot be written.
    """
    _can_be_written(path)
    _write(path, _png(picture))


def _can_be_written(path: Path) -> None:
    if path.suffix.lower() != ".png":
        raise PictureError(f"'{path}' must end in .png, the one format that is drawn")
    if not path.parent.is_dir():
        raise PictureError(f"cannot write '{path}': there is no folder '{path.parent}'")


def _drawn(scene: Scene, size: tuple[int, int], engine: str) -> tuple[np.ndarray, Engine, str]:
    """(h, w, 3) picture, the engine and the reason."""
    from frames.picture import layout, sheet

    plan = layout.layout_of(scene, size)
    lines = [strand.drawn(scene.magnification) for strand in scene.strands]
    pairs = list(zip(scene.strands, lines, strict=True))
    seen = [surface(s, line).corners for s, line in pairs] + [s.points for s in scene.strands]
    view = view_of(np.concatenate(seen), scene.side, size, plan.area)
    thinnest = WIRE_PIXELS * plan.unit / view.scale
    surfaces = [surface(s, line, thinnest) for s, line in pairs]

    reason = "" if engine == "matplotlib" else probe.trouble()
    if engine == "pyvista" and reason:
        raise PictureError(f"pyvista cannot draw here: {reason}; use engine='matplotlib'")
    if engine != "matplotlib" and not reason:
        try:
            from frames.picture.render import render

            return (
                sheet.compose(render(scene, surfaces, view), scene, view, plan),
                "pyvista",
                "",
            )
        except (ImportError, RuntimeError) as error:
            if engine == "pyvista":
                raise PictureError(f"pyvista could not draw: {error}") from error
            reason = f"pyvista could not draw: {error}"
    from frames.picture.painter import paint

    solids = paint(scene, surfaces, view)
    return sheet.compose(solids, scene, view, plan), "matplotlib", reason


def _png(picture: np.ndarray) -> bytes:
    from PIL import Image  # comes with matplotlib

    stream = io.BytesIO()
    Image.fromarray(picture).save(stream, format="PNG")
    return stream.getvalue()


def _write(path: Path, content: bytes) -> None:
    try:
        write_whole(path, content)
    except OSError as error:
        raise PictureError(f"cannot write '{path}': {error.strerror or error}") from error
