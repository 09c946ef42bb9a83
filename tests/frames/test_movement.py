"""Movement and strain round the cortex: rigid bodies by hand, windows, the command."""

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from frames import CaseError, case_from_dict, check
from frames.casefile import Bone
from frames.casefile.gap_windows import Window
from frames.moving import Movement, movement
from frames.moving.cortex import cortex_movement
from frames.moving.windows import BEARINGS, STANDARD, share_of
from frames.result_parts import MOVEMENTS
from tests.frames import cases
from tests.frames.cases import axial, edited, other_leg
from tests.frames.commands import invoke, put

SIZES = {"proximal_end_mm": 170.0, "distal_end_mm": -170.0, "outer_mm": 26.0, "inner_mm": 14.0}
BONE = Bone(**SIZES, gap_mm=2.0)
SIDES = np.array([0.0, 90.0, 180.0, 270.0])


def moved(**given: float) -> dict[str, float]:
    return dict.fromkeys(MOVEMENTS, 0.0) | given


def test_axial_movement_closes_alike_all_round() -> None:
    found = cortex_movement(BONE, moved(axial_mm=-0.5, anterior_mm=0.3, medial_mm=-0.4), SIDES, 13)
    np.testing.assert_allclose(found.closing_mm, 0.5, rtol=1e-14)
    np.testing.assert_allclose(found.shift_mm, 0.5, rtol=1e-14)
    np.testing.assert_allclose(found.measures["axial_strain_percent"], 25.0, rtol=1e-14)
    np.testing.assert_allclose(found.measures["shear_strain_percent"], 25.0, rtol=1e-14)


def test_a_tilt_closes_one_side_and_opens_the_other() -> None:
    """θ about the medial axis turns proximal towards anterior: the front closes by r θ."""
    found = cortex_movement(BONE, moved(about_medial_deg=1.0), SIDES, 13.0)
    lift = 13.0 * math.pi / 180.0
    np.testing.assert_allclose(found.closing_mm, [lift, 0.0, -lift, 0.0], atol=1e-14)
    about_front = cortex_movement(BONE, moved(about_anterior_deg=1.0), SIDES, 13.0)
    np.testing.assert_allclose(about_front.closing_mm, [0.0, -lift, 0.0, lift], atol=1e-14)


def test_a_twist_shifts_every_point_by_its_radius() -> None:
    found = cortex_movement(BONE, moved(about_axis_deg=2.0), SIDES, 13.0)
    np.testing.assert_allclose(found.shift_mm, 13.0 * math.radians(2.0), rtol=1e-12)
    np.testing.assert_allclose(found.closing_mm, 0.0, atol=1e-14)


def test_oblique_plane_splits_axial_movement() -> None:
    """1 mm along the bone is cos φ across a plane at φ and sin φ along it; the gap is g cos φ."""
    bone = Bone(**SIZES, gap_mm=2.0, contact={"obliquity_deg": 30.0, "obliquity_bearing_deg": 70.0})
    found = cortex_movement(bone, moved(axial_mm=-1.0), SIDES, 13.0)
    np.testing.assert_allclose(found.closing_mm, math.cos(math.pi / 6), rtol=1e-14)
    np.testing.assert_allclose(found.shift_mm, 0.5, rtol=1e-12)
    assert found.width_mm == pytest.approx(2.0 * math.cos(math.pi / 6))
    # a movement along the slope is all shift: up the rise, towards its bearing
    b = math.radians(70.0)
    slope = moved(
        anterior_mm=math.cos(math.pi / 6) * math.cos(b),
        medial_mm=math.cos(math.pi / 6) * math.sin(b),
        axial_mm=0.5,
    )
    along = cortex_movement(bone, slope, SIDES, 13.0)
    np.testing.assert_allclose(along.closing_mm, 0.0, atol=1e-14)
    np.testing.assert_allclose(along.shift_mm, 1.0, rtol=1e-12)


def test_share_of_the_cortex_is_an_arc() -> None:
    """Closing c + A cos(β - β0) is below v over the share 1 - arccos((v - c) / A) / π."""
    c, turn = 0.6, 3.0
    amplitude = 13.0 * math.radians(turn)
    found = cortex_movement(BONE, moved(axial_mm=-c, about_medial_deg=turn), BEARINGS, 13.0)
    window = Window(name="w", measure="axial_mm", at_least=0.2, at_most=1.0)
    share = share_of(window, found.measures["axial_mm"])

    def below(v: float) -> float:
        return 1.0 - math.acos(max(-1.0, min(1.0, (v - c) / amplitude))) / math.pi

    inside = below(1.0) - below(0.2) + below(-0.2) - below(-1.0)
    assert share.inside_percent == pytest.approx(100.0 * inside, abs=0.1)
    assert share.above_percent == pytest.approx(100.0 * (1.0 - below(1.0) + below(-1.0)), abs=0.1)
    assert sum((share.inside_percent, share.below_percent, share.above_percent)) == 100.0
    assert share.largest == pytest.approx(c + amplitude, rel=1e-4)


def _frame(**other: Any) -> cases.Raw:
    return cases.frame(loads=[axial("light", 60.0), axial("off", 60.0, offset_mm=[0, 20])], **other)


