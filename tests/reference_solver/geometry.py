"""Where the parts of a case lie: from the parsed case file to points in space.

Axes: origin at the gap centre on the bone axis, x anterior, y towards the patient's left,
z proximal; mm, N, MPa, rad. A bearing runs from anterior towards medial, and medial is +y on a
right leg and -y on a left one, so with s = +1 (right) or -1 (left)

    d(bearing) = (cos bearing, s sin bearing, 0)

A wire's line is offset_mm d(bearing + 90) + t d(bearing) at the level of the ring plus the wire's
height; it is clamped where it meets the hole circle about the ring's centre (its start at the
larger t) and held where it meets the bone's outer surface.

Written from the case file's description alone and kept apart from the analyser it checks. What the
reference cannot model raises ``ValueError`` with the key's name instead of being passed over.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import atan2, cos, degrees, hypot, radians, sin, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .sections import Section, rectangle, round_section

Vector = NDArray[np.float64]
MATERIALS = {"stainless steel": (193_000.0, 0.3)}
STANDARD_GRAVITY = 9.80665
COARSE_PITCH = {"M5": 0.8, "M6": 1.0, "M8": 1.25}  # mm, ISO 261
NOT_MODELLED = ("tilt_deg", "olive", "grip_N")


@dataclass(frozen=True)
class RingPlan:
    """One ring: centre (3,) of its mid-plane, radii of centre line and hole circle, section.

    ``opening`` is (bearing of its middle, extent) in rad about the ring's centre, or None.
    """

    name: str
    centre: Vector
    radius: float
    hole_radius: float
    section: Section
    opening: tuple[float, float] | None


@dataclass(frozen=True)
class RodPlan:
    """One rod: its rings in order and its attachment points (n, 3) on their hole circles."""

    rings: tuple[str, ...]
    points: Vector
    section: Section


@dataclass(frozen=True)
class WirePlan:
    """One wire: clamps (2, 3) start first, cortices (2, 3) in the same order, bone axis point."""

    name: str
    ring: str
    clamps: Vector
    cortices: Vector
    axis_point: Vector
    section: Section
    tension: float
    built_in: bool

    @property
    def direction(self) -> Vector:
        """Unit vector (3,) from the start clamp to the end clamp."""
        along = self.clamps[1] - self.clamps[0]
        return along / np.linalg.norm(along)

    @property
    def span(self) -> float:
        """Clamp to clamp, mm."""
        return float(np.linalg.norm(self.clamps[1] - self.clamps[0]))


@dataclass(frozen=True)
class FramePlan:
    """All parts in space. ``bone_levels`` are the proximal end, both fracture faces, distal end."""

    rings: dict[str, RingPlan]
    rods: tuple[RodPlan, ...]
    wires: tuple[WirePlan, ...]
    bone: Section
    bone_levels: tuple[float, float, float, float]
    side: float


def plan_frame(case: Mapping[str, Any]) -> FramePlan:
    """Read a case dict (tables case, bone, ring, rod, wire, model) into points in space."""
    side = {"right": 1.0, "left": -1.0}[case["case"]["side"]]
    model = case.get("model", {})
    if model.get("pretension", "final") != "final":
        raise ValueError('model.pretension: the reference model knows "final" only')
    bone = case["bone"]
    if {"contact", "callus"} & set(bone):
        raise ValueError("bone: the reference model has an open gap, no contact and no callus")
    rings = {ring["name"]: _ring(ring, side) for ring in case["ring"]}
    half = 0.5 * bone["gap_mm"]
    return FramePlan(
        rings=rings,
        rods=tuple(_rod(rod, rings, side) for rod in case.get("rod", [])),
        wires=tuple(_wire(wire, case, rings, side) for wire in case["wire"]),
        bone=round_section(bone["outer_mm"], bone["E_MPa"], bone.get("nu", 0.3), bone["inner_mm"]),
        bone_levels=(bone["proximal_end_mm"], half, -half, bone["distal_end_mm"]),
        side=side,
    )


def bearing_vector(bearing_deg: float, side: float) -> Vector:
    """Unit vector (3,) of a bearing; ``side`` +1 on a right leg, -1 on a left leg."""
    angle = radians(bearing_deg)
    return np.array([cos(angle), side * sin(angle), 0.0])


def bearing_of(point: Vector, centre: Vector, side: float) -> float:
    """Bearing in degrees, 0 to 360, of a point (3,) about a ring's centre (3,)."""
    across = point - centre
    return degrees(atan2(side * across[1], across[0])) % 360.0


