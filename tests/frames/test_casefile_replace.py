"""Changing values of a case by path."""

from importlib.resources import as_file, files
from typing import Any

import numpy as np
import pytest

from frames.casefile import CaseError, load_case, replace

with as_file(files("frames") / "demo" / "four_rings.toml") as path:
    DEMO = load_case(path)


def test_values_change_and_the_first_case_stays() -> None:
    changes = {"wire.W1.tension_N": 900.0, "ring.*.inner_diameter_mm": 180, "bone.gap_mm": 3}
    new = replace(DEMO, changes)
    assert (new.wire[0].tension_N, new.wire[0].tension_kgf, new.wire[0].tension) == (900, None, 900)
    assert new.wire[1] == DEMO.wire[1]
    assert [ring.inner_diameter_mm for ring in new.ring] == [180.0] * 4
    assert new.bone.gap_mm == 3.0
    assert DEMO.wire[0].tension_N is None and DEMO.bone.gap_mm == 2.0
    assert replace(DEMO, {}) == DEMO


def test_hole_circle_goes_with_its_ring() -> None:
    new = replace(DEMO, {"ring.R1.hole_circle_mm": 170})
    assert replace(new, {"ring.R1.inner_diameter_mm": 150}).ring[0].hole_circle_mm == 160.0
    assert replace(new, {"ring.R1.width_mm": 20}).ring[0].hole_circle_mm == 176.0
    both = {"ring.R1.hole_circle_mm": 165, "ring.R1.inner_diameter_mm": 150}
    assert replace(DEMO, both).ring[0].hole_circle_mm == 165.0
    left_out = replace(DEMO, {"ring.R1.hole_circle_mm": None, "ring.R1.width_mm": 16})
    assert left_out.ring[0].hole_circle_mm == 176.0


@pytest.mark.parametrize(
    ("path", "value", "gone"),
    [
        ("wire.W1.tension_N", 900, "tension_kgf"),
        ("wire.W1.height_mm", 0, "face"),
        ("wire.W1.E_MPa", 2e5, "material"),
        ("rod.1.diameter_mm", 5, "thread"),
        ("load.first steps.body_weight", 0.1, "axial_N"),
        ("load.first steps.force_N", [0, 0, -200], "axial_N"),
        ("ring.R1.nu", 0.25, "material"),
    ],
)
def test_a_value_takes_the_place_of_what_it_excludes(path: str, value: Any, gone: str) -> None:
    kind, _, key = path.partition(".")[0], None, path.rpartition(".")[2]
    part = getattr(replace(DEMO, {path: value}), kind)[0]
    assert getattr(part, key) == (tuple(value) if isinstance(value, list) else value)
    assert getattr(part, gone) is None


def test_one_elastic_constant_keeps_the_other() -> None:
    titanium = replace(DEMO, {"wire.*.material": "titanium"})
    softer = replace(titanium, {"wire.W1.E_MPa": 1e5})
    assert softer.wire[0].elastic == (1e5, 0.34)
    assert softer.wire[0].density_kg_per_m3 == 4430.0
    both = replace(titanium, {"wire.W1.nu": 0.3, "wire.W1.E_MPa": 9e4})
    assert both.wire[0].elastic == (9e4, 0.3)
    named = replace(softer, {"wire.W1.material": "stainless steel"})
    assert named.wire[0].elastic == (193_000.0, 0.3)
    assert named.wire[0].density_kg_per_m3 == 7900.0


def test_later_changes_hold() -> None:
    new = replace(DEMO, {"wire.*.tension_N": 900, "wire.W2.tension_kgf": 130})
    assert [wire.tension_N for wire in new.wire[:3]] == [900.0, None, 900.0]
    assert new.wire[1].tension_kgf == 130.0


