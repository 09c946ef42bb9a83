"""Colours of parts and of values. The scale is dark violet to green, part of *viridis*.

That map is even in lightness and made to be read with the common kinds of colour blindness; its
yellow end is left off, since a thin yellow line on a light sheet can hardly be seen.
"""

import numpy as np
from matplotlib import colormaps
from matplotlib.colors import ListedColormap, Normalize

from frames.picture.scene import Floats, Scene, Strand
from frames.picture.sweep import Surface

SHEET = (0.975, 0.975, 0.97)
INK = (0.13, 0.14, 0.16)
PALE_INK = (0.36, 0.38, 0.41)
PART = {
    "ring": (0.66, 0.68, 0.71),
    "rod": (0.50, 0.52, 0.56),
    "wire": (0.30, 0.32, 0.36),
    "bone": (0.96, 0.89, 0.75),
    "callus": (0.70, 0.58, 0.80),
    "pin": (0.38, 0.66, 0.90),
    "post": (0.33, 0.35, 0.40),
    "arm": (0.50, 0.52, 0.56),
    "olive": (0.80, 0.36, 0.10),
    "joint": (0.20, 0.21, 0.24),
    "hinge": (0.20, 0.21, 0.24),
}
BONE_END = (0.80, 0.42, 0.34)  # so that the fracture gap is seen
BONE_OPACITY = 0.62
SCALE = ListedColormap(colormaps["viridis"](np.linspace(0.0, 0.8, 256)), name="tension")


def colours(scene: Scene, strand: Strand, surface: Surface) -> Floats:
    """(k, 3) colours of the faces of a part: of its kind, or of its value if it is a wire."""
    limits = scene.colour_limits()
    if strand.kind == "wire" and surface.value is not None and limits is not None:
        of_face = surface.value[surface.quads].mean(axis=1)
        return np.asarray(SCALE(Normalize(*limits, clip=True)(of_face)))[:, :3]
    whole = np.tile(PART[strand.kind], (len(surface.quads), 1))
    if strand.kind == "bone":
        whole[surface.ends] = BONE_END
    return whole


def see_through(whole: np.ndarray, inside: np.ndarray) -> np.ndarray:
    """The picture of ``whole``, its bones mixed with what is ``inside``: drawn without them.

    whole, inside : (h, w, 3), 0 to 255. Mixing two opaque pictures shows the nearest face of a
    bone and what lies behind it, and no faces within, whatever order they were drawn in.
    """
    mixed = BONE_OPACITY * whole.astype(float) + (1.0 - BONE_OPACITY) * inside
    return np.rint(mixed).astype(np.uint8)
