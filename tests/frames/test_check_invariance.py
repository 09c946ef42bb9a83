"""What must not change an answer: the side of the leg, names, order, the bearing from which a frame
is looked at, and having been asked before.

Source: none needed; these are symmetries of the mechanics.
"""

import copy
import random
from typing import Any

import numpy as np
import pytest

from frames import Result, case_from_dict, check, replace
from tests.frames import cases
from tests.frames.cases import Raw, answers, axial, edited, wrench
from tests.frames.comparing import assert_same

LOADS = (
    axial("standing", 120.0),
    axial("beside", 90.0, offset_mm=[8.0, -5.0]),
    wrench("all at once", (6.0, 11.0, -50.0), (0.5, -0.3, 1.0)),
    wrench("at the ankle", (4.0, -7.0, 30.0), (0.2, 0.1, -0.6), at="ankle"),
    wrench("at a face", (-5.0, 3.0, -60.0), (0.1, 0.4, 0.3), at="distal face"),
)


def _odd() -> Raw:
    """Nothing alike: open ring, offsets, three diameters, both holds, ring centres apart."""
    raw = cases.small(loads=LOADS, side="left")
    raw["ring"][0].update(centre_mm=[-9.0, 4.0], arc_deg=290.0, opening_bearing_deg=180.0)
    raw["ring"][1].update(centre_mm=[-15.0, -3.0], inner_diameter_mm=180.0, material="aluminium")
    raw["rod"] = [
        {"rings": ["R1", "R2"], "bearing_deg": b, "diameter_mm": d}
        for b, d in ((10.0, 6.0), (120.0, 5.0), (290.0, 8.0), (330.0, 6.0))
    ]
    raw["wire"][0].update(offset_mm=5.0, diameter_mm=1.5)
    raw["wire"][1].update(offset_mm=-8.0, bone_hold="built in")
    raw["wire"][3].update(offset_mm=2.5, diameter_mm=2.0, tension_kgf=60.0)
    raw["wire"].append(cases.wire("W5", "R2", 85.0, "proximal", height_mm=-9.0, tension_N=700.0))
    return raw


CASES = {"odd": _odd(), "demo": cases.with_loads(cases.demo(), *LOADS)}


@pytest.fixture(scope="module", params=CASES)
def raw(request: pytest.FixtureRequest) -> Raw:
    return CASES[request.param]


@pytest.fixture(scope="module")
def before(raw: Raw) -> Result:
    return answers(raw)


def test_left_and_right_leg(raw: Raw, before: Result) -> None:
    """Users give and read anterior and medial; a left leg is the mirror image of a right one."""
    assert_same(before, answers(cases.other_leg(raw)))


@pytest.mark.parametrize("degrees", [37.3, 90.0, 213.0])
def test_turned_about_the_bone(raw: Raw, before: Result, degrees: float) -> None:
    assert_same(before, answers(cases.turned_about_axis(raw, degrees)), degrees=degrees)


def test_wires_from_their_other_end(raw: Raw, before: Result) -> None:
    after = answers(cases.swapped_ends(raw))
    assert_same(before, after)
    for w, again in zip(before.wires, after.wires, strict=True):
        np.testing.assert_allclose(again.tone_Hz, w.tone_Hz[::-1], rtol=1e-9)


@pytest.mark.parametrize("seed", [1, 2])
def test_order_of_parts(raw: Raw, before: Result, seed: int) -> None:
    order = random.Random(seed)

    def shuffle(new: Raw) -> None:
        for kind in ("ring", "rod", "wire"):
            order.shuffle(new[kind])
        for rod in new["rod"]:
            rod["rings"].reverse()

    assert_same(before, answers(edited(raw, shuffle)))


def test_order_of_loads(raw: Raw, before: Result) -> None:
    after = answers(edited(raw, lambda new: new["load"].reverse()))
    back = {load.name: load for load in after.loads}
    for load in before.loads:
        assert load.gap_movement == pytest.approx(back[load.name].gap_movement, rel=1e-8, abs=1e-8)


def test_loads_do_not_feel_each_other(raw: Raw, before: Result) -> None:
    """Each load is a solve of its own from the tensioned frame."""
    for load in raw["load"]:
        alone = answers({**raw, "load": [load]}).loads[0]
        among = before.load(load["name"])
        assert alone.gap_movement == pytest.approx(among.gap_movement, rel=1e-8, abs=1e-8)
        assert [w.tension_N for w in alone.wires] == pytest.approx(
            [w.tension_N for w in among.wires], rel=1e-9
        )


@pytest.mark.parametrize("scheme", [lambda n: f"Ω {n} 環", lambda n: f"{ord(n[-1]) % 7} {n[::-1]}"])
def test_names(raw: Raw, before: Result, scheme: Any) -> None:
    """Names of any script, and in another alphabetical order."""

    def rename(new: Raw) -> None:
        for kind in ("ring", "wire"):
            for part in new[kind]:
                part["name"] = scheme(part["name"])
        for w in new["wire"]:
            w["ring"] = scheme(w["ring"])
        for rod in new["rod"]:
            rod["rings"] = [scheme(r) for r in rod["rings"]]

    assert_same(before, answers(edited(raw, rename)), name_of=scheme)


def test_asked_twice(raw: Raw) -> None:
    """A case is not changed by checking it; the second answer is the first to the last digit."""
    case = case_from_dict(raw)
    first = check(case)
    kept = copy.deepcopy(case)
    check(replace(case, {"wire.*.tension_N": 600.0, "bone.gap_mm": 5.0}))  # another one in between
    second = check(case)
    assert second.to_json() == first.to_json()
    assert second.to_csv() == first.to_csv()
    assert case == kept
