"""Frames of real parts on which the analyser and the fine-mesh model are compared.

Wires and half-pins aslant and beside the bone axis, on posts, in one cortex and in both; rings
tilted, open and in halves; struts, telescopic rods, rods with ends that turn; callus in the gap.
``REAL_CASES`` maps a short name to a case dict. Lengths mm, forces N, angles degrees; all frames
are invented (sizes within common practice, no source).
"""

from collections.abc import Sequence
from typing import Any

from .cases import SQUARE, Case, crossed_wires, make_case, make_rings, make_rods

STEEL = {"material": "stainless steel"}
LEVELS = (130.0, 45.0, -45.0, -130.0)
ENDS = {"proximal_end_mm": 165.0, "distal_end_mm": -165.0}


def _with(parts: Sequence[Case], keys: Sequence[Case]) -> list[Case]:
    """Each part with keys of its own."""
    return [part | own for part, own in zip(parts, keys, strict=True)]


def _pairs(bearings: Sequence[tuple[float, float]], tension: float = 1080.0) -> list[Case]:
    """Two crossed wires of 1.8 mm on each ring."""
    return [w for i, pair in enumerate(bearings, 1) for w in crossed_wires(i, pair, 1.8, tension)]


def _pin(name: str, ring: str, bearing: float, height: float, **more: Any) -> Case:
    where = {"name": name, "ring": ring, "bearing_deg": bearing, "height_mm": height}
    return {**where, "diameter_mm": 6.0, **STEEL, **more}


def _tilted_wires() -> Case:
    """Wires out of the rings' planes and beside the axis, held in both ways; a left leg."""
    wires = _pairs(((55.0, 125.0), (65.0, 115.0), (60.0, 130.0), (50.0, 120.0)))
    wires = _with(
        wires,
        [
            {"tilt_deg": 8.0, "offset_mm": 4.0, "bone_hold": "built in"},
            {"tilt_deg": -5.0, "offset_mm": -3.0},
            {"tilt_deg": 12.0},
            {"tilt_deg": -10.0, "offset_mm": 5.0},
            {"tilt_deg": 6.0, "offset_mm": -5.0, "bone_hold": "built in"},
            {"tilt_deg": 10.0, "offset_mm": 2.0},
            {"tilt_deg": -15.0, "offset_mm": 3.0, "bone_hold": "built in"},
            {"tilt_deg": 4.0, "offset_mm": -4.0},
        ],
    )
    rings = make_rings(LEVELS, 160.0, **STEEL, centre_mm=[-6.0, 3.0])
    rods = make_rods(4, SQUARE, 6.0, **STEEL)
    return make_case("wires aslant", "left", ENDS, rings, rods, wires)


def _wires_on_posts() -> Case:
    """Two rings, on each two wires on its faces and two on posts, aslant and beside the axis."""
    rings = make_rings((70.0, -70.0), 150.0, **STEEL, centre_mm=[-5.0, 0.0])
    for ring in rings:
        ring |= {"width_mm": 18.0, "thickness_mm": 8.0, "hole_circle_mm": 170.0}
    wires = crossed_wires(1, (50.0, 130.0), 1.8, 1080.0)
    wires += crossed_wires(2, (45.0, 125.0), 1.8, 980.0)
    more = {"diameter_mm": 1.8, "tension_N": 880.0, "post_diameter_mm": 8.0}
    wires += [
        more | {"ring": ring, "bearing_deg": bearing, "height_mm": h, "tilt_deg": t, "offset_mm": o}
        for ring, bearing, h, t, o in (
            ("R1", 75.0, 34.0, 5.0, 4.0),
            ("R1", 165.0, 24.0, -2.0, -3.0),
            ("R2", 10.0, -22.0, 3.0, 2.0),
            ("R2", 95.0, -32.0, -6.0, -4.0),
        )
    ]
    ends = {"proximal_end_mm": 115.0, "distal_end_mm": -115.0}
    rods = make_rods(2, (0.0, 60.0, 190.0, 290.0), 8.0, **STEEL)
    return make_case("wires on posts", "right", ends, rings, rods, wires, "built in")


