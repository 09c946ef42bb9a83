"""Healing week by week against frames built and checked one at a time, and against closed forms."""

import math
from pathlib import Path

import numpy as np
import pytest

from frames import Case, CaseError, Result, case_from_dict, check, healing, load_case, replace
from frames.casefile.recovery import Healing
from frames.healing_course.bridged import bridged
from frames.healing_course.callus import bound_at, callus_bending, with_callus
from frames.healing_course.trials import Trials
from frames.moving.cortex import cortex_movement
from tests.frames import cases
from tests.frames.cases import axial
from tests.frames.commands import invoke, put

CURVE = {"week": [0, 8], "E_MPa": [0.5, 5.0], "every_weeks": 8}


def course_case(**other: object) -> cases.Raw:
    return cases.frame() | {"healing": CURVE | other}


def pinned() -> cases.Raw:
    """Half-pins of 5 mm instead of the wires of both lower rings (invented)."""
    raw = course_case(movement_at_most_mm=1.9)
    raw["wire"] = raw["wire"][:4]
    raw["pin"] = [
        {"name": f"P{i}", "ring": r, "bearing_deg": b, "height_mm": h, "diameter_mm": 5}
        for i, (r, b, h) in enumerate(
            [("R3", 20, 15), ("R3", 80, -15), ("R4", 20, 15), ("R4", 80, -15)], start=1
        )
    ]
    return raw


def under(case: Case, E_MPa: float, load_N: float) -> Result:
    """``check`` with that callus and one load."""
    return check(
        case_from_dict(
            with_callus(case, E_MPa).model_dump(exclude_unset=True, exclude_none=True)
            | {"load": [axial("a", load_N)], "target": []}
        )
    )


@pytest.mark.parametrize("grip", [0.0, 30.0], ids=["ideal wires", "gripped wires"])
def test_scaled_callus_is_callus_of_that_modulus(grip: float) -> None:
    """One tensioned frame with its callus scaled, and a frame tensioned anew with it."""
    case = case_from_dict(cases.every(course_case(), "wire", grip_N=grip))
    frame = bridged(case, 0.5)
    assert frame.first is not None
    scaled = Trials(frame.with_modulus(20.0), case.bone).result(150.0)
    anew = under(case, 20.0, 150.0).loads[0]
    assert scaled.closing_mm == pytest.approx(anew.closing_mm, rel=1e-6)
    assert scaled.bone_N == pytest.approx(anew.bone_N, rel=1e-6)
    assert scaled.tangent["torsion_Nm_per_deg"] == pytest.approx(
        anew.tangent["torsion_Nm_per_deg"], rel=1e-6
    )


def test_nuts_turned_on_callus_need_a_frame_for_each_week() -> None:
    raw = course_case()
    raw["nut_turn"] = [
        {"name": "press", "rings": ["R2", "R3"], "lengthen_mm": -0.3, "when": "on callus"}
    ]
    raw["bone"]["callus"] = {"E_MPa": 1.0}
    case = case_from_dict(raw)
    assert bridged(case, 0.5).first is None
    for week in healing(case).weeks:
        closing = under(case, week.E_MPa, week.allowed_N).loads[0].gap_movement
        around = cortex_movement(case.bone, closing, np.arange(360.0), case.bone.outer_mm / 2.0)
        assert np.abs(around.closing_mm).max() == pytest.approx(1.0, rel=5e-3)