def test_parts_by_label_number_and_odd_names() -> None:
    assert replace(DEMO, {"rod.rod R1-R2 at 30°.bearing_deg": 50}).rod[0].bearing_deg == 50.0
    assert replace(DEMO, {"rod.12.bearing_deg": 320}).rod[11].bearing_deg == 320.0
    assert replace(DEMO, {"target.torsional stiffness.at_least": 1}).target[1].at_least == 1.0
    dotted = replace(DEMO, {"load.half weight.name": "half.weight"})
    assert replace(dotted, {"load.half.weight.body_weight": 0.4}).load[1].body_weight == 0.4
    assert replace(DEMO, {"model.bone_hold": "built in"}).model.bone_hold == "built in"


def test_none_takes_a_key_out() -> None:
    assert replace(DEMO, {"ring.*.centre_mm": None}).ring[3].centre_mm == (0.0, 0.0)


def test_numbers_of_numpy() -> None:
    changes = {
        "bone.gap_mm": np.float32(2.5),
        "wire.*.bearing_deg": np.int64(60),
        "ring.*.centre_mm": np.array([-5, 1]),
    }
    new = replace(DEMO, changes)
    assert new.bone.gap_mm == 2.5 and type(new.bone.gap_mm) is float
    assert type(new.wire[0].bearing_deg) is float
    assert new.ring[0].centre_mm == (-5.0, 1.0)


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("wire.W11.tension_N", 'there is no wire "W11"; did you mean "W1"?'),
        (
            "ring.upper.level_mm",
            'there is no ring "upper"; known: "R1", "R2", "R3" and "R4"',
        ),
        (
            "rod.rod R1-R2 at 31°.thread",
            'there is no rod "rod R1-R2 at 31°"; did you mean "rod R1-R2 at 30°"?',
        ),
        ("rod.13.thread", 'there is no rod "13"; known: "rod R1-R2 at 30°", "rod R1-R2 at 150°", '),
        ("wire.W1.tensoin_N", "unknown key; did you mean tension_N?"),
        (
            "bone.x",
            "unknown key; known here: proximal_end_mm, distal_end_mm, outer_mm, inner_mm, E_MPa, "
            "nu, gap_mm, contact, callus",
        ),
        ("bones.gap_mm", 'there is no table "bones"; did you mean "bone"?'),
        ("gap_mm", 'there is no table "gap_mm"; known: "case" and '),
        *(
            (path, 'must read like "bone.gap_mm", "wire.W1.tension_N" or "ring.*.level_mm"')
            for path in ("bone", "bone.", "wire.W1", "bone.gap_mm.x", "wire..", "wire.W1.")
        ),
    ],
)
def test_unknown_paths(path: str, words: str) -> None:
    with pytest.raises(CaseError) as caught:
        replace(DEMO, {path: 1.0})
    assert str(caught.value).startswith(f"changed case: {path}: {words}")
    assert len(caught.value.problems) == 1


def test_paths_that_are_not_text_and_kinds_without_parts() -> None:
    bare = replace(DEMO, {})
    bare = bare.model_copy(update={"target": ()})
    with pytest.raises(CaseError) as caught:
        replace(bare, {3: 1.0, "target.*.at_least": 1, "target.1.at_least": 1})  # type: ignore[dict-item]
    assert str(caught.value).split("\n") == [
        'changed case: 3: must read like "bone.gap_mm", "wire.W1.tension_N" or "ring.*.level_mm"',
        "changed case: target.*.at_least: there is no target in this case",
        'changed case: target.1.at_least: there is no target "1"',
    ]


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        ("bone.gap_mm", -1, "bone, gap_mm: must be more than 0 (got -1)"),
        ("bone.gap_mm", np.bool_(True), "bone, gap_mm: must be a number (got true)"),
        ("bone.gap_mm", None, "bone, gap_mm: is missing"),
        (
            "ring.R1.inner_diameter_mm",
            "wide",
            'ring "R1", inner_diameter_mm: must be a number (got "wide")',
        ),
        ("wire.W1.ring", "R5", 'wire "W1", ring: there is no ring "R5"; known: "R1", "R2", '),
    ],
)
def test_wrong_values(path: str, value: Any, words: str) -> None:
    with pytest.raises(CaseError) as caught:
        replace(DEMO, {path: value})
    assert str(caught.value).startswith(f"changed case: {words}")
    assert len(caught.value.problems) == 1
