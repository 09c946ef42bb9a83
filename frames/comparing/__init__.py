"""Frames side by side: numbers, targets, what differs in the case files."""

from frames.comparing.comparison import Comparison, FrameVerdict, compare
from frames.comparing.differences import Difference, differences
from frames.comparing.rows import Row, TargetRow

__all__ = [
    "Comparison",
    "Difference",
    "FrameVerdict",
    "Row",
    "TargetRow",
    "compare",
    "differences",
]
