"""The tension sheet: dials and tones in order, second round, best order, winding on bolts."""

from frames.tension_sheet.orders import BestOrder
from frames.tension_sheet.sheet import TensionSheet, in_order, tension_sheet

__all__ = ["BestOrder", "TensionSheet", "in_order", "tension_sheet"]
