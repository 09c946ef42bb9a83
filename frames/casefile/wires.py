"""Wires and half-pins: what holds the bone."""

import math
from typing import Any, ClassVar, Literal

from pydantic import Field

from frames.casefile.elastic import OWN_VALUES, Elastic
from frames.casefile.fields import UNDECIDED, Flag, Name, Needs, OneOf, Real, Rule, Whole, between
from frames.casefile.rings import Ring
from frames.sizes import DEFAULT_MATERIAL, MATERIALS, SLIP_N_PER_NM, STANDARD_GRAVITY

BoneHold = Literal["pivot", "built in"]
End = Literal["start", "end"]
ENDS: tuple[End, End] = ("start", "end")


def _default_density(given: dict[str, Any]) -> Any:
    if given.get("material", UNDECIDED) is UNDECIDED:
        return UNDECIDED
    return MATERIALS[given["material"] or DEFAULT_MATERIAL].density_kg_per_m3


class Wire(Elastic):
    """A tensioned wire from clamp to clamp through the bone.

    bearing_deg : bearing of its start; its end is opposite. offset_mm : sideways shift of its
    line from the bone axis, positive towards the bearing + 90 degrees. face : side of the ring
    it lies on, or height_mm : its axis above the ring's mid-plane, proximal positive. tilt_deg :
    its line leaves the ring's plane by this angle, the start end raised when positive.

    tension_N, or tension_kgf (1 kgf = 9.80665 N). end_tension_N : tension of the leg at its end
    where that differs from the leg at its start. tension_from : the end at which it is pulled,
    see `pulled`. order : wires with the lowest number are tensioned first, equal numbers at once;
    those without one (None) come last, one by one as the file lists them.
    tensioner_drop_percent : share of the dialled tension that is lost when the clamp is closed
    and the tensioner taken off; None for the default in [model].

    bone_hold : None for the default in [model]. olive : side of the bone on which a stopper bead
    lies. grip_N : friction of each cortex against sliding along the wire. threaded : the bone
    holds it along its axis both ways. free_share : share of the length from clamp to bone,
    counted from the clamp, that is free to sound; soft tissue damps the rest.

    slip_N : load at which each clamp lets the wire slip, or bolt_torque_Nm : torque of its bolt,
    see `slip`. post_diameter_mm : diameter of the posts on which its clamps stand, None for
    clamps that do not give.

    yield_MPa : 900 stands for cold-drawn stainless fixation wire (from memory; the published
    onset of yield at 50 to 55 N across a wire agrees). density_kg_per_m3 : goes with E_MPa and
    nu; stainless steel's unless given.
    """

    rules: ClassVar[tuple[Rule, ...]] = (
        OneOf((("material",), ("E_MPa", "nu", "density_kg_per_m3")), required=False),
        *OWN_VALUES,
        Needs("density_kg_per_m3", ("E_MPa",)),
        OneOf((("face",), ("height_mm",))),
        OneOf((("tension_N",), ("tension_kgf",))),
        OneOf((("slip_N",), ("bolt_torque_Nm",)), required=False),
    )

    name: Name
    ring: Name
    bearing_deg: Real = between(-360.0, 360.0)
    face: Literal["proximal", "distal"] | None = None
    height_mm: Real | None = between(-200.0, 200.0, None)
    diameter_mm: Real = between(0.5, 4.0)
    tension_N: Real | None = between(0.0, 5000.0, None)
    tension_kgf: Real | None = between(0.0, 509.8, None)
    offset_mm: Real = between(-100.0, 100.0, 0.0)
    tilt_deg: Real = between(-45.0, 45.0, 0.0)
    bone_hold: BoneHold | None = None
    olive: End | None = None
    grip_N: Real = between(
        0.0, 5000.0, 0.0, "wires slide in the bone without friction, the cautious choice"
    )
    threaded: Flag = False
    tension_from: Literal["start", "end", "both"] | None = None
    end_tension_N: Real | None = between(0.0, 5000.0, None)
    order: Whole | None = between(1, 1000, None)
    tensioner_drop_percent: Real | None = between(0.0, 90.0, None)
    slip_N: Real | None = between(1.0, 1e5, None)
    bolt_torque_Nm: Real | None = between(0.1, 100.0, None)
    post_diameter_mm: Real | None = between(2.0, 40.0, None)
    free_share: Real = between(0.1, 1.0, 1.0)
    yield_MPa: Real = between(10.0, 5000.0, 900.0, "cold-drawn fixation wire, from memory")
    density_kg_per_m3: Real = Field(default_factory=_default_density, ge=100.0, le=25_000.0)

    @property
    def tension(self) -> float:
        """Tension at its start, N."""
        if self.tension_N is not None:
            return self.tension_N
        return (self.tension_kgf or 0.0) * STANDARD_GRAVITY

    @property
    def end_tension(self) -> float:
        """Tension at its end, N."""
        return self.tension if self.end_tension_N is None else self.end_tension_N

    @property
    def pulled(self) -> tuple[End, ...]:
        """Ends at which it is pulled: tension_from; without that, the end away from an olive (the
        bead would pull the bone along on its own side), and both ends without an olive."""
        if self.tension_from == "both":
            return ENDS
        if self.tension_from is not None:
            return (self.tension_from,)
        if self.olive is not None:
            return ("end",) if self.olive == "start" else ("start",)
        return ENDS

    @property
    def slip(self) -> float:
        """Load at which each clamp lets it slip, N: slip_N, or so much for each newton metre of
        bolt_torque_Nm (`frames.sizes.SLIP_N_PER_NM`); infinite when neither is given."""
        if self.bolt_torque_Nm is not None:
            return SLIP_N_PER_NM * self.bolt_torque_Nm
        return math.inf if self.slip_N is None else self.slip_N


class Pin(Elastic):
    """A half-pin: clamped on a ring at one end, held by the bone at the other.

    bearing_deg : side from which it enters the bone. offset_mm, face or height_mm : as for a
    wire. tilt_deg : its line leaves the ring's plane by this angle, the clamped end raised when
    positive. cortices : 1 for a pin that ends in the near cortex, 2 for one that holds in the far
    one too. post_diameter_mm : diameter of the post on which its clamp stands, None for a clamp
    that does not give. yield_MPa : 700 stands for cold-worked stainless pins (from memory).
    """

    rules: ClassVar[tuple[Rule, ...]] = (*Elastic.rules, OneOf((("face",), ("height_mm",))))

    name: Name
    ring: Name
    bearing_deg: Real = between(-360.0, 360.0)
    face: Literal["proximal", "distal"] | None = None
    height_mm: Real | None = between(-200.0, 200.0, None)
    diameter_mm: Real = between(2.0, 10.0)
    offset_mm: Real = between(-100.0, 100.0, 0.0)
    tilt_deg: Real = between(-45.0, 45.0, 0.0)
    cortices: Whole = between(1, 2, 2)
    post_diameter_mm: Real | None = between(2.0, 40.0, None)
    yield_MPa: Real = between(10.0, 5000.0, 700.0, "cold-worked pins, from memory")


def wire_height(wire: Wire | Pin, ring: Ring) -> float:
    """Height (mm, proximal positive) of a wire's or pin's axis above its ring's mid-plane.

    On a face it touches the ring: half the ring's thickness plus half its own diameter.
    """
    if wire.height_mm is not None:
        return wire.height_mm
    clear = ring.thickness_mm / 2 + wire.diameter_mm / 2
    return clear if wire.face == "proximal" else -clear
