"""Strength: stress against yield, cycles, clamps, bearing on bone, rods as columns."""

from frames.stressing.limits import Limits
from frames.stressing.parts import PartStress
from frames.stressing.strength import Strength, strength

__all__ = ["Limits", "PartStress", "Strength", "strength"]
