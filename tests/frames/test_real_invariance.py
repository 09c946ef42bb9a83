"""What must not change an answer of frames with tilted and split rings, struts, pins, held and
slipping wires, turned nuts, rubbing ends and histories: side, names, order, bearing, and which end
of a wire is called its start.

Source: none needed; these are symmetries of the mechanics. Unloaded to 1e-9; under load to 1e-7:
sliding parts add their steps of Newton's iteration, each good to 1e-10 of the largest force (1e-7
N, on sideways stiffnesses of a few N/mm), and friction settles to 1e-7 of the pressure.
"""

import random
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pytest

from frames import Result
from frames.result_parts import StageResult
from tests.frames import cases
from tests.frames.cases import Raw, answers, axial, edited, wrench
from tests.frames.comparing import assert_same, turn_matrix, vector_difference

RESTING = 1e-9
LOADED = 1e-7


def _held() -> Raw:
    """Wires held in every way, tensioned in turn, a pin, one nut turned, a walk; a left leg."""
    load = wrench("all at once", (6.0, 11.0, -50.0), (0.5, -0.3, 1.0))
    raw = cases.small(side="left", loads=[load])
    raw["ring"][0].update(tilt_deg=4.0, tilt_bearing_deg=25.0, centre_mm=[-6.0, 3.0])
    raw["ring"][1].update(halves="bolted", split_bearing_deg=75.0, joint_play_deg=0.05)
    raw["wire"][0].update(grip_N=20.0, offset_mm=4.0, tension_from="both")
    raw["wire"][1].update(olive="start", tilt_deg=3.0)
    raw["wire"][2].update(threaded=True, tension_from="start")
    raw["wire"][3].update(slip_N=1150.0, order=1, tensioner_drop_percent=5.0)
    raw["wire"][3].update(tension_from="start")  # smooth: one end, or it would be its start
    pin = {"name": "P1", "ring": "R1", "bearing_deg": 20.0, "height_mm": 14.0, "diameter_mm": 5.0}
    raw["pin"] = [
        {**pin, "post_diameter_mm": 8.0, "cortices": 1, "tilt_deg": 5.0, "offset_mm": 2.0}
    ]
    turn = {"name": "n", "rings": ["R1", "R2"], "bearings_deg": [120.0], "lengthen_mm": 0.4}
    raw["nut_turn"] = [turn]
    raw["history"] = [{"load": "all at once", "cycles": 1}]
    raw["model"] = {"pretension": "dialled", "load_steps": 2}
    return raw


def _rubbing() -> Raw:
    """Oblique ends with friction, pressed together before tensioning; a strut, soft rod ends."""
    raw = cases.small(loads=[axial("beside", 90.0, offset_mm=[3.0, -2.0])])
    contact = {"friction": 0.3, "obliquity_deg": 25.0, "obliquity_bearing_deg": 40.0, "points": 9}
    raw["bone"].update(gap_mm=0.6, contact=contact)
    raw["rod"][0].update(ends="conical washers")
    del raw["rod"][1]["bearing_deg"]
    raw["rod"][1]["bearings_deg"] = [120.0, 150.0]
    turn = {"name": "n", "rings": ["R1", "R2"], "lengthen_mm": -0.7, "when": "before tensioning"}
    raw["nut_turn"] = [turn]
    raw["model"] = {"load_steps": 2}
    return raw


CASES = {"held": _held(), "rubbing": _rubbing()}


@pytest.fixture(scope="module", params=CASES)
def raw(request: pytest.FixtureRequest) -> Raw:
    return CASES[request.param]


@pytest.fixture(scope="module")
def before(raw: Raw) -> Result:
    return answers(raw)


def _legs(stage: StageResult) -> Iterator[tuple[str, tuple[float, float]]]:
    yield from ((w.name, w.legs_N) for w in stage.left)