def _hybrid(cortices: int) -> Case:
    """Wires and half-pins on an open ring, half-pins alone or with a wire farther down."""
    rings = make_rings((120.0, -40.0, -110.0), 160.0, **STEEL)
    for ring in rings:
        ring |= {"width_mm": 18.0, "thickness_mm": 8.0, "hole_circle_mm": 178.0}
    rings[0] |= {"arc_deg": 280.0, "opening_bearing_deg": 180.0}
    wires = crossed_wires(1, (60.0, 115.0), 1.8, 690.0) + crossed_wires(3, (70.0,), 1.8, 980.0)
    rods = make_rods(3, (40.0, 120.0, 240.0, 320.0), 8.0, **STEEL)
    case = make_case("half-pins and wires", "right", ENDS, rings, rods, wires)
    posts = {"post_diameter_mm": 12.0}
    case["pin"] = [
        _pin("P1", "R1", 15.0, 22.0, cortices=cortices, offset_mm=3.0, tilt_deg=5.0, **posts),
        _pin("P2", "R1", 330.0, -20.0, cortices=cortices, tilt_deg=-6.0),
        _pin("P3", "R2", 20.0, 18.0, cortices=cortices, tilt_deg=-8.0, diameter_mm=5.0),
        _pin("P4", "R2", 80.0, -18.0, cortices=cortices, offset_mm=-4.0, **posts),
        _pin("P5", "R3", 10.0, -25.0, cortices=cortices, tilt_deg=10.0, offset_mm=2.0, **posts),
        _pin("P6", "R3", 290.0, 14.0, cortices=cortices),
    ]
    return case


def _tilted_rings() -> Case:
    """Rings aslant to the bone, off its axis, with rods at their own bearings."""
    rings = make_rings(LEVELS, 170.0, **STEEL, centre_mm=[-5.0, 3.0])
    keys: list[Case] = [
        {"tilt_deg": 12.0, "tilt_bearing_deg": 20.0},
        {"tilt_deg": -8.0, "tilt_bearing_deg": 100.0},
        {},
        {"tilt_deg": 15.0, "tilt_bearing_deg": 250.0},
    ]
    wires = _pairs(((60.0, 120.0), (55.0, 115.0), (65.0, 125.0), (50.0, 120.0)))
    more: list[Case] = [{} for _ in wires]
    more[0] = {"offset_mm": 4.0, "tilt_deg": 6.0}
    more[2] = {"offset_mm": -5.0, "bone_hold": "built in"}
    more[7] = {"tilt_deg": -8.0, "offset_mm": 3.0, "bone_hold": "built in"}
    rods = make_rods(4, SQUARE, 6.0, **STEEL)
    return make_case("rings aslant", "left", ENDS, _with(rings, keys), rods, _with(wires, more))


def _ring_halves() -> Case:
    """Rings in halves: bolted with a stiffness given, bolted as by default, hinged. Of the two
    below, rods hold one half, and the other, with half-pins, hangs on the joints."""
    rings = make_rings((130.0, 45.0, -60.0), 160.0, **STEEL)
    for ring in rings:
        ring |= {"width_mm": 16.0, "thickness_mm": 6.0, "hole_circle_mm": 176.0}
    rings[0] |= {"halves": "bolted", "split_bearing_deg": 10.0, "joint_Nm_per_deg": 20.0}
    rings[1] |= {"halves": "bolted", "split_bearing_deg": 0.0}
    rings[2] |= {"halves": "hinged", "split_bearing_deg": 170.0, "joint_Nm_per_deg": 40.0}
    rods = make_rods(2, (40.0, 140.0, 215.0, 325.0), 8.0, **STEEL)
    rods += make_rods(3, (205.0, 235.0, 305.0, 335.0), 8.0, **STEEL)[4:]
    wires = crossed_wires(1, (60.0, 120.0), 1.8, 1080.0)
    case = make_case("rings in halves", "right", ENDS, rings, rods, wires)
    case["pin"] = [
        _pin("P1", "R2", 70.0, 14.0),
        _pin("P2", "R2", 255.0, -14.0),
        _pin("P3", "R3", 40.0, 14.0),
        _pin("P4", "R3", 120.0, -14.0),
        _pin("P5", "R3", 270.0, -22.0),
    ]
    return case


