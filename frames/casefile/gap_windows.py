"""Windows for the movement of the fracture ends: what is wanted there, and who says so."""

from typing import ClassVar, Literal

from frames.casefile.fields import AnyOf, Name, Part, Real, Rule, Text, between

MEASURES = ("axial_mm", "shear_mm", "axial_strain_percent", "shear_strain_percent")


class Window(Part):
    """Bounds for one measure of movement at the points round the cortex.

    measure : axial_mm (movement across the fracture plane, closing or opening, as a size),
    shear_mm (along it), or either over the gap's width as a strain in percent. at_least, at_most :
    its bounds. source : who says so.
    """

    rules: ClassVar[tuple[Rule, ...]] = (AnyOf(("at_least", "at_most")),)

    name: Name
    measure: Literal["axial_mm", "shear_mm", "axial_strain_percent", "shear_strain_percent"]
    at_least: Real | None = between(0.0, 1e6, None)
    at_most: Real | None = between(0.0, 1e6, None)
    source: Text | None = None
