"""The leg round the bone: its outline at levels, corridors for wires, wounds, and the room that is
asked for between leg, rings and wires."""

from typing import Annotated, ClassVar

from pydantic import Field

from frames.casefile.fields import Name, Needs, OneOf, Part, Real, Rule, Shift, between
from frames.casefile.rings import Bearing

Width = Annotated[Real, Field(ge=5.0, le=400.0)]


class Limb(Part):
    """The leg's outline at one level, from which levels between are interpolated.

    widths_mm : from the bone axis to the skin in four directions (anterior, medial, posterior,
    lateral); or girth_mm : round the leg, taken as a circle about centre_mm (anterior, medial, from
    the bone axis).
    """

    rules: ClassVar[tuple[Rule, ...]] = (
        OneOf((("widths_mm",), ("girth_mm",))),
        Needs("centre_mm", ("girth_mm",)),
    )

    level_mm: Real = between(-1000.0, 1000.0)
    widths_mm: tuple[Width, Width, Width, Width] | None = None
    girth_mm: Real | None = between(60.0, 1500.0, None)
    centre_mm: tuple[Shift, Shift] = (0.0, 0.0)


class Corridor(Part):
    """Directions in which wires and pins may pass the skin, over a range of levels.

    from_bearing_deg, to_bearing_deg : from the first, turning from anterior towards medial, to the
    second, seen from the bone axis. Both ends of a wire have to lie in corridors, of a pin the
    clamped one. from_level_mm, to_level_mm : the levels it holds for. source : the atlas or the
    person it comes from; this program has none of its own.
    """

    name: Name
    from_level_mm: Real = between(-1000.0, 1000.0)
    to_level_mm: Real = between(-1000.0, 1000.0)
    from_bearing_deg: Bearing
    to_bearing_deg: Bearing
    source: Name | None = None


class Wound(Part):
    """Levels, and directions unless all round, over which no wire or pin passes the skin and no
    ring lies."""

    rules: ClassVar[tuple[Rule, ...]] = (
        Needs("from_bearing_deg", ("to_bearing_deg",)),
        Needs("to_bearing_deg", ("from_bearing_deg",)),
    )

    name: Name
    from_level_mm: Real = between(-1000.0, 1000.0)
    to_level_mm: Real = between(-1000.0, 1000.0)
    from_bearing_deg: Bearing | None = None
    to_bearing_deg: Bearing | None = None


class Room(Part):
    """Room asked for, and how much the leg may swell.

    swelling_mm : outwards everywhere, or swelling_percent : of the girth. front_mm, side_mm,
    back_mm : from the swollen leg to a ring. wire_end_mm : from the swollen leg to the clamp of a
    wire. parts_mm : between rods, posts, wires and rings that do not belong together.
    crossing_deg : smallest angle at which the wires of a ring should cross.
    """

    rules: ClassVar[tuple[Rule, ...]] = (
        OneOf((("swelling_mm",), ("swelling_percent",)), required=False),
    )

    swelling_mm: Real | None = between(0.0, 100.0, None)
    swelling_percent: Real | None = between(0.0, 100.0, None)
    front_mm: Real = between(0.0, 200.0, 20.0, "about two fingers; common practice, no source")
    side_mm: Real = between(0.0, 200.0, 20.0, "about two fingers; common practice, no source")
    back_mm: Real = between(0.0, 200.0, 30.0, "more behind; common practice, no source")
    wire_end_mm: Real = between(0.0, 200.0, 10.0, "own choice, no source")
    parts_mm: Real = between(0.0, 50.0, 1.0, "own choice, no source")
    hole_spacing_mm: Real = between(
        0.0, 50.0, 10.0, "holes of rings stand 10 to 12 mm apart; trade, from memory"
    )
    crossing_deg: Real = between(0.0, 90.0, 45.0, "own choice, no source")