def _struts() -> Case:
    """Six hinged struts from ring to ring, telescopic rods above them, washers below."""
    rings = make_rings((130.0, 55.0, -55.0, -130.0), 160.0, **STEEL)
    telescopic = {"axial_N_per_mm": 300.0, "ends": "conical washers", "end_Nm_per_deg": 8.0}
    rods = make_rods(2, (45.0, 180.0, 315.0), 10.0, **telescopic)
    rods += [
        {"rings": ["R3", "R2"], "bearings_deg": [a, b], "diameter_mm": 9.0, "ends": "hinged"}
        for a, b in ((0, 50), (120, 70), (120, 170), (240, 190), (240, 290), (0, 310))
    ]
    below = ({"bearing_deg": b, "ends": "conical washers"} for b in (30.0, 150.0, 210.0, 330.0))
    rods += [rod | {"rings": ["R3", "R4"], "diameter_mm": 6.0} for rod in below]
    wires = _pairs(((60.0, 120.0), (57.0, 122.0), (60.0, 120.0), (65.0, 115.0)))
    rods = [rod | STEEL for rod in rods]
    return make_case("struts, telescopic rods, washers", "right", ENDS, rings, rods, wires)


def _callus() -> Case:
    """A soft tube of callus of its own size in the gap of a frame of two rings."""
    rings = make_rings((60.0, -60.0), 150.0, **STEEL)
    wires = _pairs(((50.0, 130.0), (40.0, 120.0)))
    callus = {"E_MPa": 5.0, "nu": 0.35, "outer_mm": 30.0, "inner_mm": 10.0, "thickness_mm": 5.0}
    bone = {"proximal_end_mm": 75.0, "distal_end_mm": -75.0, "gap_mm": 3.0, "callus": callus}
    rods = make_rods(2, SQUARE, 6.0, **STEEL)
    return make_case("callus in the gap", "right", bone, rings, rods, wires)


def _everything() -> Case:
    """All of these in one frame of a left leg."""
    case = _hybrid(2)
    case["case"] |= {"title": "every kind of part", "side": "left"}
    case["bone"] |= {"gap_mm": 2.5, "callus": {"E_MPa": 10.0}}
    rings = case["ring"]
    rings[0] |= {"tilt_deg": 8.0, "tilt_bearing_deg": 60.0, "centre_mm": [-6.0, 2.0]}
    rings[1] |= {"tilt_deg": -5.0, "tilt_bearing_deg": 10.0, "centre_mm": [-4.0, -2.0]}
    rings[2] |= {"halves": "bolted", "split_bearing_deg": 100.0, "centre_mm": [-3.0, 0.0]}
    case["wire"][1] |= {"tilt_deg": 9.0, "offset_mm": -4.0, "bone_hold": "built in"}
    case["wire"][2] |= {"tilt_deg": -7.0, "offset_mm": 5.0}
    for rod in case["rod"][4:]:
        rod |= {"ends": "conical washers", "axial_N_per_mm": 4000.0}
    return case


REAL_CASES: dict[str, Case] = {
    "tilted_wires": _tilted_wires(),
    "wires_on_posts": _wires_on_posts(),
    "pins_in_both_cortices": _hybrid(2),
    "pins_in_one_cortex": _hybrid(1),
    "tilted_rings": _tilted_rings(),
    "ring_halves": _ring_halves(),
    "struts": _struts(),
    "callus": _callus(),
    "everything": _everything(),
}
