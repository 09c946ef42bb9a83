"""A first draft of a frame from measurements of the leg."""

from frames.drafting.draft import Draft, draft
from frames.drafting.reading import load_measurements, measurements_from_dict
from frames.drafting.tables import Measurements

__all__ = ["Draft", "Measurements", "draft", "load_measurements", "measurements_from_dict"]
