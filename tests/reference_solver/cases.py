"""Frames on which the analyser and the fine-mesh model are compared, as complete case files.

``CASES`` maps a short name to a case dict (what a TOML case file parses to). Between them they vary
the number of rings (2 to 5), wires (4 to 10), crossing angle (30 to 90 degrees), wire diameter
(1.5, 1.8, 2.0 mm), tension, leg, ring size and place, hole circle against centre line, wires beside
the bone axis and the hold in the bone. ``four_rings_60`` and ``four_rings_40`` are the two frames
of tests/published/fine_mesh_frames.json; their ``bone_hold`` there is both, here pivot.
Lengths mm, forces N, angles degrees; sizes are invented but within common practice (no source).
"""

from collections.abc import Iterable, Sequence
from copy import deepcopy
from typing import Any

Case = dict[str, Any]
STEEL_200 = {"E_MPa": 200_000.0, "nu": 0.3}
SQUARE = (45.0, 135.0, 225.0, 315.0)


def case_named(name: str, bone_hold: str | None = None) -> Case:
    """A copy of a case that may be changed, with its default ``bone_hold`` replaced if given."""
    case = deepcopy(CASES[name])
    if bone_hold is not None:
        case["model"]["bone_hold"] = bone_hold
    return case


def make_case(
    title: str,
    side: str,
    bone: dict[str, float],
    rings: list[dict[str, Any]],
    rods: list[dict[str, Any]],
    wires: list[dict[str, Any]],
    bone_hold: str = "pivot",
) -> Case:
    base = {"outer_mm": 26.0, "inner_mm": 14.0, "E_MPa": 17_000.0, "gap_mm": 2.0}
    return {
        "case": {"title": title, "side": side, "body_mass_kg": 70.0},
        "bone": {**base, **bone},
        "ring": rings,
        "rod": rods,
        "wire": [{"name": f"W{i}", **wire} for i, wire in enumerate(wires, 1)],
        "model": {"bone_hold": bone_hold, "pretension": "final"},
        "load": [
            {"name": "partial", "axial_N": 200.0},
            {"name": "standing", "axial_N": 700.0},
        ],
    }


def make_rings(levels: Sequence[float], inner: float, **more: Any) -> list[dict[str, Any]]:
    size = {"width_mm": 14.0, "thickness_mm": 5.0, "hole_circle_mm": inner + 14.0, **more}
    return [
        {"name": f"R{i}", "level_mm": level, "inner_diameter_mm": inner, **size}
        for i, level in enumerate(levels, 1)
    ]


def make_rods(n_rings: int, bearings: Iterable[float], diameter: float, **more: Any) -> list[Case]:
    return [
        {"rings": [f"R{i}", f"R{i + 1}"], "bearing_deg": b, "diameter_mm": diameter, **more}
        for i in range(1, n_rings)
        for b in bearings
    ]


def crossed_wires(
    ring: int, bearings: Sequence[float], diameter: float, tension: float
) -> list[Case]:
    """Wires of one ring, on its proximal and distal face in turn."""
    return [
        {
            "ring": f"R{ring}",
            "bearing_deg": bearing,
            "face": ("proximal", "distal")[i % 2],
            "diameter_mm": diameter,
            "tension_N": tension,
        }
        for i, bearing in enumerate(bearings)
    ]


def _published(
    title: str, levels: Sequence[float], radius: float, pair: tuple[float, float], tension: float
) -> Case:
    rings = make_rings(levels, 2 * radius - 14.0, **STEEL_200)
    wires = [w | STEEL_200 for i in range(1, 5) for w in crossed_wires(i, pair, 1.8, tension)]
    ends = {"proximal_end_mm": levels[0] + 30.0, "distal_end_mm": levels[-1] - 30.0}
    return make_case(title, "right", ends, rings, make_rods(4, SQUARE, 5.06, **STEEL_200), wires)


def _two_rings() -> Case:
    rings = make_rings((60.0, -60.0), 150.0, material="stainless steel")
    wires = crossed_wires(1, (45.0, 135.0), 2.0, 1275.0) + crossed_wires(
        2, (40.0, 130.0), 2.0, 1275.0
    )
    bone = {"proximal_end_mm": 110.0, "distal_end_mm": -100.0, "gap_mm": 3.0}
    rods = make_rods(2, (0.0, 90.0, 180.0, 270.0), 6.0, material="stainless steel")
    return make_case("two rings, four wires", "right", bone, rings, rods, wires, "built in")


