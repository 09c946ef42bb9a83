"""Every kind of error in a case file: its exact words, and that all are told at once."""

import copy
import math
import pickle
import tomllib
from importlib.resources import files
from typing import Any

import pytest

from frames.casefile import Case, CaseError, Ring, case_from_dict

DEMO = tomllib.loads((files("frames") / "demo" / "four_rings.toml").read_text(encoding="utf-8"))
OUT = object()


def changed(*edits: tuple[str, Any]) -> dict[str, Any]:
    """The demo with some values set, or taken out; paths count parts from 0."""
    raw = copy.deepcopy(DEMO)
    for path, value in edits:
        *way, last = [int(step) if step.isdigit() else step for step in path.split(".")]
        place: Any = raw
        for step in way:
            place = place[step]
        if value is OUT:
            del place[last]
        else:
            place[last] = value
    return raw


def told(raw: Any) -> list[str]:
    with pytest.raises(CaseError) as caught:
        case_from_dict(raw, "four_rings.toml")
    lines = str(caught.value).split("\n")
    assert len(lines) == len(caught.value.problems)
    prefix = "four_rings.toml: "
    assert all(line.startswith(prefix) for line in lines)
    return [line.removeprefix(prefix) for line in lines]


def test_the_demo_is_right() -> None:
    assert case_from_dict(changed()).case.title == "Four rings, eight wires (invented demo)"


