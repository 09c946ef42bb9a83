"""Where the parts of a case lie: from the parsed case file to points in space.

A wire or half-pin at height h of its ring passes at offset_mm from the point where the bone axis
pierces the plane at h above the ring's mid-plane, towards bearing + 90 degrees in that plane; its
line runs along its bearing, raised out of the plane by its tilt at the start. It is clamped where
it meets the cylinder of the hole circle about the ring's axis (its start on the side of its
bearing). Wires are held where they meet the bone's outer surface, half-pins in the middle of the
bone's wall.

A wall of thickness t holds a half-pin of diameter d like an elastic foundation of the bone's own
modulus E (documented convention of the program that is checked, no source):

    E t                 N/mm in every direction,
    E t^3 / 12          N mm/rad across the pin,
    E t (d / 2)^2       N mm/rad about the pin.

Joints of a ring in halves, unless given: G J, E I over 20 mm of the ring's own section (the same).

Callus of thickness h, short against its width, between faces that keep flat: a shear force bends it
over h as well as shearing it,

    1 / slide = h / G As + h^3 / 12 E I,   close = E A / h,   bend = E I / h,   twist = G J / h.

Written from the case file's description alone and kept apart from the analyser it checks. What the
reference cannot model raises ``ValueError`` with the key's name instead of being passed over.
"""

from collections.abc import Mapping
from math import cos, pi, radians, sin
from typing import Any

import numpy as np

from .plan import CallusPlan, FramePlan, PinPlan, RingPlan, RodPlan, WirePlan
from .sections import Section, rectangle, round_section
from .space import UP, Vector, crossings, tilted_axes

MATERIALS = {"stainless steel": (193_000.0, 0.3)}
STANDARD_GRAVITY = 9.80665
COARSE_PITCH = {"M5": 0.8, "M6": 1.0, "M8": 1.25}  # mm, ISO 261
JOINT_MM = 20.0
SHORTEST_POST = 5.0  # mm; a clamp nearer to the ring's mid-plane sits on the ring
NMM_PER_RAD = 1000.0 * 180.0 / pi  # of 1 N m/deg
WASHERS = 5.0  # N m/deg, the case file's default for conical washers
NOT_MODELLED = {
    "wire": ("olive", "grip_N", "threaded", "end_tension_N", "slip_N", "bolt_torque_Nm"),
    "ring": ("joint_play_deg",),
}


def plan_frame(case: Mapping[str, Any]) -> FramePlan:
    """Read a case dict (tables case, bone, ring, rod, wire, pin, model) into points in space."""
    _refuse_unknown(case)
    side = {"right": 1.0, "left": -1.0}[case["case"]["side"]]
    bone = case["bone"]
    rings = {ring["name"]: _ring(ring, side) for ring in case["ring"]}
    half = 0.5 * bone["gap_mm"]
    return FramePlan(
        rings=rings,
        rods=tuple(_rod(rod, rings) for rod in case.get("rod", [])),
        wires=tuple(_wire(wire, case, rings) for wire in case.get("wire", [])),
        pins=tuple(_pin(pin, case, rings) for pin in case.get("pin", [])),
        bone=round_section(bone["outer_mm"], *_bone_material(bone), bone["inner_mm"]),
        bone_levels=(bone["proximal_end_mm"], half, -half, bone["distal_end_mm"]),
        callus=_callus(bone),
    )


def _refuse_unknown(case: Mapping[str, Any]) -> None:
    model = case.get("model", {})
    for key, known in (("pretension", "final"), ("wire_steel", "elastic")):
        if model.get(key, known) != known:
            raise ValueError(f'model.{key}: the reference model knows "{known}" only')
    if "contact" in case["bone"]:
        raise ValueError("bone.contact: the reference model has faces that never meet")
    for kind in ("nut_turn", "history"):
        if case.get(kind):
            raise ValueError(f"{kind}: the reference model does not know it")
    for kind, keys in NOT_MODELLED.items():
        for part in case.get(kind, []):
            for key in keys:
                if part.get(key):
                    raise ValueError(
                        f"{kind} {part['name']}: the reference model does not know {key}"
                    )


def _material(part: Mapping[str, Any]) -> tuple[float, float]:
    if "E_MPa" in part:
        return part["E_MPa"], part.get("nu", 0.3)
    return MATERIALS[part.get("material", "stainless steel")]


def _bone_material(bone: Mapping[str, Any]) -> tuple[float, float]:
    return bone.get("E_MPa", 17_000.0), bone.get("nu", 0.3)


def _ring(ring: Mapping[str, Any], side: float) -> RingPlan:
    anterior, medial = ring.get("centre_mm", (0.0, 0.0))
    section = rectangle(ring["width_mm"], ring["thickness_mm"], *_material(ring))
    section = section.scaled(ring.get("section_factor", 1.0))
    missing = 360.0 - ring.get("arc_deg", 360.0)
    opening = None
    if missing > 0.0:
        opening = (radians(ring["opening_bearing_deg"]), radians(missing))
    middle = ring["inner_diameter_mm"] + ring["width_mm"]
    return RingPlan(
        name=ring["name"],
        centre=np.array([anterior, side * medial, ring["level_mm"]]),
        axes=tilted_axes(ring.get("tilt_deg", 0.0), ring.get("tilt_bearing_deg", 0.0), side),
        radius=0.5 * middle,
        hole_radius=0.5 * ring.get("hole_circle_mm", middle),
        section=section,
        opening=opening,
        cuts=_cuts(ring, section),
        side=side,
    )