def test_callus_alone_is_what_is_left_when_the_rods_are_off() -> None:
    """The frame slackened: no rod crosses the gap, so the bone ends hold by callus only. Bending
    E I / h and axial stiffness E A / h of its tube (textbook). Light tension, as what a tensioned
    wire does at a displaced clamp is a little more than nothing (1e-4 at full tension)."""
    raw = cases.every(course_case(), "wire", tension_kgf=None, tension_N=100.0)
    raw["rod"] = [r for r in raw["rod"] if r["rings"] != ["R2", "R3"]]
    raw["bone"]["callus"] = {"E_MPa": 60.0}
    case = case_from_dict(raw)
    found = check(case).stiffness
    for plane in ("bending_ap_Nm_per_deg", "bending_ml_Nm_per_deg"):
        assert found[plane] == pytest.approx(callus_bending(case.bone), rel=1e-6)
    area = math.pi / 4.0 * (26.0**2 - 14.0**2)
    assert found["axial_N_per_mm"] == pytest.approx(60.0 * area / 2.0, rel=1e-6)


def test_shares_add_up_and_stiffness_grows() -> None:
    first, last = healing(case_from_dict(course_case())).weeks
    for week in (first, last):
        assert week.frame_share_percent is not None and week.bone_share_percent is not None
        assert week.frame_share_percent + week.bone_share_percent == pytest.approx(100.0)
    assert last.torsion_Nm_per_deg > first.torsion_Nm_per_deg
    assert last.bending_ml_Nm_per_deg > first.bending_ml_Nm_per_deg


def test_wire_yield_is_where_check_finds_it() -> None:
    case = case_from_dict(cases.every(course_case(movement_at_most_mm=1.9), "wire", yield_MPa=650))
    for week in healing(case).weeks:
        assert week.yield_N is not None and week.yield_N < week.allowed_N
        found = [f for f in under(case, week.E_MPa, week.allowed_N).warnings if "yield" in f.kind]
        assert found[0].load_N == pytest.approx(week.yield_N, rel=5e-3)
        assert week.yield_part in found[0].parts


def test_every_wire_is_held_against_its_own_yield_stress() -> None:
    raw = course_case(movement_at_most_mm=1.9)
    raw["wire"][2]["yield_MPa"] = 600
    week = healing(case_from_dict(raw)).weeks[0]
    assert week.yield_part == "W3"
    assert healing(case_from_dict(course_case())).weeks[0].yield_N is None


def test_half_pins_yield_too() -> None:
    """At the load told, the largest stress of the pin told is its yield stress."""
    raw = cases.every(pinned(), "pin", yield_MPa=120)
    case = case_from_dict(raw)
    week = healing(case).weeks[1]
    assert week.yield_N is not None
    pins = {p.name: p for p in under(case, week.E_MPa, week.yield_N).loads[0].pins}
    assert pins[str(week.yield_part)].peak_stress_MPa == pytest.approx(120.0, rel=5e-3)


def test_movement_is_across_the_plane_of_the_fracture() -> None:
    """An oblique plane, load beside the axis: closing -n·(d + θ × x) all round, by hand."""
    raw = course_case(strain_at_most_percent=30.0)
    raw["bone"]["contact"] = {"obliquity_deg": 35.0, "obliquity_bearing_deg": 70.0}
    case = case_from_dict(raw)
    answer = healing(case)
    phi, towards = math.radians(35.0), math.radians(70.0)
    assert answer.bound_mm == pytest.approx(0.3 * 2.0 * math.cos(phi))
    n = np.array(
        [-math.sin(phi) * math.cos(towards), -math.sin(phi) * math.sin(towards), math.cos(phi)]
    )
    week = answer.weeks[0]
    g = under(case, week.E_MPa, week.allowed_N).loads[0].gap_movement
    move = np.array(list(g.values()))
    b = np.radians(np.arange(0.0, 360.0, 0.5))
    x = 13.0 * np.stack([np.cos(b), np.sin(b), math.tan(phi) * np.cos(b - towards)], axis=-1)
    closing = -(move[:3] + np.cross(np.radians(move[3:]), x)) @ n
    assert np.abs(closing).max() == pytest.approx(answer.bound_mm, rel=5e-3)
    assert "contact" in answer.notes[0]


