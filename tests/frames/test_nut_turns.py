"""Rods made longer or shorter by their nuts, against geometry and springs in series."""

from math import degrees, pi
from typing import Any

import numpy as np
import pytest

from fem import ConvergenceError
from fem.stepping import advance
from frames import nut_turns
from frames.fracture import bone_compression
from frames.gap import gap_directions
from frames.pretension import Pretensioned
from tests.frames import cases
from tests.frames.at_rest import stiffness
from tests.frames.at_stages import before_load, out_of_balance
from tests.frames.cases import Raw, answers

AFTER = "after tensioning"
BEFORE = "before tensioning"
SOFT = {"E_MPa": 1.0}
AREA = pi * (26.0**2 - 14.0**2) / 4.0


def turned(raw: Raw, *turns: dict[str, Any], **bone: Any) -> Raw:
    """Nuts turned between the rings next to the gap."""
    new = [{"name": f"n{i}", "rings": ["R2", "R3"], **t} for i, t in enumerate(turns)]
    return {**raw, "bone": {**raw["bone"], **bone}, "nut_turn": new}


def movement(pre: Pretensioned) -> np.ndarray:
    """(6,) of the gap since the frame was tensioned (or built, with nuts turned before that)."""
    return gap_directions(pre.parts, pre.system).T @ (pre.u - pre.gap_from)


def bone_N(pre: Pretensioned) -> float:
    found = bone_compression(pre.response, None)
    assert found is not None
    return found


@pytest.mark.parametrize("pretension", ["final", "dialled"])
@pytest.mark.parametrize("when", [AFTER, BEFORE])
@pytest.mark.parametrize("by", [3.0, -1.5])
def test_an_open_gap_goes_with_the_rods(pretension: str, when: str, by: float) -> None:
    """Nothing resists: fragment and rings move as one body, and no wire feels it. (From the frame
    as built tensioning in turn moves the gap too, by 0.3 µm.)"""
    raw = {**cases.symmetric(), "model": {"pretension": pretension}}
    pre, plain = before_load(turned(raw, {"lengthen_mm": by, "when": when})), before_load(raw)
    move = movement(pre)
    if when == BEFORE:
        move = move - gap_directions(plain.parts, plain.system).T @ plain.u
    assert move[2] == pytest.approx(by, rel=1e-6)
    assert np.abs(np.delete(move, 2)).max() < 1e-6
    np.testing.assert_allclose(pre.response.tension, plain.response.tension, rtol=1e-6)
    assert out_of_balance(pre) < 1e-6


@pytest.mark.parametrize(("rings", "opens"), [(["R2", "R3"], 1.0), (["R1", "R2"], 0.5)])
def test_a_rod_through_all_rings_is_turned_between_two(rings: list[str], opens: float) -> None:
    """Nuts on both sides of every ring: the piece between the two becomes longer, no other. Two
    rings of one fragment that come apart leave it in the middle, as their wires are alike."""
    raw = cases.symmetric()
    rods = [rod for rod in raw["rod"] if rod["rings"] == ["R1", "R2"]]
    raw["rod"] = [{**rod, "rings": ["R1", "R2", "R3", "R4"]} for rod in rods]
    pre = before_load(turned(raw, {"lengthen_mm": 1.0, "rings": rings}))
    assert movement(pre)[2] == pytest.approx(opens, rel=1e-3)


def test_turns_of_a_thread() -> None:
    """M6: 1 mm a turn (ISO 261)."""
    raw = cases.symmetric()
    for rod in raw["rod"]:
        del rod["diameter_mm"]
        rod["thread"] = "M6"
    assert movement(before_load(turned(raw, {"turns": 2.0})))[2] == pytest.approx(2.0, rel=1e-6)


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize(("up", "down", "axis", "sign"), [(0.0, 180.0, 4, -1), (90.0, 270.0, 3, 1)])
def test_unequal_turns_tilt_by_geometry(
    side: str, up: float, down: float, axis: int, sign: int
) -> None:
    """A ring with rods a diameter D apart, one longer by δ, one shorter, tilts by 2 δ / D.

    Rods bent by end moments alone make arcs, so that it turns about the middle between the rings,
    here the gap: no shift there. Bending of the rods resists: 4 E I φ / L against 2 E A r² φ / L is
    I / A r² = 3e-4 with stiff rings; thin ones give by 5 %. About the medial axis positive is
    proximal towards anterior, about the anterior one medial towards proximal.
    """
    raw = turned(
        cases.symmetric(side=side, rings={"thickness_mm": 40.0}),
        {"bearings_deg": [up], "lengthen_mm": 0.5},
        {"bearings_deg": [down], "lengthen_mm": -0.5},
    )
    move = movement(before_load(raw))
    assert degrees(move[axis]) == pytest.approx(sign * degrees(2.0 * 0.5 / 174.0), rel=2e-3)
    assert np.abs(np.delete(move[3:], axis - 3)).max() < 1e-4 * abs(move[axis])
    assert np.abs(move[:3]).max() < 0.01 * 40.0 * abs(move[axis])  # 40 mm: arm to the ring