def test_mean_of_the_sides_is_the_movement_of_check() -> None:
    case = case_from_dict(_frame())
    answer = movement(case)
    for found, load in zip(answer.loads, check(case).loads, strict=True):
        sides = [p.closing_mm for p in found.points]
        assert sum(sides) / 4 == pytest.approx(load.closing_mm, rel=1e-9)
        assert found.gap_movement == load.gap_movement
    light, off = answer.loads
    assert off.points[1].closing_mm > light.points[1].closing_mm, "the loaded, medial side"


def test_both_legs_alike() -> None:
    one, other = (movement(case_from_dict(raw)) for raw in (_frame(), other_leg(_frame())))
    for a, b in zip(one.loads, other.loads, strict=True):
        for p, q in zip(a.points, b.points, strict=True):
            assert p.name == q.name
            assert p.closing_mm == pytest.approx(q.closing_mm, rel=1e-9, abs=1e-12)


def test_windows_of_the_case_take_the_place_of_the_standard_ones() -> None:
    own = [{"name": "mine", "measure": "shear_strain_percent", "at_most": 5.0, "source": "me"}]
    answer = movement(case_from_dict(_frame() | {"window": own}))
    assert [w.name for w in answer.loads[0].windows] == ["mine"]
    assert not any(a.key.startswith("window") for a in answer.assumptions)
    standard = movement(case_from_dict(_frame()))
    told = [a for a in standard.assumptions if a.key.startswith("window")]
    assert len(told) == len(STANDARD) and all(a.source for a in told)


def test_bone_ends_that_would_meet_are_told() -> None:
    raw = cases.frame(loads=[axial("light", 20.0), axial("heavy", 400.0)])
    light, heavy = movement(case_from_dict(raw)).loads
    assert (light.meets_percent, heavy.meets_percent) == (0.0, 100.0)
    raw["bone"]["contact"] = {"friction": 0.0}
    assert not any(load.meets for load in movement(case_from_dict(raw)).loads), "they are stopped"


def test_ends_meet_on_an_arc_and_the_inner_edge_moves_less() -> None:
    """Closing d + A cos(β - β0) passes the width g over the share arccos((g - d) / A) / π; tilt at
    the inner edge is that of the outer one by their radii."""
    raw = cases.frame(gap=1.6, loads=[axial("off", 100.0, offset_mm=[0, 25])])
    load = movement(case_from_dict(raw)).loads[0]
    closing = np.array([p.closing_mm for p in load.points])
    amplitude = math.hypot(closing[0] - closing[2], closing[1] - closing[3]) / 2.0
    share = math.acos((1.6 - closing.mean()) / amplitude) / math.pi
    assert 0.05 < share < 0.95, "else this tries nothing"
    assert load.meets_percent == pytest.approx(100.0 * share, abs=0.1)
    assert load.closing_mm[1] == pytest.approx(closing.mean() + amplitude, rel=1e-4)
    inner = np.array([p.closing_mm for p in load.inner_points])
    np.testing.assert_allclose(
        (inner - inner.mean()) / (closing - closing.mean()), 14.0 / 26.0, rtol=1e-6
    )


def test_shear_that_no_window_bounds_is_told() -> None:
    twist = {"name": "twist", "force_N": [0, 0, 0], "moment_Nm": [0, 0, 5], "at": "knee"}
    raw = cases.frame(loads=[twist])
    text = _text(movement(case_from_dict(raw)))
    assert "no window bounds it" in text
    raw["window"] = [{"name": "mine", "measure": "shear_mm", "at_most": 0.1}]
    assert "no window bounds it" not in _text(movement(case_from_dict(raw)))


def _text(answer: Movement) -> str:
    return " ".join(line.text.strip() for line in answer.lines())


def test_loads_that_come_and_go_change_nothing() -> None:
    """Answers under a load begin at the tensioned frame, in check as here."""
    raw = cases.every(_frame(), "wire", grip_N=30.0)
    raw["history"] = [{"load": "light", "cycles": 2}]
    case = case_from_dict(raw)
    for found, load in zip(movement(case).loads, check(case).loads, strict=True):
        assert found.gap_movement == load.gap_movement


def test_no_load_and_wrong_windows_are_refused() -> None:
    with pytest.raises(CaseError, match="nothing moves"):
        movement(case_from_dict(cases.small()))
    bad = {"name": "w", "measure": "axial_mm", "at_least": 2.0, "at_most": 1.0}
    with pytest.raises(CaseError, match='window "w", at_most: is less than at_least'):
        case_from_dict(_frame() | {"window": [bad]})
    with pytest.raises(CaseError, match="at_least or at_most"):
        case_from_dict(_frame() | {"window": [{"name": "w", "measure": "axial_mm"}]})


def test_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    put(_frame())
    ran = invoke("movement", "case.toml", "--json", "m.json", "--csv", "m.csv")
    assert ran.exit_code == 0
    assert all(len(line) <= 80 for line in ran.output.splitlines())
    content = json.loads(Path("m.json").read_text(encoding="utf-8"))
    assert content["format"] == "tautring movement" and content["caution"]
    rows = Path("m.csv").read_text(encoding="utf-8").splitlines()
    assert any(row.startswith("loads/light/points/anterior,closing_mm,") for row in rows)
    put(edited(_frame(), lambda raw: raw.pop("load")))
    assert invoke("movement", "case.toml").exit_code == 2
