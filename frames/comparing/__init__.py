"""Frames side by side: numbers, targets, what differs in the case files."""

from frames.comparing.comparison import Comparison, compare

__all__ = ["Comparison", "compare"]
