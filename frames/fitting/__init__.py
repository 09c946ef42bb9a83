"""Fit: room for the leg before and after swelling, parts against parts, corridors, crossings."""

from frames.fitting.findings import FitProblem
from frames.fitting.fit import Fit, fit

__all__ = ["Fit", "FitProblem", "fit"]
