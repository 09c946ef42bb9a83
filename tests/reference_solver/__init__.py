"""Independent fine-mesh frame model (openseespy), to check the analyser against."""

from .results import FineMeshResult, State
from .solve import ReferenceSolveError, solve_frame

__all__ = ["FineMeshResult", "ReferenceSolveError", "State", "solve_frame"]
