"""Movement and strain of the bone ends at the cortex, against windows."""

from frames.moving.movement import CortexPoint, LoadMovement, Movement, movement
from frames.moving.windows import WindowShare

__all__ = ["CortexPoint", "LoadMovement", "Movement", "WindowShare", "movement"]
