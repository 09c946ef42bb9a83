"""The fewest wires that meet all targets, and the frame with the highest smallest margin."""

from frames.searching.found import Found
from frames.searching.frame import Candidate, LaidWire
from frames.searching.search import search
from frames.searching.worst_case import worst_case_margin

__all__ = ["Candidate", "Found", "LaidWire", "search", "worst_case_margin"]
