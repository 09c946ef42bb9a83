"""The picture of a frame: a plain description of what stands where, drawn to a PNG file.

``Scene`` and ``Strand`` say what is to be seen, ``draw`` draws it and tells which engine did.
Nothing heavy is loaded before the first picture is drawn.
"""

from frames.picture.drawing import DrawnPicture, draw
from frames.picture.scene import PictureError, Scene, Strand

__all__ = ["DrawnPicture", "PictureError", "Scene", "Strand", "draw"]
