"""Straight parts of a frame as round bars from fixing to fixing.

What rods, wires and pins stand out beyond their fixings is left out, and so are nuts, bolts and
clamps. A threaded rod is as thick as its nominal diameter.
"""

from dataclasses import dataclass
from itertools import pairwise

from fem.algebra import Array
from frames.construct import Construct, RodPlace, rod_name


@dataclass(frozen=True)
class Bar:
    """A round bar: name and kind of its part, names it is fixed to, ends, radius (mm)."""

    name: str
    kind: str
    fixed_to: frozenset[str]
    start: Array
    end: Array
    radius: float

    @property
    def label(self) -> str:
        """What a reader calls it: its kind and name."""
        return called(self.kind, self.name)


def called(kind: str, name: str) -> str:
    """Kind and name; a name that tells the kind (``rod R1-R2 at 30° (1)``) stands for itself."""
    return name if kind in name.split() else f"{kind} {name}"


def bars_of(place: Construct) -> list[Bar]:
    """All bars of a frame, a rod's pieces one by one."""
    bars = []
    for i, rod in enumerate(place.rods):
        name, ends = rod_name(i, rod), frozenset(rod.rings)
        for a, b in pairwise(rod.points):
            bars.append(Bar(name, "rod", ends, a, b, _rod_diameter(rod) / 2.0))
    for wire in place.wires:
        own = frozenset({wire.wire.ring, *(p.name for p in wire.posts)})
        start, *_, end = wire.stations
        bars.append(Bar(wire.wire.name, "wire", own, start, end, wire.wire.diameter_mm / 2.0))
    for pin in place.pins:
        own = frozenset({pin.pin.ring, *(p.name for p in pin.posts)})
        start, *_, end = pin.stations
        bars.append(Bar(pin.pin.name, "half-pin", own, start, end, pin.pin.diameter_mm / 2.0))
    for holder in place.holders:
        for post in holder.posts:
            own = frozenset({holder.part.ring, holder.part.name})
            foot, top = post.points
            bars.append(Bar(post.name, "post", own, foot, top, post.diameter_mm / 2.0))
    return bars


def _rod_diameter(rod: RodPlace) -> float:
    thread = rod.rod.thread
    return float(thread[1:]) if thread is not None else rod.rod.effective_diameter_mm