ONE_FIELD = [
    # numbers
    ("ring.1.width_mm", -3, 'ring "R2", width_mm: must be more than 0 (got -3)'),
    ("ring.1.width_mm", 0.5, 'ring "R2", width_mm: must be at least 1 (got 0.5)'),
    ("ring.1.width_mm", 1e300, 'ring "R2", width_mm: must be at most 100 (got 1e+300)'),
    ("ring.1.width_mm", 10**5000, 'ring "R2", width_mm: must be a number (got about 2^16609)'),
    ("ring.1.width_mm", "14", 'ring "R2", width_mm: must be a number (got "14")'),
    ("ring.1.width_mm", True, 'ring "R2", width_mm: must be a number (got true)'),
    ("ring.1.width_mm", math.nan, 'ring "R2", width_mm: must be a finite number (got nan)'),
    ("ring.1.width_mm", -math.inf, 'ring "R2", width_mm: must be a finite number (got -inf)'),
    ("ring.1.width_mm", [[1, 2], 3], 'ring "R2", width_mm: must be a number (got [[…], 3])'),
    ("ring.1.width_mm", {"a": 1}, 'ring "R2", width_mm: must be a number (got a table)'),
    ("ring.1.width_mm", OUT, 'ring "R2", width_mm: is missing'),
    ("ring.1.arc_deg", 89, 'ring "R2", arc_deg: must be at least 90 (got 89)'),
    ("ring.1.section_factor", 1.2, 'ring "R2", section_factor: must be at most 1 (got 1.2)'),
    ("wire.0.diameter_mm", 0.4, 'wire "W1", diameter_mm: must be at least 0.5 (got 0.4)'),
    ("wire.0.tension_kgf", -1, 'wire "W1", tension_kgf: must be at least 0 (got -1)'),
    ("bone.nu", 0.5, "bone, nu: must be at most 0.49 (got 0.5)"),
    ("bone.gap_mm", 0, "bone, gap_mm: must be more than 0 (got 0)"),
    # lists of numbers
    ("ring.1.centre_mm", [-12], 'ring "R2", centre_mm: must be a list of 2 numbers (got [-12])'),
    ("ring.1.centre_mm", 3, 'ring "R2", centre_mm: must be a list of 2 numbers (got 3)'),
    (
        "ring.1.centre_mm",
        [1, 2, 3],
        'ring "R2", centre_mm: must be a list of 2 numbers (got [1, 2, 3])',
    ),
    ("ring.1.centre_mm", [1, "a"], 'ring "R2", centre_mm, item 2: must be a number (got "a")'),
    ("ring.1.centre_mm", [1, 999], 'ring "R2", centre_mm, item 2: must be at most 200 (got 999)'),
    # words
    ("case.side", "Left", 'case, side: unknown word; did you mean "left"? (got "Left")'),
    ("case.side", "upper", 'case, side: must be "left" or "right" (got "upper")'),
    ("case.title", "", 'case, title: must not be empty (got "")'),
    ("case.title", 7, "case, title: must be text, in quotes (got 7)"),
    (
        "case.title",
        "a\nb",
        'case, title: must be one line without control characters (got "a�b")',
    ),
    ("wire.1.name", " W", 'wire " W", name: must not begin or end with a space (got " W")'),
    (
        "wire.1.name",
        "*",
        'wire "*", name: must be a name; * stands for all parts in a change (got "*")',
    ),
    (
        "wire.1.name",
        5,
        "wire 2, name: must be text, in quotes (got 5)",
    ),
    (
        "wire.1.face",
        "proximl",
        'wire "W2", face: unknown word; did you mean "proximal"? (got "proximl")',
    ),
    (
        "ring.0.material",
        "gold",
        'ring "R1", material: must be "stainless steel", "aluminium", "carbon composite" or '
        '"titanium" (got "gold")',
    ),
    (
        "ring.0.material",
        "titanum",
        'ring "R1", material: unknown word; did you mean "titanium"? (got "titanum")',
    ),
    (
        "rod.2.thread",
        "M12x1",
        'rod 3, thread: must be "M4", "M5", "M6", "M7", "M8" or "M10" (got "M12x1")',
    ),
    (
        "target.1.quantity",
        "torsion_Nm_deg",
        'target 2, quantity: unknown word; did you mean "torsion_Nm_per_deg"? '
        '(got "torsion_Nm_deg")',
    ),
    (
        "load.0.offset_mm",
        [1],
        'load "first steps", offset_mm: must be a list of 2 numbers (got [1])',
    ),
    # keys that go together
    (
        "wire.0.tension_N",
        900,
        'wire "W1": tension_N and tension_kgf exclude each other: give one of them',
    ),
    ("wire.0.tension_kgf", OUT, 'wire "W1": needs tension_N or tension_kgf'),
    ("wire.0.face", OUT, 'wire "W1": needs face or height_mm'),
    ("wire.0.height_mm", 0, 'wire "W1": face and height_mm exclude each other: give one of them'),
    ("rod.0.thread", OUT, "rod 1: needs diameter_mm or thread"),
    ("rod.0.diameter_mm", 5, "rod 1: diameter_mm and thread exclude each other: give one of them"),
    ("rod.0.nu", 0.3, "rod 1, nu: goes with E_MPa, which is not given"),
    ("rod.0.E_MPa", 2e5, "rod 1, E_MPa: goes with nu, which is not given"),
    (
        "wire.0.density_kg_per_m3",
        8000,
        'wire "W1", density_kg_per_m3: goes with E_MPa, which is not given',
    ),
    (
        "ring.0.opening_bearing_deg",
        180,
        'ring "R1", opening_bearing_deg: goes with arc_deg, which is not given',
    ),
    (
        "load.0.axial_N",
        OUT,
        'load "first steps": needs axial_N, body_weight, force_N or moment_Nm',
    ),
    (
        "load.0.body_weight",
        1,
        'load "first steps": axial_N and body_weight exclude each other: give one of them',
    ),
    (
        "load.0.at",
        "ankle",
        'load "first steps", at: goes with force_N or moment_Nm, which is not given',
    ),
    ("target.0.at_least", OUT, "target 1: needs at_least or at_most"),
    # keys
    (
        "wire.0.bone_hld",
        "pivot",
        'wire "W1", bone_hld: unknown key; did you mean bone_hold?',
    ),
    (
        "case.xyz",
        1,
        "case, xyz: unknown key; known here: title, side, body_mass_kg",
    ),
    ("case.side", OUT, "case, side: is missing"),
    (
        "wire.0.olive",
        "start",
        'wire "W1", olive: is not known to this version of the program: take it out',
    ),
    (
        "wire.0.grip_N",
        0,
        'wire "W1", grip_N: is not known to this version of the program: take it out',
    ),
    ("bone.contact", {}, "bone, contact: is not known to this version of the program: take it out"),
    (
        "model.pretension",
        "dialled",
        'model, pretension: "dialled" is not known to this version of the program',
    ),
    # tables
    ("rings", [], "rings: unknown table; did you mean [[ring]]?"),
    (
        "limb",
        {},
        "limb: unknown table; known: [case], [bone], [model], [[ring]], [[rod]], [[wire]], "
        "[[load]], [[target]]",
    ),
    ("ring", {"name": "R1"}, "ring: must be a list of tables, each headed [[ring]] (got a table)"),
    ("rod", 4, "rod: must be a list of tables, each headed [[rod]] (got 4)"),
    ("wire", [], "wire: write at least one [[wire]]"),
    ("wire", OUT, "wire: is missing: write at least one [[wire]]"),
    ("load.1", 5, "load 2: must be a table, headed [[load]] (got 5)"),
    ("rod.0.rings", "R1", 'rod 1, rings: must be a list (got "R1")'),
    ("rod.0.rings", ["R1"], 'rod 1, rings: must be a list of at least 2 (got ["R1"])'),
    # between parts
    ("bone.inner_mm", 26, "bone, inner_mm: must be less than outer_mm (26) (got 26)"),
    (
        "ring.1.name",
        "R1",
        'ring 2, name: ring 1 has this name already (got "R1")',
    ),
    ("wire.1.name", "W1", 'wire 2, name: wire 1 has this name already (got "W1")'),
    (
        "load.1.name",
        "first steps",
        'load 2, name: load 1 has this name already (got "first steps")',
    ),
    ("wire.0.ring", "R11", 'wire "W1", ring: there is no ring "R11"; did you mean "R1"?'),
    (
        "wire.0.ring",
        "upper",
        'wire "W1", ring: there is no ring "upper"; known: "R1", "R2", "R3" and "R4"',
    ),
    ("rod.0.rings", ["R1", "R22"], 'rod 1, rings: there is no ring "R22"; did you mean "R2"?'),
    ("rod.0.rings", ["R1", "R1"], 'rod 1, rings: ring "R1" is named more than once'),
    (
        "ring.1.hole_circle_mm",
        147,
        'ring "R2", hole_circle_mm: must lie on the ring, between its '
        "inner and outer diameter (160 to 188) (got 147)",
    ),
    (
        "wire.0.offset_mm",
        -13,
        'wire "W1", offset_mm: the wire passes beside the bone: its line must run less than 13 mm '
        "(half of outer_mm in [bone]) from the axis (got -13)",
    ),
    (
        "target.2.load",
        OUT,
        "target 3, load: is missing: closing_mm belongs to a load, name which",
    ),
    (
        "target.2.load",
        "first step",
        'target 3, load: there is no load "first step"; did you mean "first steps"?',
    ),
    ("target.2.at_least", 3, "target 3, at_most: must not be less than at_least (3) (got 2.5)"),
]


# an error there leaves others without what they refer to
WITH_CONSEQUENCES = {"ring", "ring.1.name", "load.1.name"}


@pytest.mark.parametrize(("path", "value", "words"), ONE_FIELD, ids=[row[0] for row in ONE_FIELD])
def test_words_of_one_error(path: str, value: Any, words: str) -> None:
    lines = told(changed((path, value)))
    assert words in lines
    assert lines == [words] or path in WITH_CONSEQUENCES


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
        "wire: is missing: write at least one [[wire]]",
    ]
    assert told(changed((" ", 1)) | {3: 4})[:2] == [
        " : unknown table; known: [case], [bone], [model], [[ring]], [[rod]], [[wire]], [[load]], "
        "[[target]]",
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
