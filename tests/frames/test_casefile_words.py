"""The exact words of every error that one wrong entry in a case file makes."""

import math
from typing import Any

import pytest

from tests.frames.casefile_edits import KNOWN_TABLES, OUT, changed, told

CROSSED = {"quantity": "shear_mm", "load": "first steps", "at_least": 3, "at_most": 2.5}

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
    # tables
    ("rings", [], "rings: unknown table; did you mean [[ring]]?"),
    (
        "knee",
        {},
        f"knee: unknown table; known: {KNOWN_TABLES}",
    ),
    ("ring", {"name": "R1"}, "ring: must be a list of tables, each headed [[ring]] (got a table)"),
    ("rod", 4, "rod: must be a list of tables, each headed [[rod]] (got 4)"),
    ("wire", [], "wire: write at least one [[wire]] or [[pin]]"),
    ("wire", OUT, "wire: write at least one [[wire]] or [[pin]]"),
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
    ("target.2", CROSSED, "target 3, at_most: must not be less than at_least (3) (got 2.5)"),
]


# an error there leaves others without what they refer to
WITH_CONSEQUENCES = {"ring", "ring.1.name", "load.1.name"}


@pytest.mark.parametrize(("path", "value", "words"), ONE_FIELD, ids=[row[0] for row in ONE_FIELD])
def test_words_of_one_error(path: str, value: Any, words: str) -> None:
    lines = told(changed((path, value)))
    assert words in lines
    assert lines == [words] or path in WITH_CONSEQUENCES
