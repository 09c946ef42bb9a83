"""The exact words of errors about tilted rings, halves, struts, holds, pins, gap and histories."""

from typing import Any

import pytest

from frames.casefile import case_from_dict
from tests.frames.casefile_edits import CALLUS, DEMO, FULL, OUT, changed, told

P2 = {
    "name": "P",
    "ring": "B",
    "bearing_deg": 30,
    "face": "distal",
    "diameter_mm": 5,
    "cortices": 2,
}

FIELDS = [
    # whole numbers, and true or false
    ("wire.0.order", 2.0, 'wire "a", order: must be a whole number (got 2)'),
    ("wire.0.order", "1", 'wire "a", order: must be a whole number (got "1")'),
    ("wire.0.order", True, 'wire "a", order: must be a whole number (got true)'),
    ("wire.0.order", 0, 'wire "a", order: must be more than 0 (got 0)'),
    ("wire.0.order", 10**400, 'wire "a", order: must be at most 1000 (got about 2^1328)'),
    ("wire.0.threaded", 1, 'wire "a", threaded: must be true or false (got 1)'),
    ("wire.0.threaded", "no", 'wire "a", threaded: must be true or false (got "no")'),
    ("pin.0.cortices", 3, 'pin "p", cortices: must be at most 2 (got 3)'),
    ("model.load_steps", 1e3, "model, load_steps: must be a whole number (got 1000)"),
    ("history.0.cycles", 1001, "history 1, cycles: must be at most 1000 (got 1001)"),
    # limits
    ("ring.0.tilt_deg", 46, 'ring "A", tilt_deg: must be at most 45 (got 46)'),
    ("ring.0.joint_play_deg", -1, 'ring "A", joint_play_deg: must be at least 0 (got -1)'),
    ("wire.0.tilt_deg", -46, 'wire "a", tilt_deg: must be at least -45 (got -46)'),
    ("wire.0.free_share", 0, 'wire "a", free_share: must be more than 0 (got 0)'),
    ("wire.0.free_share", 1.5, 'wire "a", free_share: must be at most 1 (got 1.5)'),
    (
        "wire.0.tensioner_drop_percent",
        95,
        'wire "a", tensioner_drop_percent: must be at most 90 (got 95)',
    ),
    ("pin.0.diameter_mm", 11, 'pin "p", diameter_mm: must be at most 10 (got 11)'),
    ("rod.0.bearings_deg", [10, 400], 'rod "front", bearings_deg, item 2: must be at most 360 '
     "(got 400)"),
    # beside a wrong item the list is not short as well
    ("rod.1.rings", ["A", 5], "rod 2, rings, item 2: must be text, in quotes (got 5)"),
    ("rod.0.bearings_deg", 10, 'rod "front", bearings_deg: must be a list (got 10)'),
    ("nut_turn.1.bearings_deg", [], 'nut_turn "second", bearings_deg: must be a list of at least 1 '
     "(got [])"),
    # words
    ("ring.0.halves", "bolt", 'ring "A", halves: unknown word; did you mean "bolted"? '
     '(got "bolt")'),
    ("rod.0.ends", "ball", 'rod "front", ends: must be "fixed", "conical washers" or "hinged" '
     '(got "ball")'),
    ("wire.0.olive", "both", 'wire "a", olive: must be "start" or "end" (got "both")'),
    ("wire.1.tension_from", "clamp", 'wire "b", tension_from: must be "start", "end" or "both" '
     '(got "clamp")'),
    ("model.wire_steel", "plastic", 'model, wire_steel: unknown word; did you mean '
     '"elastic"? (got "plastic")'),
    ("nut_turn.0.when", "later", 'nut_turn "first", when: must be "after tensioning", "before '
     'tensioning" or "on callus" (got "later")'),
    ("nut_turn.1.lengthen_mm", -196.0, 'nut_turn "second", lengthen_mm: rod "front" would become '
     "196 mm shorter, and only 194 mm lie between its two rings"),
    ("nut_turn.0.when", "on callus", 'nut_turn "first", when: there is no callus to turn on: '
     'give [bone.callus], or another time (got "on callus")'),
    # keys that go together
    ("ring.0.tilt_deg", OUT, 'ring "A", tilt_bearing_deg: goes with tilt_deg, which is not given'),
    ("rod.0.bearing_deg", 3, 'rod "front": bearing_deg and bearings_deg exclude each other: give '
     "one of them"),
    ("rod.1.bearing_deg", OUT, "rod 2: needs bearing_deg or bearings_deg"),
    ("rod.0.ends", OUT, 'rod "front", end_Nm_per_deg: goes with ends, which is not given'),
    ("rod.1.end_Nm_per_deg", 5, 'rod 2, end_Nm_per_deg: goes with ends = "conical washers" only '
     "(got 5)"),
    ("wire.0.bolt_torque_Nm", 5, 'wire "a": slip_N and bolt_torque_Nm exclude each other: give one '
     "of them"),
    ("pin.0.face", "distal", 'pin "p": face and height_mm exclude each other: give one of them'),
    ("nut_turn.0.turns", OUT, 'nut_turn "first": needs lengthen_mm or turns'),
    ("nut_turn.0.lengthen_mm", 1, 'nut_turn "first": lengthen_mm and turns exclude each other: '
     "give one of them"),
    ("ring.0.arc_deg", 300, 'ring "A", halves: two halves make a full ring, and this one is open '
     "(arc_deg = 300): take out one of the two"),
    ("wire.1.grip_N", 10, 'wire "b", threaded: threaded = true and grip_N exclude each other: a '
     "threaded wire does not slide"),
    ("wire.1.olive", "end", 'wire "b", threaded: threaded = true and olive exclude each other: a '
     "threaded wire does not slide"),
    # tables in tables
    ("bone.contact.friction", "rough", 'bone.contact, friction: must be a number (got "rough")'),
    ("bone.contact.points", 7, "bone.contact, points: must be at least 8 (got 7)"),
    ("bone.contact.frction", 0.3, "bone.contact, frction: unknown key; did you mean friction?"),
    ("bone.contact.obliquity_deg", OUT, "bone.contact, obliquity_bearing_deg: goes with "
     "obliquity_deg, which is not given"),
    ("bone.contact", 3, "bone.contact: must be a table, headed [bone.contact] (got 3)"),
    ("bone.contact", [{}], "bone.contact: must be a table, headed [bone.contact] (got a list of "
     "tables)"),
    ("bone.callus", {"E_MPa": 5}, "bone: contact and callus exclude each other: give one of them"),
    ("contact", {}, "contact: unknown table; did you mean [bone.contact]?"),
    # lists of names
    ("nut_turn.1.rings", ["A"], 'nut_turn "second", rings: must be a list of 2 names (got ["A"])'),
    ("nut_turn.1.rings", ["A", 2], 'nut_turn "second", rings, item 2: must be text, in quotes '
     "(got 2)"),
    # tables
    ("pin", {}, "pin: must be a list of tables, each headed [[pin]] (got a table)"),
    ("history.0.load", OUT, "history 1, load: is missing"),
    # between parts
    ("wire.1.name", "a", 'wire 2, name: wire 1 has this name already (got "a")'),
    ("pin.0.name", "a", 'pin 1, name: wire 1 has this name already (got "a")'),
    ("pin.1.name", "p", 'pin 2, name: pin 1 has this name already (got "p")'),
    ("rod.0.bearings_deg", [1, 2, 3], 'rod "front", bearings_deg: must be one bearing for each of '
     "its 2 rings (got [1, 2, 3])"),
    ("rod.0.bearings_deg", [10, 200], 'rod "front", bearings_deg: there is no hole there: ring "B" '
     "is open from 150° to 210° (got 200)"),
    ("rod.0.bearings_deg", [90, -270], 'rod 2, bearing_deg: rod "front" already joins rings "A" '
     'and "B" at this bearing (got 90)'),
    ("pin.0.ring", "C", 'pin "p", ring: there is no ring "C"; known: "A" and "B"'),
    ("pin.0.offset_mm", 14, 'pin "p", offset_mm: the pin passes beside the bone: its line must run '
     "less than 14 mm (half of outer_mm in [bone]) from the axis (got 14)"),
    # offset 1 on a circle of radius 82.5: asin(1/82.5) = 0.695° on
    ("pin.0.bearing_deg", 175, 'pin "p", bearing_deg: it would be clamped at 175.695° about the '
     'ring\'s centre, but ring "B" is open from 150° to 210° (got 175)'),
    ("history.0.load", "walks", 'history 1, load: there is no load "walks"; did you mean "walk"?'),
    ("nut_turn.1.rings", ["A", "C"], 'nut_turn "second", rings: there is no ring "C"; known: "A" '
     'and "B"'),
    ("nut_turn.1.rings", ["A", "A"], 'nut_turn "second", rings: ring "A" is named twice'),
    ("nut_turn.1.bearings_deg", [40, 41], 'nut_turn "second", bearings_deg: no rod from ring "B" '
     'to ring "A" stands there in ring "B"; known: 40°, 90°, 270° (got 41)'),
    ("nut_turn.0.bearings_deg", [90], 'nut_turn "first", turns: rod 2 has no thread of known '
     "pitch: give its thread in place of diameter_mm, or lengthen_mm here in place of turns"),
    ("bone.contact.obliquity_deg", 75, None),
]  # fmt: skip


