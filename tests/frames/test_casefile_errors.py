"""Errors in a case file: those of geometry, those with consequences, all told at once."""

import pickle

import pytest

from frames.casefile import Case, CaseError, Ring, case_from_dict
from tests.frames.casefile_edits import KNOWN_TABLES, OUT, changed, told


def test_the_demo_is_right() -> None:
    assert case_from_dict(changed()).case.title == "Four rings, eight wires (invented demo)"


def test_long_names_are_cut_in_messages() -> None:
    cut = "W" * 59 + "…"
    assert told(changed(("wire.1.name", "W" * 61))) == [
        f'wire "{cut}", name: must not be longer than 60 characters (got "{cut}")'
    ]


@pytest.mark.parametrize(
    ("wire", "height", "words"),
    [
        (0, 30, "level 170 mm, past the proximal end of the bone (at 170 mm): ring \"R1\" is at "
         "140 mm and the wire 30 mm above its mid-plane"),
        (7, -30.5, "level -170.5 mm, past the distal end of the bone (at -170 mm): ring \"R4\" is "
         "at -140 mm and the wire 30.5 mm below its mid-plane"),
        (2, -49.5, "level 0.5 mm, in the fracture gap (-1 to 1 mm): ring \"R2\" is at 50 mm and "
         "the wire 49.5 mm below its mid-plane"),
    ],
)  # fmt: skip
def test_wire_that_runs_in_no_fragment(wire: int, height: float, words: str) -> None:
    raw = changed((f"wire.{wire}.face", OUT), (f"wire.{wire}.height_mm", height))
    assert told(raw) == [f'wire "W{wire + 1}": it would run at {words}']


def test_level_of_a_wire_on_a_face() -> None:
    """On its face the wire's axis is half a ring and half a wire (2.5 + 0.9) off the mid-plane."""
    assert told(changed(("bone.proximal_end_mm", 143.4))) == [
        'wire "W1": it would run at level 143.4 mm, past the proximal end of the bone (at 143.4 '
        'mm): ring "R1" is at 140 mm and the wire 3.4 mm above its mid-plane'
    ]
    case_from_dict(changed(("bone.proximal_end_mm", 143.41)))


def test_share_of_body_weight_needs_the_mass() -> None:
    assert told(changed(("case.body_mass_kg", OUT))) == [
        f'load "{name} weight", body_weight: needs the body\'s mass: give body_mass_kg in [case] '
        "as well"
        for name in ("half", "full")
    ]


def test_geometry_of_a_ring_off_the_bone() -> None:
    lines = told(changed(("ring.0.centre_mm", [-80, 0])))
    assert lines[0] == (
        'ring "R1", centre_mm: the ring does not go round the bone: inner radius 80 mm less 80 mm '
        "off centre leaves 0 mm, and the bone's outer radius is 13 mm"
    )
    # the line at bearing 60 meets the hole circle about (-80, 0) of radius 87 where
    # t = -40 + sqrt(87**2 - (80 sin 60)**2) = 12.6213 mm from the axis
    assert lines[1] == (
        'wire "W1", ring: its clamp at the start would be inside the bone: the hole circle of ring '
        '"R1" (diameter 174 mm) is 12.6213 mm from the bone axis there, and the bone\'s outer '
        "radius is 13 mm"
    )


def test_wire_that_misses_its_hole_circle() -> None:
    lines = told(changed(("ring.0.centre_mm", [-150, 0])))
    assert (
        'wire "W1", ring: the wire\'s line does not meet the hole circle of ring "R1" '
        "(diameter 174 mm)"
    ) in lines


def test_small_ring_is_told_by_its_diameter() -> None:
    raw = changed(
        ("ring.0.centre_mm", OUT), ("ring.0.inner_diameter_mm", 26), ("ring.0.hole_circle_mm", OUT)
    )
    assert told(raw) == [
        'ring "R1", inner_diameter_mm: the ring does not go round the bone: inner radius 13 mm '
        "less 0 mm off centre leaves 13 mm, and the bone's outer radius is 13 mm"
    ]


def test_rings_at_one_level() -> None:
    lines = told(changed(("ring.1.level_mm", 140)))
    assert lines[0] == 'ring "R2", level_mm: ring "R1" is at the same level (got 140)'
    assert lines[1] == (
        'rod 1, rings: rings "R1" and "R2" are at the same level (140 mm): a rod between them has '
        "no length"
    )


def test_bone_ends_inside_the_gap() -> None:
    assert told(changed(("bone.proximal_end_mm", 1), ("bone.distal_end_mm", -0.5))) == [
        "bone, proximal_end_mm: must lie above the proximal face of the gap, at 1 (got 1)",
        "bone, distal_end_mm: must lie below the distal face of the gap, at -1 (got -0.5)",
    ]


def test_attachments_in_the_opening() -> None:
    raw = changed(("ring.0.arc_deg", 280), ("ring.0.opening_bearing_deg", 225))
    assert told(raw) == [
        'rod 3, bearing_deg: there is no hole there: ring "R1" is open from 185° to 265° (got 210)',
        # bearing 60 through the bone axis, seen from the ring's centre 12 mm behind it:
        # t = -6 - sqrt(87**2 - (12 sin 60)**2) = -92.38, end at (-34.19, -80.00) from the centre
        'wire "W1", bearing_deg: its end would be clamped at 246.86° about the ring\'s centre, '
        'but ring "R1" is open from 185° to 265° (got 60)',
    ]


