"""Where wires and half-pins hold the bone, and the posts on which their clamps stand.

Axes: x anterior, y towards the patient's left, z proximal; origin at the centre of the gap on the
bone axis; mm (``frames.space_line``). A wire's four stations are clamp, cortex, cortex, clamp in
the order start to end. A half-pin has its clamp at the start and goes to the middle of the near
cortex's wall, and of the far one's when it holds there too.

A clamp with a post stands on it over its hole in the ring's mid-plane, when it stands at least
``SHORTEST_POST_MM`` above or below; nearer ones sit on the ring.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from frames.casefile import Case
from frames.casefile.lines import places_of, wall_mm
from frames.casefile.parts import Pin, Ring, Wire
from frames.ring_plane import RingPlane
from frames.space_line import LinePlaces

Array = NDArray[np.float64]

STATIONS = ("start clamp", "start cortex", "end cortex", "end clamp")
PIN_STATIONS = ("pin clamp", "near cortex", "far cortex")
FRAGMENTS = ("distal fragment", "proximal fragment")

SHORTEST_POST_MM = 5.0


def attachment(part: str, where: str) -> str:
    """Name of the node by which a part attaches: ``W1 start clamp``, ``rod R1-R2 at 45° in R1``."""
    return f"{part} {where}"


@dataclass(frozen=True)
class PostPlace:
    """A post: points (2, 3) from the hole in the ring's mid-plane to the clamp it carries."""

    name: str
    clamp: str
    diameter_mm: float
    points: Array


@dataclass(frozen=True)
class WirePlace:
    """A wire in space: stations (4, 3), fragment ("proximal fragment" or "distal fragment"), posts
    of its clamps."""

    wire: Wire
    stations: Array
    fragment: str
    posts: tuple[PostPlace, ...] = ()

    @property
    def legs(self) -> tuple[float, float]:
        """Length from cortex to clamp at start and end, mm."""
        start, end = np.linalg.norm(np.diff(self.stations, axis=0), axis=1)[[0, 2]]
        return float(start), float(end)

    @property
    def level(self) -> float:
        """Where it crosses the bone: mean level of its cortices, mm."""
        return float(self.stations[1, 2] + self.stations[2, 2]) / 2.0

    @property
    def part(self) -> Wire:
        """Its entry in the case file."""
        return self.wire

    @property
    def clamps(self) -> dict[str, Array]:
        """Name and place (3,) of its clamps."""
        return {attachment(self.wire.name, STATIONS[k]): self.stations[k] for k in (0, 3)}


@dataclass(frozen=True)
class PinPlace:
    """A half-pin in space: stations (2 or 3, 3) clamp, middle of the near cortex's wall and of the
    far one's; fragment; post of its clamp if it stands on one."""

    pin: Pin
    stations: Array
    fragment: str
    posts: tuple[PostPlace, ...] = ()

    @property
    def level(self) -> float:
        """Mean level of the cortices that hold it, mm."""
        return float(self.stations[1:, 2].sum()) / (len(self.stations) - 1)

    @property
    def direction(self) -> Array:
        """(3,) unit vector from the clamp into the bone."""
        way = self.stations[1] - self.stations[0]
        return np.asarray(way / np.linalg.norm(way))

    @property
    def part(self) -> Pin:
        """Its entry in the case file."""
        return self.pin

    @property
    def names(self) -> tuple[str, ...]:
        """Names of its stations."""
        return tuple(attachment(self.pin.name, s) for s in PIN_STATIONS[: len(self.stations)])

    @property
    def clamps(self) -> dict[str, Array]:
        """Name and place (3,) of its clamp."""
        return {self.names[0]: self.stations[0]}


def _found(places: LinePlaces, part: Wire | Pin) -> tuple[Array, Array]:
    """(2, 3) clamps and (2, 3) cortices, start first."""
    if places.clamps is None or places.cortices is None:
        missed = "the hole circle" if places.clamps is None else "the bone"
        raise ValueError(
            f"{part.name} at bearing {part.bearing_deg:g}°, offset {part.offset_mm:g} mm misses "
            f"{missed}"
        )
    return np.array(places.clamps), np.array(places.cortices)


def wire_place(case: Case, wire: Wire, ring: Ring, plane: RingPlane, sign: float) -> WirePlace:
    clamps, cortices = _found(places_of(wire, ring, sign, case.bone.outer_mm), wire)
    stations = np.array([clamps[0], cortices[0], cortices[1], clamps[1]])
    bare = WirePlace(wire, stations, "")
    return replace(bare, fragment=fragment_at(bare.level), posts=_posts(bare, plane))


def pin_place(case: Case, pin: Pin, ring: Ring, plane: RingPlane, sign: float) -> PinPlace:
    middle = case.bone.outer_mm - wall_mm(case.bone)
    clamps, cortices = _found(places_of(pin, ring, sign, middle), pin)
    stations = np.array([clamps[0], *cortices[: pin.cortices]])
    bare = PinPlace(pin, stations, "")
    return replace(bare, fragment=fragment_at(bare.level), posts=_posts(bare, plane))


def fragment_at(level: float) -> str:
    """The fragment on whose side of the gap a level lies."""
    return FRAGMENTS[level > 0.0]


def _posts(holder: WirePlace | PinPlace, plane: RingPlane) -> tuple[PostPlace, ...]:
    diameter = holder.part.post_diameter_mm
    if diameter is None:
        return ()
    posts = []
    for name, at in holder.clamps.items():
        x, y, height = plane.own((float(at[0]), float(at[1]), float(at[2])))
        if abs(height) >= SHORTEST_POST_MM:
            points = np.array([plane.in_space(x, y), at])
            posts.append(PostPlace(f"post of {name}", name, diameter, points))
    return tuple(posts)
