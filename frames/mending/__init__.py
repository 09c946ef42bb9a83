"""What would mend a missed target: derivatives by the adjoint method, single changes tried."""

from frames.mending.mend import Mending, mend
from frames.mending.sensitivity import Sensitivity, sensitivities

__all__ = ["Mending", "Sensitivity", "mend", "sensitivities"]