def _three_rings_left() -> Case:
    rings = make_rings((70.0, -45.0, -130.0), 160.0, material="stainless steel")
    wires = (
        crossed_wires(1, (50.0, 125.0, 88.0), 1.8, 1080.0)
        + crossed_wires(2, (65.0, 110.0), 1.8, 980.0)
        + crossed_wires(3, (30.0, 100.0), 1.8, 1275.0)
    )
    bone = {"proximal_end_mm": 120.0, "distal_end_mm": -175.0, "gap_mm": 1.5}
    rods = make_rods(3, (20.0, 150.0, 260.0), 5.06, material="stainless steel")
    return make_case("three rings on a left leg, seven wires", "left", bone, rings, rods, wires)


def _off_centre() -> Case:
    forward = {"centre_mm": [-10.0, 4.0], "material": "stainless steel"}
    rings = (
        make_rings((140.0, 45.0), 180.0, **forward)
        + make_rings((-40.0,), 160.0, **forward | {"centre_mm": [-8.0, 2.0]})
        + make_rings((-135.0,), 150.0, **forward | {"centre_mm": [-6.0, 0.0]})
    )
    for number, ring in enumerate(rings, 1):
        ring["name"] = f"R{number}"
    wires = (
        crossed_wires(1, (60.0, 120.0), 1.8, 1080.0)
        + crossed_wires(2, (55.0, 115.0), 1.8, 1080.0)
        + crossed_wires(3, (65.0, 125.0), 1.8, 1080.0)
        + crossed_wires(4, (45.0, 120.0), 1.8, 1080.0)
    )
    bone = {"proximal_end_mm": 170.0, "distal_end_mm": -165.0}
    rods = make_rods(4, SQUARE, 5.06, material="stainless steel")
    return make_case("four rings behind the bone axis", "right", bone, rings, rods, wires)


def _offset_wires() -> Case:
    """Thin wires beside the axis, and rings whose hole circle lies outside their centre line."""
    rings = make_rings((120.0, 35.0, -35.0, -120.0), 150.0, material="stainless steel")
    for ring in rings:
        ring |= {"width_mm": 16.0, "thickness_mm": 6.0, "hole_circle_mm": 172.0}
    wires = [w for i in range(1, 5) for w in crossed_wires(i, (55.0, 145.0), 1.5, 883.0)]
    for wire, offset in zip(wires, (4.0, -3.0, -5.0, 2.0, 3.0, 4.0, -4.0, -2.5), strict=True):
        wire["offset_mm"] = offset
    bone = {"proximal_end_mm": 150.0, "distal_end_mm": -150.0, "outer_mm": 28.0}
    rods = make_rods(4, (10.0, 100.0, 190.0, 280.0), 5.06, material="stainless steel")
    return make_case("wires beside the axis", "right", bone, rings, rods, wires, "built in")


def _five_rings_left() -> Case:
    """Aluminium rings of two sizes, ten wires of two diameters, holds of both kinds."""
    aluminium = {"E_MPa": 70_000.0, "nu": 0.33, "width_mm": 18.0, "thickness_mm": 7.0}
    rings = make_rings((160.0, 95.0, 30.0), 170.0, **aluminium, centre_mm=[-5.0, 0.0])
    rings += make_rings((-45.0, -130.0), 150.0, **aluminium, centre_mm=[-5.0, 2.0])
    for number, ring in enumerate(rings, 1):
        ring["name"] = f"R{number}"
        ring["hole_circle_mm"] = ring["inner_diameter_mm"] + 22.0
    wires = (
        crossed_wires(1, (75.0, 105.0), 2.0, 1275.0)
        + crossed_wires(2, (60.0, 130.0), 1.8, 1080.0)
        + crossed_wires(3, (50.0, 110.0), 1.8, 1080.0)
        + crossed_wires(4, (35.0, 125.0), 1.8, 1180.0)
        + crossed_wires(5, (40.0, 100.0), 2.0, 1275.0)
    )
    for wire in wires[::3]:
        wire["bone_hold"] = "built in"
    bone = {"proximal_end_mm": 190.0, "distal_end_mm": -160.0, "gap_mm": 4.0}
    rods = make_rods(5, (15.0, 105.0, 195.0, 285.0), 6.0, material="stainless steel")
    return make_case("five aluminium rings, left leg", "left", bone, rings, rods, wires)


CASES: dict[str, Case] = {
    "four_rings_60": _published(
        "four rings, wires crossing at 60 degrees",
        (140.0, 40.0, -40.0, -140.0),
        87.0,
        (60.0, 120.0),
        1080.0,
    ),
    "four_rings_40": _published(
        "larger rings, wires crossing at 40 degrees",
        (120.0, 35.0, -35.0, -120.0),
        97.0,
        (70.0, 110.0),
        900.0,
    ),
    "two_rings": _two_rings(),
    "three_rings_left": _three_rings_left(),
    "off_centre": _off_centre(),
    "offset_wires": _offset_wires(),
    "five_rings_left": _five_rings_left(),
}
