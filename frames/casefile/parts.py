"""Parts of a frame: rings, rods, wires, pins.

Keys carry their unit. Levels run along the bone from the centre of the fracture gap, proximal
positive; bearings turn from anterior (0) towards medial (90).
"""

from frames.casefile.elastic import Elastic
from frames.casefile.rings import Ring, Rod
from frames.casefile.wires import ENDS, BoneHold, End, Pin, Wire, wire_height

__all__ = ["ENDS", "BoneHold", "Elastic", "End", "Pin", "Ring", "Rod", "Wire", "wire_height"]
