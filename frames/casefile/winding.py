"""Winding a wire on a slotted bolt, where no tensioner is used."""

from frames.casefile.fields import Part, Real, between


class Winding(Part):
    """How a wire is wound on the bolt that clamps it.

    bolt_diameter_mm : of the bolt on which it winds. slack_mm : length drawn in before the wire
    takes load. slip_percent : share of the length wound that slips back.
    """

    bolt_diameter_mm: Real = between(2.0, 20.0, 6.0, "an M6 bolt; common practice, no source")
    slack_mm: Real = between(0.0, 20.0, 0.0, "none; own choice, no source")
    slip_percent: Real = between(0.0, 95.0, 0.0, "none; own choice, no source")