def test_attachments_at_the_ends_of_an_open_ring_hold() -> None:
    raw = changed(("ring.0.arc_deg", 300), ("ring.0.opening_bearing_deg", -180))
    case = case_from_dict(raw)  # rods at 150 and 210 are on the ends, wires within
    assert case.ring[0].arc_deg == 300


def test_two_rods_in_one_hole() -> None:
    assert told(changed(("rod.1.bearing_deg", 30), ("rod.2.bearing_deg", -330))) == [
        'rod 2, bearing_deg: rod 1 already joins rings "R1" and "R2" at this bearing (got 30)',
        'rod 3, bearing_deg: rod 1 already joins rings "R1" and "R2" at this bearing (got -330)',
        'rod 3, bearing_deg: rod 2 already joins rings "R1" and "R2" at this bearing (got -330)',
    ]


def test_secant_needs_a_load_along_the_bone() -> None:
    twist = {"name": "twist", "moment_Nm": [0, 0, 5]}
    nothing = {"name": "nothing", "axial_N": 0}
    for load in (twist, nothing):
        target = {"quantity": "secant_axial_N_per_mm", "load": load["name"], "at_least": 1}
        assert told(changed(("load.1", load), ("target.2", target))) == [
            "target 3, load: secant_axial_N_per_mm needs a load along the bone (axial_N or "
            f'body_weight, not 0); load "{load["name"]}" has none'
        ]


def test_rings_need_room_for_each_other() -> None:
    assert told(changed(("ring.1.level_mm", 137))) == [
        'ring "R2", level_mm: ring "R1" is in the way: their middles are 3 mm apart, and half of '
        "both thicknesses is 5 mm (got 137)"
    ]
    case_from_dict(changed(("ring.1.level_mm", 135)))  # face on face


def test_all_problems_come_at_once_also_between_parts() -> None:
    """Wrong fields do not hide what is wrong between parts, nor raise false alarms."""
    raw = changed(
        ("case.side", OUT),
        ("bone.gap_mm", 400),
        ("ring.1.thickness_mm", "thick"),
        ("ring.1.level_mm", 140),
        ("wire.2.diametr_mm", 1.8),
        ("wire.2.diameter_mm", OUT),
        ("wire.2.ring", "R22"),
        ("wire.4.offset_mm", 20),
        ("wire.4.face", OUT),
        ("rod.11.rings", ["R3", "R3"]),
        ("target.1.load", "run"),
    )
    assert told(raw) == [
        "case, side: is missing",
        "bone, gap_mm: must be at most 300 (got 400)",
        'ring "R2", thickness_mm: must be a number (got "thick")',
        'wire "W3", diametr_mm: unknown key; did you mean diameter_mm?',
        'wire "W5": needs face or height_mm',
        'ring "R2", level_mm: ring "R1" is at the same level (got 140)',
        *(
            f'rod {n}, rings: rings "R1" and "R2" are at the same level (140 mm): a rod between '
            "them has no length"
            for n in (1, 2, 3, 4)
        ),
        'rod 12, rings: ring "R3" is named more than once',
        'wire "W3", ring: there is no ring "R22"; did you mean "R2"?',
        'wire "W5", offset_mm: the wire passes beside the bone: its line must run less than 13 mm '
        "(half of outer_mm in [bone]) from the axis (got 20)",
        'target 2, load: there is no load "run"; known: "first steps", "half weight" and '
        '"full weight"',
    ]


def test_a_ring_without_its_name_does_not_make_others_wrong() -> None:
    assert told(changed(("ring.1.name", OUT))) == ["ring 2, name: is missing"]


def test_not_a_table_and_empty() -> None:
    assert told([]) == ["must be a table of tables (got [])"]
    assert told({}) == [
        "case: is missing: write a table [case]",
        "bone: is missing: write a table [bone]",
        "ring: is missing: write at least one [[ring]]",
        "wire: write at least one [[wire]] or [[pin]]",
    ]
    assert told(changed((" ", 1)) | {3: 4})[:2] == [
        f" : unknown table; known: {KNOWN_TABLES}",
        "3: a table's name must be text",
    ]
    assert told(changed(("bone", [{}]))) == [
        "bone: must be a table, headed [bone] (got a list of tables)"
    ]


def test_too_many_parts() -> None:
    raw = changed()
    raw["load"] = [{"name": f"L{n}", "axial_N": n} for n in range(501)]
    raw["target"] = []
    assert told(raw) == ["load: there must be at most 500 of them (got 501)"]


def test_problem_carries_value_and_allowed() -> None:
    with pytest.raises(CaseError) as caught:
        case_from_dict(changed(("ring.1.width_mm", -3), ("case.side", "up")), "x.toml")
    side, width = caught.value.problems
    assert (width.place, width.value, width.allowed) == ('ring "R2", width_mm', -3, "1 to 100")
    assert (side.place, side.value, side.allowed) == ("case, side", "up", '"left" or "right"')
    again = pickle.loads(pickle.dumps(caught.value))
    assert str(again) == str(caught.value) and again.problems == caught.value.problems


def test_parts_and_case_check_themselves() -> None:
    """Without the case file's door, pydantic's own error carries the same words."""
    with pytest.raises(ValueError, match="material and E_MPa exclude each other"):
        Ring(
            name="R", level_mm=0, inner_diameter_mm=160, width_mm=14, thickness_mm=5,
            material="titanium", E_MPa=1e5, nu=0.3,
        )  # fmt: skip
    with pytest.raises(ValueError, match='there is no ring "R11"'):
        Case.model_validate(changed(("wire.0.ring", "R11")))
    case = case_from_dict(changed())
    with pytest.raises(ValueError, match="frozen"):
        case.ring[0].level_mm = 3.0  # type: ignore[misc]
