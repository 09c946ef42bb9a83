"""Independent fine-mesh frame model (openseespy), to check the analyser against."""

from .solve import FineMeshResult, ReferenceError, State, solve_frame

__all__ = ["FineMeshResult", "ReferenceError", "State", "solve_frame"]
