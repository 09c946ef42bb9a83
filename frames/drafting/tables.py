"""What is measured on a leg, as tables of a file.

Distances are measured down from the line of the knee joint.
"""

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from frames.casefile.fields import (
    SOURCE,
    Name,
    Needs,
    OneOf,
    Part,
    Real,
    Rule,
    Shift,
    Text,
    between,
)
from frames.casefile.limb import Room, Width
from frames.casefile.loads import Target
from frames.casefile.rings import Bearing
from frames.part_sizes import (
    RING_INNER_MM,
    ROD_LENGTHS_MM,
    WIRE_DIAMETERS_MM,
)
from frames.part_sizes import SOURCE as SIZES

Below = Annotated[Real, Field(ge=-200.0, le=800.0)]
Size = Annotated[Real, Field(ge=10.0, le=1000.0)]
Thin = Annotated[Real, Field(ge=0.5, le=4.0)]


class Leg(Part):
    """title, side, body_mass_kg. ankle_below_knee_mm : from joint line to joint line.
    knee_tilt_deg, ankle_tilt_deg : of the joint lines seen from the front, the medial side higher
    positive."""

    title: Text = "First draft from measurements"
    side: Literal["left", "right"]
    body_mass_kg: Real = between(1.0, 500.0)
    ankle_below_knee_mm: Real = between(100.0, 700.0)
    knee_tilt_deg: Real = between(-15.0, 15.0, 0.0, "joint line square to the bone")
    ankle_tilt_deg: Real = between(-15.0, 15.0, 0.0, "joint line square to the bone")


class Girth(Part):
    """The leg at one distance below the knee: girth_mm, its middle centre_mm (anterior, medial)
    from the bone axis; or widths_mm from the bone axis (anterior, medial, posterior, lateral)."""

    rules: ClassVar[tuple[Rule, ...]] = (
        OneOf((("widths_mm",), ("girth_mm",))),
        Needs("centre_mm", ("girth_mm",)),
    )

    below_knee_mm: Below
    girth_mm: Real | None = between(60.0, 1500.0, None)
    centre_mm: tuple[Shift, Shift] = Field(
        default=(-12.0, 0.0),
        json_schema_extra={SOURCE: "the shin lies forward in the leg; own choice, no source"},
    )
    widths_mm: tuple[Width, Width, Width, Width] | None = None


class Fracture(Part):
    """below_knee_mm : its middle. pattern; obliquity_deg and obliquity_bearing_deg of an oblique
    one, as in a case file; length_mm of a comminuted one, over which bone bears nothing. gap_mm :
    what stays open."""

    rules: ClassVar[tuple[Rule, ...]] = (Needs("obliquity_bearing_deg", ("obliquity_deg",)),)

    below_knee_mm: Below
    pattern: Literal["transverse", "oblique", "comminuted"] = "transverse"
    obliquity_deg: Real | None = between(0.0, 75.0, None)
    obliquity_bearing_deg: Bearing = 0.0
    length_mm: Real | None = between(1.0, 200.0, None)
    gap_mm: Real = between(0.1, 50.0, 2.0, "own choice, no source")


class Shaft(Part):
    """Outer and inner diameter of the shaft of the bone, mm."""

    outer_mm: Real = between(5.0, 100.0, 26.0, "adult shin, 24 to 30 mm, from memory")
    inner_mm: Real = between(0.0, 90.0, 16.0, "cortex of 5 mm, 4 to 6 in adults, from memory")


class Closed(Part):
    """A wound: no ring over it, no wire through it; all round, or between two bearings."""

    rules: ClassVar[tuple[Rule, ...]] = (
        Needs("from_bearing_deg", ("to_bearing_deg",)),
        Needs("to_bearing_deg", ("from_bearing_deg",)),
    )

    name: Name
    from_below_knee_mm: Below
    to_below_knee_mm: Below
    from_bearing_deg: Bearing | None = None
    to_bearing_deg: Bearing | None = None


class Passage(Part):
    """A corridor, as in a case file, by distances below the knee."""

    name: Name
    from_below_knee_mm: Below
    to_below_knee_mm: Below
    from_bearing_deg: Bearing
    to_bearing_deg: Bearing
    source: Name | None = None


class Parts(Part):
    """Parts to hand: inner diameters of rings, lengths of rods, diameters of wires, mm."""

    ring_sizes_mm: tuple[Size, ...] = Field(
        default=RING_INNER_MM, min_length=1, max_length=100, json_schema_extra={SOURCE: SIZES}
    )
    rod_lengths_mm: tuple[Size, ...] = Field(
        default=ROD_LENGTHS_MM, min_length=1, max_length=100, json_schema_extra={SOURCE: SIZES}
    )
    wire_diameters_mm: tuple[Thin, ...] = Field(
        default=WIRE_DIAMETERS_MM, min_length=1, max_length=20, json_schema_extra={SOURCE: SIZES}
    )


class Layout(Part):
    """joint_mm : from a joint line to the middle of the ring next to it. fracture_mm : from the end
    of the fracture to the middle of the ring next to it. apart_mm : between rings of a fragment."""

    joint_mm: Real = between(10.0, 100.0, 25.0, "clear of the joint; common practice, no source")
    fracture_mm: Real = between(10.0, 150.0, 40.0, "common practice, no source")
    apart_mm: Real = between(15.0, 200.0, 40.0, "own choice, no source")


class Measurements(Part):
    """Everything measured; target : as in a case file, under the loads of a draft."""

    leg: Leg
    fracture: Fracture
    girth: tuple[Girth, ...] = Field(min_length=2, max_length=100)
    bone: Shaft = Shaft()
    wound: tuple[Closed, ...] = Field(default=(), max_length=50)
    corridor: tuple[Passage, ...] = Field(default=(), max_length=200)
    room: Room = Room()
    parts: Parts = Parts()
    layout: Layout = Layout()
    target: tuple[Target, ...] = Field(default=(), max_length=500)


SINGLE: dict[str, type[Part]] = {
    "leg": Leg,
    "fracture": Fracture,
    "bone": Shaft,
    "room": Room,
    "parts": Parts,
    "layout": Layout,
}
REPEATED: dict[str, type[Part]] = {
    "girth": Girth,
    "wound": Closed,
    "corridor": Passage,
    "target": Target,
}
