"""The bone, and what lies in its fracture gap: nothing, faces that may touch, or callus."""

from typing import ClassVar

from frames.casefile.fields import Needs, OneOf, Part, Real, Rule, Whole, between


class Contact(Part):
    """Fracture faces that touch when the gap closes.

    friction : coefficient of friction of bone on bone. points : number of points of contact round
    the outer edge of the cortex, and again round its inner edge. obliquity_deg : angle of the
    fracture plane out of the transverse plane; it rises proximally towards obliquity_bearing_deg.
    layer_mm : the faces give like a layer of bone of this thickness.
    """

    rules: ClassVar[tuple[Rule, ...]] = (Needs("obliquity_bearing_deg", ("obliquity_deg",)),)

    friction: Real = between(0.0, 2.0, 0.3, "own choice, no source")
    points: Whole = between(8, 72, 12)
    obliquity_deg: Real = between(0.0, 75.0, 0.0)
    obliquity_bearing_deg: Real = between(-360.0, 360.0, 0.0)
    layer_mm: Real = between(0.001, 100.0, 1.0, "own choice, no source")


class Callus(Part):
    """Callus that bridges the gap: a tube of modulus E_MPa between the faces.

    outer_mm, inner_mm : its diameters, those of the bone unless given. thickness_mm : its extent
    along the bone; the width of the gap unless given.
    """

    E_MPa: Real = between(0.001, 1e5)
    nu: Real = between(0.0, 0.49, 0.3, "as for bone, from memory")
    outer_mm: Real | None = between(1.0, 200.0, None)
    inner_mm: Real | None = between(0.0, 200.0, None)
    thickness_mm: Real | None = between(0.01, 300.0, None)


class Bone(Part):
    """The bone: a tube on the axis with a gap of gap_mm centred at level 0, open unless contact
    or callus says otherwise."""

    rules: ClassVar[tuple[Rule, ...]] = (OneOf((("contact",), ("callus",)), required=False),)

    proximal_end_mm: Real = between(-1000.0, 1000.0)
    distal_end_mm: Real = between(-1000.0, 1000.0)
    outer_mm: Real = between(1.0, 200.0)
    inner_mm: Real = between(0.0, 200.0)
    E_MPa: Real = between(10.0, 1e6, 17_000.0, "cortical bone, 15 to 20 GPa, from memory")
    nu: Real = between(0.0, 0.49, 0.3, "handbooks, from memory")
    gap_mm: Real = between(0.01, 300.0)
    contact: Contact | None = None
    callus: Callus | None = None

    @property
    def callus_tube(self) -> tuple[float, float, float]:
        """Outer and inner diameter and thickness of the callus, mm; its own or the bone's."""
        callus = self.callus
        if callus is None:
            raise ValueError("this bone has no callus")
        return (
            self.outer_mm if callus.outer_mm is None else callus.outer_mm,
            self.inner_mm if callus.inner_mm is None else callus.inner_mm,
            self.gap_mm if callus.thickness_mm is None else callus.thickness_mm,
        )
