"""The frame that is built is never the frame that was planned: how far its answers spread."""

from frames.spreading.answering import spread
from frames.spreading.spread_result import Spread

__all__ = ["Spread", "spread"]