def _cuts(ring: Mapping[str, Any], s: Section) -> dict[float, tuple[float, float, float]]:
    halves = ring.get("halves")
    if halves is None:
        return {}
    bolted = (s.G * s.J / JOINT_MM, s.E * s.I2 / JOINT_MM, s.E * s.I3 / JOINT_MM)
    if "joint_Nm_per_deg" in ring:
        bolted = (ring["joint_Nm_per_deg"] * NMM_PER_RAD,) * 3
    first = {"bolted": bolted, "hinged": (bolted[0], bolted[1], 0.0)}[halves]
    bearing = ring.get("split_bearing_deg", 90.0)
    return {bearing % 360.0: first, (bearing + 180.0) % 360.0: bolted}


def _rod(rod: Mapping[str, Any], rings: dict[str, RingPlan]) -> RodPlan:
    bearings = rod.get("bearings_deg") or [rod["bearing_deg"]] * len(rod["rings"])
    there = sorted(zip(rod["rings"], bearings, strict=True), key=lambda at: rings[at[0]].centre[2])
    if "diameter_mm" in rod:
        diameter = rod["diameter_mm"]
    else:  # ISO 898-1 stress diameter d - 0.9382 P
        diameter = float(rod["thread"][1:]) - 0.9382 * COARSE_PITCH[rod["thread"]]
    return RodPlan(
        tuple(name for name, _ in there),
        np.array([rings[name].at(bearing, rings[name].hole_radius) for name, bearing in there]),
        round_section(diameter, *_material(rod)),
        rod.get("axial_N_per_mm"),
        {
            "fixed": None,
            "hinged": 0.0,
            "conical washers": rod.get("end_Nm_per_deg", WASHERS) * NMM_PER_RAD,
        }[rod.get("ends", "fixed")],
    )


def _line(
    part: Mapping[str, Any], case: Mapping[str, Any], ring: RingPlan
) -> tuple[Vector, Vector]:
    """A point on the line of a wire or pin, and its unit direction towards the start."""
    if "height_mm" in part:
        height = part["height_mm"]
    else:
        thickness = next(r["thickness_mm"] for r in case["ring"] if r["name"] == ring.name)
        clear = 0.5 * (thickness + part["diameter_mm"])
        height = {"proximal": clear, "distal": -clear}[part["face"]]
    on_plane = ring.centre + height * ring.normal
    level = (ring.normal @ on_plane) / ring.normal[2]  # of the bone axis in that plane
    aside = ring.towards(part["bearing_deg"] + 90.0)
    tilt = radians(part.get("tilt_deg", 0.0))
    along = cos(tilt) * ring.towards(part["bearing_deg"]) + sin(tilt) * ring.normal
    return level * UP + part.get("offset_mm", 0.0) * aside, along


def _post(part: Mapping[str, Any]) -> Section | None:
    diameter = part.get("post_diameter_mm")
    return None if diameter is None else round_section(diameter, *MATERIALS["stainless steel"])


def _wire(wire: Mapping[str, Any], case: Mapping[str, Any], rings: dict[str, RingPlan]) -> WirePlan:
    name, ring = wire["name"], rings[wire["ring"]]
    origin, along = _line(wire, case, ring)
    hole_circle = (ring.centre, ring.normal, ring.hole_radius, f"{name}: hole circle")
    bone = (np.zeros(3), UP, 0.5 * case["bone"]["outer_mm"], f"{name}: bone")
    hold = wire.get("bone_hold", case.get("model", {}).get("bone_hold", "pivot"))
    tension = wire["tension_N"] if "tension_N" in wire else wire["tension_kgf"] * STANDARD_GRAVITY
    return WirePlan(
        name=name,
        ring=ring.name,
        clamps=crossings(origin, along, *hole_circle),
        cortices=crossings(origin, along, *bone),
        section=round_section(wire["diameter_mm"], *_material(wire)),
        tension=tension,
        built_in={"pivot": False, "built in": True}[hold],
        post=_post(wire),
    )


def _pin(pin: Mapping[str, Any], case: Mapping[str, Any], rings: dict[str, RingPlan]) -> PinPlan:
    name, ring, bone = pin["name"], rings[pin["ring"]], case["bone"]
    origin, along = _line(pin, case, ring)
    hole_circle = (ring.centre, ring.normal, ring.hole_radius, f"{name}: hole circle")
    wall = min(0.5 * (bone["outer_mm"] - bone["inner_mm"]), 0.25 * bone["outer_mm"])
    middle = 0.5 * (bone["outer_mm"] - wall)
    cortices = crossings(origin, along, np.zeros(3), UP, middle, f"{name}: wall of the bone")
    E, _ = _bone_material(bone)
    across = E * wall**3 / 12.0
    about = E * wall * (0.5 * pin["diameter_mm"]) ** 2
    return PinPlan(
        name=name,
        ring=ring.name,
        clamp=crossings(origin, along, *hole_circle)[0],
        cortices=cortices[: pin.get("cortices", 2)],
        section=round_section(pin["diameter_mm"], *_material(pin)),
        shift=E * wall,
        turn=(about, across),
        post=_post(pin),
    )


def _callus(bone: Mapping[str, Any]) -> CallusPlan | None:
    callus = bone.get("callus")
    if callus is None:
        return None
    outer, inner = (callus.get(key, bone[key]) for key in ("outer_mm", "inner_mm"))
    h = callus.get("thickness_mm", bone["gap_mm"])
    s = round_section(outer, callus["E_MPa"], callus.get("nu", 0.3), inner)
    return CallusPlan(
        slide=1.0 / (h / (s.G * s.As2) + h**3 / (12.0 * s.E * s.I2)),
        close=s.E * s.A / h,
        bend=s.E * s.I2 / h,
        twist=s.G * s.J / h,
    )
