"""Healing: callus by hand, shares of frame and bone, allowed loads that check confirms."""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from frames import CaseError, case_from_dict, check, healing, replace
from frames.casefile import Bone
from frames.casefile.recovery import Healing
from frames.healing_course.allowed import allowed_load
from frames.healing_course.callus import callus_bending, modulus, when_reached, with_callus
from frames.moving import movement
from tests.frames import cases
from tests.frames.cases import axial, edited
from tests.frames.commands import invoke, put

CURVE = {"week": [0, 8, 16], "E_MPa": [0.5, 5.0, 50.0], "every_weeks": 8}


def course_case(**other: object) -> cases.Raw:
    return cases.frame(loads=[axial("a", 50.0)]) | {"healing": CURVE | other}


def test_modulus_is_straight_in_its_logarithm() -> None:
    curve = Healing(week=(0, 10), E_MPa=(1.0, 100.0))
    assert modulus(curve, 5.0) == pytest.approx(10.0)
    assert modulus(curve, 10.0) == pytest.approx(100.0)


def test_fifteen_newton_metres_per_degree() -> None:
    """15 N·m/deg = 859 N·m/rad; a gap of 3 mm and I = 20,000 mm⁴ need E = 129 MPa (arithmetic)."""
    assert 15.0 * 180.0 / math.pi == pytest.approx(859.4, abs=0.1)
    outer = 26.0
    inner = (outer**4 - 64.0 * 20_000.0 / math.pi) ** 0.25
    bone = Bone(
        proximal_end_mm=100,
        distal_end_mm=-100,
        outer_mm=outer,
        inner_mm=inner,
        gap_mm=3.0,
        callus={"E_MPa": 859.4e3 * 3.0 / 20_000.0},
    )
    assert bone.callus is not None and bone.callus.E_MPa == pytest.approx(129.0, abs=0.1)
    assert callus_bending(bone) == pytest.approx(15.0, rel=1e-4)


def test_callus_alone_is_what_it_adds_to_the_frame() -> None:
    """Springs side by side: the stiffness matrix with callus less that of the frame."""
    case = case_from_dict(cases.frame())
    bare = check(case).matrix
    callused = with_callus(case, 20.0)
    added = check(callused).matrix - bare
    assert math.radians(added[4, 4]) / 1000.0 == pytest.approx(
        callus_bending(callused.bone), rel=1e-6
    )
    assert math.radians(added[3, 3]) / 1000.0 == pytest.approx(
        callus_bending(callused.bone), rel=1e-6
    )


def test_share_of_the_frame_is_that_of_springs_side_by_side() -> None:
    """K_f / (K_f + K_c); 10 % when callus is nine times as stiff as the frame. (Callus much stiffer
    works in line with the bone between the wires, which gives too.)"""
    case = case_from_dict(course_case())
    K_f = check(case).stiffness["axial_N_per_mm"]
    area = math.pi / 4.0 * (26.0**2 - 14.0**2)
    nine = replace(case, {"healing.E_MPa": [0.5, 9.0 * K_f * 2.0 / area, 5.0]})
    for week in healing(nine).weeks:
        K_c = week.E_MPa * area / 2.0
        assert week.frame_share_percent == pytest.approx(100.0 * K_f / (K_f + K_c), rel=0.03)
    assert healing(nine).weeks[1].frame_share_percent == pytest.approx(10.0, abs=0.2)


def test_allowed_load_is_confirmed_by_the_movement_under_it() -> None:
    answer = healing(case_from_dict(course_case(movement_at_most_mm=0.8)))
    for week in answer.weeks:
        if week.at_least:
            continue
        loaded = case_from_dict(course_case() | {"load": [axial("a", week.allowed_N)]})
        moved = movement(with_callus(loaded, week.E_MPa)).loads[0]
        assert max(p.closing_mm for p in moved.points) == pytest.approx(0.8, rel=5e-3)


def test_strain_bounds_movement_too_and_loads_grow_with_healing() -> None:
    answer = healing(case_from_dict(course_case(strain_at_most_percent=10.0)))
    assert answer.bound_mm == pytest.approx(0.2)
    loads = [w.allowed_N for w in answer.weeks]
    assert loads == sorted(loads) and loads[0] > 0.0
    assert [w.steps for w in answer.weeks] == [0.0, 2000.0 * 56, 2000.0 * 112]


def test_search_of_the_load_on_known_curves() -> None:
    """w = F / (40 + F / 10): w = 1 at F = 400 / 9; and a frame that tilts away at 30 N."""

    def soft(F: float) -> float:
        return F / (40.0 + F / 10.0)

    assert allowed_load(soft, 1.0, 1000.0, 40.0).load_N == pytest.approx(400.0 / 9.0, rel=2e-3)
    assert allowed_load(soft, 1.0, 30.0, 40.0).capped
    from fem import ConvergenceError

    def tilts(F: float) -> float:
        if F > 30.0:
            raise ConvergenceError("no equilibrium")
        return F / 100.0

    found = allowed_load(tilts, 1.0, 1000.0, 100.0)
    assert found.limited and found.load_N == pytest.approx(30.0, rel=5e-3)


def test_weeks_between_are_found_in_the_logarithm() -> None:
    weeks = np.array([0.0, 4.0, 8.0])
    assert when_reached(weeks, np.array([1.0, 10.0, 100.0]), 31.6228, falling=False) == (
        pytest.approx(6.0, abs=1e-4)
    )
    assert when_reached(weeks, np.array([100.0, 10.0, 1.0]), 10.0, falling=True) == 4.0
    assert when_reached(weeks, np.array([1.0, 2.0, 3.0]), 10.0, falling=False) is None


def test_without_body_mass_nothing_is_said_in_body_weights() -> None:
    raw = edited(course_case(), lambda raw: raw["case"].pop("body_mass_kg"))
    answer = healing(case_from_dict(raw))
    assert not answer.activities and "body_mass_kg" in answer.notes[0]


@pytest.mark.parametrize(
    ("curve", "words"),
    [
        ({"week": [0, 4], "E_MPa": [1.0]}, "at least 2"),
        ({"week": [0, 4, 8], "E_MPa": [1.0, 2.0]}, "needs a value for each of the 3 of week"),
        ({"week": [4, 0], "E_MPa": [1.0, 2.0]}, "must grow from one to the next"),
        ({"week": [0, 4], "E_MPa": [0.0, 2.0]}, "must be more than 0"),
    ],
)
def test_wrong_curves_are_refused(curve: cases.Raw, words: str) -> None:
    with pytest.raises(CaseError, match=words):
        case_from_dict(cases.frame() | {"healing": curve})


def test_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    put(course_case())
    ran = invoke("healing", "case.toml", "--json", "h.json", "--csv", "h.csv")
    assert ran.exit_code == 0
    assert all(len(line) <= 80 for line in ran.output.splitlines())
    assert "clinician in charge decides" in " ".join(ran.output.split())
    content = json.loads(Path("h.json").read_text(encoding="utf-8"))
    assert len(content["weeks"]) == 3 and content["assumptions"]
