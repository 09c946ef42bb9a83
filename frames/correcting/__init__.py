"""A fragment drawn across the leg with an olive wire."""

from frames.correcting.answering import Corrections, Wanted, correction
from frames.correcting.drawing import Drawn
from frames.correcting.measuring import Moved

__all__ = ["Corrections", "Drawn", "Moved", "Wanted", "correction"]