# a nut turn rests on the bearings of its rods, and its own on its rings
WITH_CONSEQUENCES = {"rod.0.bearings_deg", "nut_turn.1.rings"}


@pytest.mark.parametrize(
    ("path", "value", "words"), FIELDS, ids=[f"{n} {row[0]}" for n, row in enumerate(FIELDS)]
)
def test_words_of_one_error(path: str, value: Any, words: str | None) -> None:
    raw = changed((path, value), base=FULL)
    if words is None:
        case_from_dict(raw)
        return
    lines = told(raw)
    assert words in lines
    assert lines == [words] or path in WITH_CONSEQUENCES


def test_pieces_of_the_full_case() -> None:
    case_from_dict(FULL)
    case_from_dict(CALLUS)


@pytest.mark.parametrize(
    ("outer", "inner", "words"),
    [
        (20, 20, "bone.callus, inner_mm: must be less than the callus's outer_mm (20) (got 20)"),
        (None, 28, "bone.callus, inner_mm: must be less than the bone's outer_mm (28) (got 28)"),
        (15, None, "bone.callus, outer_mm: must be more than the bone's inner_mm (15) (got 15)"),
        (15.1, None, None),
        (None, 0, None),
    ],
)
def test_tube_of_callus(outer: Any, inner: Any, words: str | None) -> None:
    raw = changed(("bone.callus.outer_mm", outer), ("bone.callus.inner_mm", inner), base=CALLUS)
    if words is None:
        case_from_dict(raw)
    else:
        assert told(raw) == [words]


