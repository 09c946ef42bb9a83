"""A fragment that stands off and is to be drawn across with an olive wire."""

from typing import ClassVar, Literal

from frames.casefile.fields import Name, OneOf, Part, Real, Rule, between
from frames.casefile.rings import Bearing


class Correction(Part):
    """A fragment to be moved across the leg.

    fragment : which one. towards_bearing_deg : the way it has to go, or towards : the same in
    words. by_mm : how far, at the fracture. soft_tissue_N_per_mm : how stiffly the tissue round it
    holds it back.
    """

    rules: ClassVar[tuple[Rule, ...]] = (OneOf((("towards",), ("towards_bearing_deg",))),)

    name: Name
    fragment: Literal["proximal", "distal"]
    towards: Literal["anterior", "medial", "posterior", "lateral"] | None = None
    towards_bearing_deg: Bearing | None = None
    by_mm: Real = between(0.01, 100.0)
    soft_tissue_N_per_mm: Real = between(0.0, 1000.0, 0.0, "left out: the tissue is not known")