def test_strain_may_be_bounded_week_by_week() -> None:
    curve = Healing(
        week=(0, 10), E_MPa=(1.0, 2.0), movement_at_most_mm=1.0, strain_by_week_percent=(100.0, 1.0)
    )
    assert bound_at(curve, 0.0, 2.0) == 1.0, "movement is the stricter"
    assert bound_at(curve, 5.0, 2.0) == pytest.approx(0.2), "10 %, straight in the logarithm"
    first, last = healing(case_from_dict(course_case(strain_by_week_percent=[20.0, 5.0]))).weeks
    assert (first.movement_mm, last.movement_mm) == (
        pytest.approx(0.4, rel=2e-3),
        pytest.approx(0.1, rel=2e-3),
    )


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        ({"strain_by_week_percent": [10.0, 5.0, 2.0]}, "needs a value for each of the 2 of week"),
        ({"strain_by_week_percent": [10.0, 0.0]}, "must be 0.01 % or more"),
        (
            {"strain_by_week_percent": [10.0, 5.0], "strain_at_most_percent": 3.0},
            "exclude each other",
        ),
        ({"E_MPa": [0.0001, 1.0]}, "must be 0.001 MPa or more"),
    ],
    ids=["too many", "none at all", "two limits", "no stiffness"],
)
def test_wrong_limits_are_refused(limits: cases.Raw, words: str) -> None:
    with pytest.raises(CaseError, match=words):
        case_from_dict(course_case(**limits))


def test_loads_are_tried_up_to_the_largest_activity() -> None:
    stiff = course_case(E_MPa=[500.0, 900.0])
    stiff["activity"] = [{"name": "jogging", "times_body_weight": 4.2, "source": "ar4138"}]
    answer = healing(case_from_dict(stiff))
    assert answer.weeks[0].at_least
    assert answer.weeks[0].allowed_N == pytest.approx(4.2 * 75 * 9.80665)
    assert answer.activities[0].from_week == 0.0


def test_ends_that_would_meet_are_told() -> None:
    raw = course_case(movement_at_most_mm=3.0, strain_at_most_percent=200.0)
    assert "would meet" in healing(case_from_dict(raw)).notes[0]


def test_what_entered_the_answer_is_listed_and_nothing_else() -> None:
    raw = course_case(strain_by_week_percent=[20.0, 5.0])
    raw["bone"]["contact"] = {}
    keys = {a.key for a in healing(case_from_dict(raw)).assumptions}
    assert {"bone.callus", "bone.callus.nu", "load for the shares", 'activity "walking"'} <= keys
    assert not {"healing.strain_at_most_percent", "bone.contact.friction"} & keys


def test_command_on_a_hybrid_frame(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Half-pins, grip, oblique faces, dialled tensions and a turn of the nuts."""
    monkeypatch.chdir(tmp_path)
    assert invoke("new", "h.toml", "--example", "hybrid").exit_code == 0
    path = Path("h.toml")
    curve = "\n[healing]\nweek = [0, 8]\nE_MPa = [0.1, 1.5]\nevery_weeks = 8\n"
    path.write_text(path.read_text(encoding="utf-8") + curve, encoding="utf-8")
    ran = invoke("healing", "h.toml")
    assert ran.exit_code == 0
    lines = list(healing(replace(load_case(path), {"healing.E_MPa": [1.0, 1.5]})).lines())
    assert all(len(line.text) <= 80 for line in lines)
    assert "Nuts turned" in ran.output and "what would be measured" in ran.output.lower()
    turned = path.read_text(encoding="utf-8").replace("week = [0, 8]", "week = [8, 0]")
    path.write_text(turned, encoding="utf-8")
    refused = invoke("healing", "h.toml")
    assert refused.exit_code == 2 and "must grow" in refused.output


def test_a_frame_that_can_move_is_refused_in_words(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    put(cases.every(course_case(), "rod", ends="hinged"))
    ran = invoke("healing", "case.toml")
    assert ran.exit_code == 3 and "free to move" in " ".join(ran.output.split())