def test_callus_without_its_modulus() -> None:
    assert told(changed(("bone.callus.E_MPa", OUT), base=CALLUS)) == [
        "bone.callus, E_MPa: is missing"
    ]
    # misspelt: one problem, not two
    assert told(changed(("bone.callus.E_MPa", OUT), ("bone.callus.E_Mpa", 4), base=CALLUS)) == [
        "bone.callus, E_Mpa: unknown key; did you mean E_MPa?"
    ]


def test_wrong_inner_table_hides_nothing_of_its_outer_one() -> None:
    raw = changed(
        ("bone.contact.friction", -1), ("bone.gap_mm", "wide"), ("bone.inner_mm", 30), base=FULL
    )
    assert told(raw) == [
        'bone, gap_mm: must be a number (got "wide")',
        "bone.contact, friction: must be at least 0 (got -1)",
        "bone, inner_mm: must be less than outer_mm (28) (got 30)",
    ]


def test_pins_hold_a_case_without_wires() -> None:
    raw = changed(("wire", OUT), base=FULL)
    assert case_from_dict(raw).wire == ()
    assert told(changed(("wire", OUT), ("pin", []), base=FULL)) == [
        "wire: write at least one [[wire]] or [[pin]]"
    ]
    # what is not a list of tables is told once, not as a lack
    assert told(changed(("pin", 3), ("wire", OUT), base=FULL)) == [
        "pin: must be a list of tables, each headed [[pin]] (got 3)"
    ]


@pytest.mark.parametrize(
    ("outer", "words"), [(8, "must be less than the bone's outer diameter (8)"), (8.1, None)]
)
def test_pin_thicker_than_the_bone(outer: float, words: str | None) -> None:
    pin = P2 | {"ring": "R1", "diameter_mm": 8, "bearing_deg": 0}
    raw = changed(("pin", [pin]), ("bone.outer_mm", outer), ("bone.inner_mm", 0))
    if words is None:
        case_from_dict(raw)
    else:
        assert told(raw) == [f'pin "P", diameter_mm: {words} (got 8)']


def test_pin_that_runs_in_no_fragment() -> None:
    pin = {"name": "P", "ring": "R2", "bearing_deg": 0, "height_mm": -49, "diameter_mm": 5}
    assert told(changed(("pin", [pin]))) == [
        'pin "P": it would run at level 1 mm, in the fracture gap (-1 to 1 mm): ring "R2" is at 50 '
        "mm and the pin 49 mm below its mid-plane"
    ]


def test_pin_is_clamped_on_one_side_only() -> None:
    """In a ring open behind, a pin from the front fits where a wire does not."""
    raw = changed(("ring.0.arc_deg", 300), ("rod", []))
    pin = P2 | {"ring": "R1", "bearing_deg": 0}
    case_from_dict(raw | {"pin": [pin]})
    wire = DEMO["wire"][0] | {"bearing_deg": 0, "name": "W"}
    assert len(told(raw | {"wire": [*raw["wire"], wire]})) == 1
    behind = told(raw | {"pin": [pin | {"bearing_deg": 180}]})
    assert behind == [
        'pin "P", bearing_deg: it would be clamped at 180° about the ring\'s centre, but ring "R1" '
        "is open from 150° to 210° (got 180)"
    ]


def test_nut_turn_needs_neighbours() -> None:
    """A rod through three rings joins the outer two, but not as neighbours."""
    rods = [{"rings": ["R3", "R1", "R2"], "bearing_deg": 30, "thread": "M6"}]
    turn = {"name": "n", "rings": ["R1", "R3"], "lengthen_mm": 1}
    raw = changed(("rod", rods), ("nut_turn", [turn]))
    assert told(raw) == ['nut_turn "n", rings: no rod joins rings "R1" and "R3" as neighbours']
    case_from_dict(changed(("rod", rods), ("nut_turn", [turn | {"rings": ["R2", "R3"]}])))


def test_nut_turn_waits_for_its_rods() -> None:
    """While a rod is wrong it may be the one that is meant."""
    turn = {"name": "n", "rings": ["R1", "R4"], "turns": 1}
    raw = changed(("nut_turn", [turn]), ("rod.0.rings", ["R1", "R5"]), ("rod.1.bearing_deg", OUT))
    assert told(raw) == [
        "rod 2: needs bearing_deg or bearings_deg",
        'rod 1, rings: there is no ring "R5"; known: "R1", "R2", "R3" and "R4"',
    ]
