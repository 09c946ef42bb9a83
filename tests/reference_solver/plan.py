"""What a planned frame consists of: parts as points in space with their sections.

Lengths mm, forces N, angles rad unless a name says degrees; axes as in ``space``.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from .sections import Section
from .space import Vector, bearing_of, bearing_vector


@dataclass(frozen=True)
class RingPlan:
    """One ring: centre (3,) of its mid-plane, axes (3, 3), radii of centre line and hole circle.

    ``axes`` has the ring's own x, y, z as columns. ``opening`` is (bearing of its middle, extent)
    in rad about the ring's centre, or None. ``cuts``: bearing (deg) of each joint of its halves ->
    turning stiffness (3,) about tangent, radius and the ring's axis, N mm/rad.
    """

    name: str
    centre: Vector
    axes: Vector
    radius: float
    hole_radius: float
    section: Section
    opening: tuple[float, float] | None
    cuts: dict[float, tuple[float, float, float]]
    side: float

    @property
    def normal(self) -> Vector:
        """Unit vector (3,) along the ring's axis, proximal."""
        return np.asarray(self.axes[:, 2])

    def towards(self, bearing_deg: float) -> Vector:
        """Unit vector (3,) of a bearing in the ring's plane."""
        return np.asarray(self.axes @ bearing_vector(bearing_deg, self.side))

    def at(self, bearing_deg: float, radius: float) -> Vector:
        """Point (3,) of the mid-plane."""
        return np.asarray(self.centre + radius * self.towards(bearing_deg))

    def bearing(self, point: Vector) -> float:
        """Bearing in degrees, 0 to 360, of a point (3,)."""
        return bearing_of(point, self.centre, self.axes, self.side)

    def height(self, point: Vector) -> float:
        """Of a point (3,) above the mid-plane, mm."""
        return float(self.normal @ (point - self.centre))


@dataclass(frozen=True)
class RodPlan:
    """One rod: its rings in order and its attachment points (n, 3) on their hole circles.

    ``axial``: stiffness of each piece between neighbouring rings (N/mm), None for E A / length.
    ``end_turn``: turning stiffness of both ends about the axes across the rod (N mm/rad), None for
    rigid ends.
    """

    rings: tuple[str, ...]
    points: Vector
    section: Section
    axial: float | None = None
    end_turn: float | None = None


@dataclass(frozen=True)
class WirePlan:
    """One wire: clamps (2, 3) start first, cortices (2, 3) in the same order.

    ``post``: section of the posts its clamps stand on, or None.
    """

    name: str
    ring: str
    clamps: Vector
    cortices: Vector
    section: Section
    tension: float
    built_in: bool
    post: Section | None = None

    @property
    def direction(self) -> Vector:
        """Unit vector (3,) from the start clamp to the end clamp."""
        along = self.clamps[1] - self.clamps[0]
        return np.asarray(along / np.linalg.norm(along))

    @property
    def span(self) -> float:
        """Clamp to clamp, mm."""
        return float(np.linalg.norm(self.clamps[1] - self.clamps[0]))


@dataclass(frozen=True)
class PinPlan:
    """One half-pin: its clamp (3,) and the middles (1 or 2, 3) of the walls that hold it.

    ``shift`` (N/mm) and ``turn`` (about the pin, across it; N mm/rad): springs of each wall.
    """

    name: str
    ring: str
    clamp: Vector
    cortices: Vector
    section: Section
    shift: float
    turn: tuple[float, float]
    post: Section | None = None

    @property
    def direction(self) -> Vector:
        """Unit vector (3,) from the clamp into the bone."""
        along = self.cortices[0] - self.clamp
        return np.asarray(along / np.linalg.norm(along))


@dataclass(frozen=True)
class CallusPlan:
    """Springs that callus puts between the faces: sliding and closing N/mm, bending and twist
    N mm/rad."""

    slide: float
    close: float
    bend: float
    twist: float


@dataclass(frozen=True)
class FramePlan:
    """All parts in space. ``bone_levels`` are the proximal end, both fracture faces, distal end."""

    rings: dict[str, RingPlan]
    rods: tuple[RodPlan, ...]
    wires: tuple[WirePlan, ...]
    pins: tuple[PinPlan, ...]
    bone: Section
    bone_levels: tuple[float, float, float, float]
    callus: CallusPlan | None = None

    def on_ring(self, ring: str) -> Iterator[Vector]:
        """Points (3,) of everything that attaches to a ring."""
        for wire in self.wires:
            if wire.ring == ring:
                yield from wire.clamps
        for pin in self.pins:
            if pin.ring == ring:
                yield pin.clamp
        for rod in self.rods:
            for name, point in zip(rod.rings, rod.points, strict=True):
                if name == ring:
                    yield point