def test_turned_and_turned_back() -> None:
    """The frame is elastic: opposite turns in whatever pieces bring back the state before."""
    turns = ({"lengthen_mm": 1.7}, {"bearings_deg": [90.0], "lengthen_mm": 0.6})
    back = ({"bearings_deg": [90.0], "lengthen_mm": -0.6}, {"lengthen_mm": -1.7})
    there = before_load(turned(cases.symmetric(), *turns))
    again = before_load(turned(cases.symmetric(), *turns, *back))
    assert np.abs(movement(there)).max() > 1.0
    assert np.abs(movement(again)).max() < 1e-6
    np.testing.assert_allclose(again.response.tension, 110.0 * cases.KGF, rtol=1e-8)


@pytest.mark.parametrize("layer", [1.0, 100.0])
@pytest.mark.parametrize("friction", [0.0, 0.3])
def test_shortened_on_closed_ends_two_springs_in_series(layer: float, friction: float) -> None:
    """Past touching by δ the rods press the ends with δ / (1/K + 1/k): K of the frame at the gap
    without load, k = E A / layer of the faces. δ = 0.03 mm is little enough for K."""
    contact = {"layer_mm": layer, "friction": friction}
    raw = turned(cases.symmetric(gap=0.2), {"lengthen_mm": -0.23}, contact=contact)
    K = stiffness(cases.symmetric(gap=0.2))["axial_N_per_mm"]
    k = 17_000.0 * AREA / layer
    pre = before_load(raw)
    pressed = 0.03 / (1.0 / K + 1.0 / k)
    assert bone_N(pre) == pytest.approx(pressed, rel=1e-3)
    assert movement(pre)[2] == pytest.approx(-0.2 - pressed / k, rel=1e-6)


def test_callus_grows_in_the_frame_as_turned() -> None:
    """Nuts are turned before: callus bridges the gap that they leave and is free of force there."""
    raw = turned(cases.small(), {"lengthen_mm": 3.0}, callus={"E_MPa": 50.0})
    raw["nut_turn"][0]["rings"] = ["R1", "R2"]
    pre = before_load(raw)
    assert bone_N(pre) == pytest.approx(0.0, abs=1e-9)
    assert movement(pre)[2] == pytest.approx(3.0, rel=1e-6)
    assert out_of_balance(pre) < 1e-6


def test_turned_on_callus_it_gives_as_a_spring_in_series() -> None:
    """Rods shorter by δ: callus is pressed by what the frame and it share, two springs in series,
    δ K_f K_c / (K_f + K_c); both small enough to be linear."""
    K_f = stiffness(cases.symmetric())["axial_N_per_mm"]
    raw = turned(cases.symmetric(), {"lengthen_mm": -0.01, "when": "on callus"}, callus=SOFT)
    bone = raw["bone"]
    K_c = SOFT["E_MPa"] * pi * (bone["outer_mm"] ** 2 - bone["inner_mm"] ** 2) / 4 / bone["gap_mm"]
    expected = 0.01 * K_f * K_c / (K_f + K_c)
    assert bone_N(before_load(raw)) == pytest.approx(expected, rel=2e-3)


def test_ends_pressed_before_tensioning_are_in_balance() -> None:
    """Nuts turned before tensioning may bring the ends together: they press in the tensioned frame
    as after a turn of the same size afterwards, but for what tensioning itself moves."""
    contact = {"friction": 0.3}
    early, late = (
        before_load(turned(cases.symmetric(), {"lengthen_mm": -3.0, "when": when}, contact=contact))
        for when in (BEFORE, AFTER)
    )
    assert out_of_balance(early) < 1e-6
    assert bone_N(early) > 10.0
    assert bone_N(early) == pytest.approx(bone_N(late), rel=1e-6)
    assert movement(early)[2] == pytest.approx(movement(late)[2], abs=1e-6)


def test_what_a_check_says_of_it() -> None:
    """Rods, lengthening, gap and bone of every turn, each after those before it."""
    raw = turned(
        cases.symmetric(gap=0.5),
        {"lengthen_mm": -0.2},
        {"lengthen_mm": -0.4},
        contact={"friction": 0.3},
    )
    first, second = answers(raw).nut_turns
    assert first.gap_movement["axial_mm"] == pytest.approx(-0.2, rel=1e-6)
    assert first.bone_N == 0.0
    assert second.bone_N is not None
    assert second.bone_N > 5.0
    assert second.gap_movement["axial_mm"] == pytest.approx(-0.5, abs=1e-4)
    assert second.lengthen_mm == (-0.4,) * 4
    assert [name.split(" at ")[1] for name in second.rods] == [
        "0° (5)",
        "90° (6)",
        "180° (7)",
        "270° (8)",
    ]
    early = cases.edited(raw, lambda new: [t.update(when=BEFORE) for t in new["nut_turn"]])
    told = answers(early).nut_turns
    assert told[1].bone_N == pytest.approx(second.bone_N, rel=1e-6)


def test_nuts_turned_too_far_are_told_in_millimetres(monkeypatch: pytest.MonkeyPatch) -> None:
    """How far it went, and what to do; here the fourth piece of half a millimetre fails."""
    done: list[object] = []

    def until_the_fourth(*given: Any, **more: Any) -> Any:
        done.append(given)
        if len(done) == 4:
            raise ConvergenceError("no equilibrium", state="n0")
        return advance(*given, **more)

    monkeypatch.setattr(nut_turns, "advance", until_the_fourth)
    with pytest.raises(ConvergenceError, match=r"'n0': .* beyond 75 % of it \(1\.5 mm\)\. Turn"):
        before_load(turned(cases.symmetric(), {"lengthen_mm": 2.0}))
