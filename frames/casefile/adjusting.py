"""What is done to a frame: rods made longer or shorter, loads that come and go."""

import math
from collections.abc import Mapping, Sequence
from typing import ClassVar, Literal

from pydantic import Field

from frames.casefile.fields import Name, OneOf, Part, Real, Rule, Whole, between
from frames.casefile.rings import Bearing, Rod

_SAME_BEARING_DEG = 1e-6


class NutTurn(Part):
    """The nuts of rods turned, so that two neighbouring rings come apart or together there.

    rings : the two rings. bearings_deg : bearings of the rods meant, in the first of the two;
    None for all rods that join the two as neighbours. lengthen_mm : by how much each of these
    becomes longer between the two rings, or turns : of the nut, each the pitch of the rod's
    thread. when : "after tensioning" or "before tensioning" of the wires, or "on callus", once
    there is callus in the gap.
    """

    rules: ClassVar[tuple[Rule, ...]] = (OneOf((("lengthen_mm",), ("turns",))),)

    name: Name
    rings: tuple[Name, Name]
    bearings_deg: tuple[Bearing, ...] | None = Field(default=None, min_length=1, max_length=100)
    lengthen_mm: Real | None = between(-200.0, 200.0, None)
    turns: Real | None = between(-200.0, 200.0, None)
    when: Literal["after tensioning", "before tensioning", "on callus"] = "after tensioning"

    def lengthen(self, rod: Rod) -> float:
        """By how much it makes a rod longer between its two rings, mm.

        Raises ValueError for turns of a rod that has no thread.
        """
        if self.lengthen_mm is not None:
            return self.lengthen_mm
        if rod.pitch_mm is None:
            raise ValueError(f'nut turn "{self.name}": {rod.label} has no thread to turn a nut on')
        assert self.turns is not None  # one of the two is there: see rules
        return self.turns * rod.pitch_mm

    def means(self, rod: Rod) -> bool:
        """Whether it means this one of the rods between its rings."""
        return self.bearings_deg is None or any(
            stands_at(rod, self.rings[0], bearing) for bearing in self.bearings_deg
        )


def stands_at(rod: Rod, ring: str, bearing_deg: float) -> bool:
    """Whether a rod stands at a bearing (degrees) in one of its rings."""
    return abs(math.remainder(rod.bearing_in(ring) - bearing_deg, 360.0)) < _SAME_BEARING_DEG


def joins(rod: Rod, rings: Sequence[str], level_of: Mapping[str, float]) -> bool:
    """Whether a rod joins two rings with no ring of its own between them.

    level_of : levels (mm) of the rod's rings by name.
    """
    if not set(rings) <= set(rod.rings):
        return False
    low, high = sorted(level_of[name] for name in rings)
    return not any(low < level_of[name] < high for name in rod.rings)


def turned_rods(
    turned: NutTurn, rods: Sequence[Rod], level_of: Mapping[str, float]
) -> tuple[int, ...]:
    """Numbers (from 0) of the rods whose nuts a nut turn means."""
    return tuple(
        number
        for number, rod in enumerate(rods)
        if joins(rod, turned.rings, level_of) and turned.means(rod)
    )


class History(Part):
    """A load put on from rest and taken off again, so many times."""

    load: Name
    cycles: Whole = between(1, 1000)

    @property
    def label(self) -> str:
        """The load's name."""
        return self.load