def same(
    result: Result,
    other: Result,
    *,
    degrees: float = 0.0,
    name_of: Callable[[str], str] = str,
    swapped: bool = False,
) -> None:
    """The answers of ideal frames, and besides stages, nut turns, ends, pins, histories."""
    assert_same(
        result,
        other,
        degrees=degrees,
        name_of=name_of,
        tolerance=RESTING,
        loaded_tolerance=LOADED,
    )
    R = turn_matrix(degrees)

    def legs_alike(mine: Any, theirs: Any, tolerance: float) -> None:
        by_name = dict(theirs)
        for name, legs in mine:
            again = by_name[name_of(name)]
            again = again[::-1] if swapped else again
            np.testing.assert_allclose(again, legs, rtol=tolerance, atol=tolerance)

    def moves_alike(mine: Any, theirs: Any) -> None:
        one, two = (np.array(list(move.values())) for move in (mine, theirs))
        if np.abs(one).max() > 1e-6:
            assert vector_difference(R @ one, two) < LOADED

    for mine, theirs in zip(result.tensioning, other.tensioning, strict=True):
        assert tuple(map(name_of, mine.tensioned)) == theirs.tensioned
        legs_alike(_legs(mine), _legs(theirs), LOADED)
        for a, b in zip(mine.take_up, theirs.take_up, strict=True):
            ends = (b.start_mm, b.end_mm)[:: -1 if swapped else 1]
            assert (a.start_mm, a.end_mm) == pytest.approx(ends, rel=LOADED, abs=1e-8)
            assert a.closing_mm == pytest.approx(b.closing_mm, rel=LOADED)
    for mine, theirs in zip(result.nut_turns, other.nut_turns, strict=True):
        moves_alike(mine.gap_movement, theirs.gap_movement)
        assert (mine.bone_N or 0.0) == pytest.approx(theirs.bone_N or 0.0, rel=LOADED)
        wires = [(w.name, w.legs_N) for w in mine.wires]
        legs_alike(wires, [(w.name, w.legs_N) for w in theirs.wires], LOADED)
    for mine, theirs in zip(result.loads, other.loads, strict=True):
        share = mine.bone_share_percent or 0.0
        assert share == pytest.approx(theirs.bone_share_percent or 0.0, rel=LOADED)
        pins = {p.name: p for p in theirs.pins}
        for p in mine.pins:
            again = pins[name_of(p.name)]
            assert again.axial_N == pytest.approx(p.axial_N, rel=LOADED)
            assert again.peak_stress_MPa == pytest.approx(p.peak_stress_MPa, rel=LOADED)
        if mine.faces is not None:
            assert theirs.faces is not None
            assert vars(mine.faces) == pytest.approx(vars(theirs.faces), rel=1e-6)
    if not degrees:
        assert [t.side for t in result.touches] == [t.side for t in other.touches]
        for mine, theirs in zip(result.touches, other.touches, strict=True):
            assert mine.share == pytest.approx(theirs.share, abs=1e-9)
    for mine, theirs in zip(result.histories, other.histories, strict=True):
        assert mine.cycles == theirs.cycles
        assert mine.lost_Nmm == pytest.approx(theirs.lost_Nmm, rel=1e-6)
        moves_alike(mine.gap_set, theirs.gap_set)
        wires = [(w.name, w.legs_N) for w in mine.wires]
        legs_alike(wires, [(w.name, w.legs_N) for w in theirs.wires], LOADED)


def test_left_and_right_leg(raw: Raw, before: Result) -> None:
    same(before, answers(cases.other_leg(raw)))


def test_turned_about_the_bone(raw: Raw, before: Result) -> None:
    """By twice the distance of the points of contact, which stay at their bearings."""
    same(before, answers(cases.turned_about_axis(raw, 80.0)), degrees=80.0)


def test_wires_from_their_other_end(raw: Raw, before: Result) -> None:
    after = answers(cases.swapped_ends(raw))
    same(before, after, swapped=True)
    for w, again in zip(before.wires, after.wires, strict=True):
        np.testing.assert_allclose(again.tone_Hz, w.tone_Hz[::-1], rtol=1e-8)


def test_order_of_parts(raw: Raw, before: Result) -> None:
    """Rings, rods and pins in another order; wires too where their order says nothing."""
    order = random.Random(3)

    def shuffle(new: Raw) -> None:
        for kind in ("ring", "rod", "pin"):
            order.shuffle(new.get(kind, []))
        if "model" in new and new["model"].get("pretension") != "dialled":
            order.shuffle(new["wire"])
        for rod in new["rod"]:
            rod["rings"].reverse()
            if "bearings_deg" in rod:
                rod["bearings_deg"].reverse()
        for turn in new["nut_turn"]:
            turn["rings"].reverse()

    same(before, answers(edited(raw, shuffle)))


def test_order_of_wires_with_numbers() -> None:
    """Numbers decide the order of tensioning, not the place in the file."""
    numbered = edited(_held(), lambda new: [w.update(order=n) for w, n in _numbered(new)])
    shuffled = edited(numbered, lambda new: new["wire"].reverse())
    same(answers(_held()), answers(shuffled))


def _numbered(raw: Raw) -> Iterator[tuple[Raw, int]]:
    """W4 first, as its order says, then the others as in the file."""
    yield from zip(raw["wire"], (2, 3, 4, 1), strict=True)


def test_names(raw: Raw, before: Result) -> None:
    def called(name: str) -> str:
        return f"{ord(name[-1]) % 7} {name[::-1]} ж"

    def rename(new: Raw) -> None:
        for kind in ("ring", "wire", "pin"):
            for part in new.get(kind, []):
                part["name"] = called(part["name"])
        for part in (*new["wire"], *new.get("pin", [])):
            part["ring"] = called(part["ring"])
        for part in (*new["rod"], *new["nut_turn"]):
            part["rings"] = [called(r) for r in part["rings"]]

    same(before, answers(edited(raw, rename)), name_of=called)


def test_these_cases_use_what_they_should(raw: Raw, before: Result) -> None:
    """Or nothing was tested."""
    if "contact" in raw["bone"]:
        assert before.nut_turns[0].bone_N
        assert before.loads[0].faces is not None
        assert before.loads[0].faces.sliding > 0.0
        assert before.touches
    else:
        assert len(before.tensioning) == 4
        assert before.histories[0].lost_Nmm[0] > 0.0
        assert {"clamp slips"} <= {w.kind for w in before.warnings}
        assert any(abs(s - e) > 1.0 for s, e in (w.legs_N for w in before.wires))