def _material(part: Mapping[str, Any]) -> tuple[float, float]:
    if "E_MPa" in part:
        return part["E_MPa"], part.get("nu", 0.3)
    return MATERIALS[part.get("material", "stainless steel")]


def _ring(ring: Mapping[str, Any], side: float) -> RingPlan:
    anterior, medial = ring.get("centre_mm", (0.0, 0.0))
    section = rectangle(ring["width_mm"], ring["thickness_mm"], *_material(ring))
    missing = 360.0 - ring.get("arc_deg", 360.0)
    opening = None
    if missing > 0.0:
        opening = (radians(ring["opening_bearing_deg"]), radians(missing))
    return RingPlan(
        name=ring["name"],
        centre=np.array([anterior, side * medial, ring["level_mm"]]),
        radius=0.5 * ring["inner_diameter_mm"] + 0.5 * ring["width_mm"],
        hole_radius=0.5 * ring["hole_circle_mm"],
        section=section.scaled(ring.get("section_factor", 1.0)),
        opening=opening,
    )


def _rod(rod: Mapping[str, Any], rings: dict[str, RingPlan], side: float) -> RodPlan:
    along = bearing_vector(rod["bearing_deg"], side)
    names = tuple(rod["rings"])
    if "diameter_mm" in rod:
        diameter = rod["diameter_mm"]
    else:  # ISO 898-1 stress diameter d - 0.9382 P
        diameter = float(rod["thread"][1:]) - 0.9382 * COARSE_PITCH[rod["thread"]]
    points = np.array([rings[name].centre + rings[name].hole_radius * along for name in names])
    return RodPlan(names, points, round_section(diameter, *_material(rod)))


def _wire(
    wire: Mapping[str, Any], case: Mapping[str, Any], rings: dict[str, RingPlan], side: float
) -> WirePlan:
    name = wire["name"]
    for key in NOT_MODELLED:
        if wire.get(key):
            raise ValueError(f"wire {name}: the reference model does not know {key}")
    ring = rings[wire["ring"]]
    diameter = wire["diameter_mm"]
    if "height_mm" in wire:
        height = wire["height_mm"]
    else:
        thickness = next(r["thickness_mm"] for r in case["ring"] if r["name"] == ring.name)
        height = {"proximal": 1.0, "distal": -1.0}[wire["face"]] * 0.5 * (thickness + diameter)
    axis_point = np.array([0.0, 0.0, ring.centre[2] + height])
    along = bearing_vector(wire["bearing_deg"], side)
    offset = wire.get("offset_mm", 0.0)
    origin = axis_point + offset * bearing_vector(wire["bearing_deg"] + 90.0, side)
    hold = wire.get("bone_hold", case.get("model", {}).get("bone_hold", "pivot"))
    tension = wire["tension_N"] if "tension_N" in wire else wire["tension_kgf"] * STANDARD_GRAVITY
    return WirePlan(
        name=name,
        ring=ring.name,
        clamps=_crossings(origin, along, ring.centre, ring.hole_radius, f"{name}: hole circle"),
        cortices=_crossings(
            origin, along, axis_point, 0.5 * case["bone"]["outer_mm"], f"{name}: bone"
        ),
        axis_point=axis_point,
        section=round_section(diameter, *_material(wire)),
        tension=tension,
        built_in={"pivot": False, "built in": True}[hold],
    )


def _crossings(origin: Vector, along: Vector, centre: Vector, radius: float, what: str) -> Vector:
    """Where origin + t along meets the circle: (2, 3), the larger t first."""
    from_centre = origin[:2] - centre[:2]
    middle = -float(from_centre @ along[:2])
    nearest = hypot(*(from_centre + middle * along[:2]))
    if nearest >= radius:
        raise ValueError(f"{what} of radius {radius} mm is missed by {nearest - radius:.3g} mm")
    half = sqrt(radius**2 - nearest**2)
    return np.array([origin + (middle + half) * along, origin + (middle - half) * along])
