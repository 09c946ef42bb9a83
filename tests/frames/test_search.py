"""The search against every frame of the grid tried one by one, and against what mechanics says of
the best bearings."""

from importlib import import_module
from typing import Any

import pytest

from frames import case_from_dict, case_from_text, case_to_toml, check, fit, search
from frames.casefile import CaseError
from frames.outputs import margin_percent
from frames.searching import Found, coarse
from tests.frames import cases
from tests.frames.searched import (
    at_least,
    chosen,
    every_choice,
    smallest_margin,
    three_rings,
    two_rings,
)


@pytest.fixture(scope="module")
def found() -> Found:
    return search(case_from_dict(three_rings()), runners_up=0)


@pytest.fixture
def hasty(monkeypatch: pytest.MonkeyPatch) -> None:
    """For what does not depend on how well a frame is refined."""
    monkeypatch.setattr("frames.searching.refining.MOST_STEPS", 1)
    monkeypatch.setattr("frames.searching.rounding.MOVES", ())


def test_as_few_wires_as_by_trying_every_frame(found: Found) -> None:
    raw = three_rings()
    best: dict[int, float] = {}
    for choice in every_choice(raw, (45.0, 135.0), 45.0):
        wires = sum(b is not None for b in choice)
        if wires <= 5:
            margin = smallest_margin(chosen(raw, choice))
            best[wires] = max(best.get(wires, -1e9), margin)
    least = min(wires for wires, margin in best.items() if margin >= 0.0)
    assert least == 5, "the target lies between the best of 4 and of 5 wires"
    assert found.best is not None
    assert found.meets
    assert len(found.best.wires) == least
    assert found.best.margin_percent >= best[least]
    by_stage = {s.wires: 100.0 * s.margin for s in found.stages}
    assert by_stage == pytest.approx(best, abs=1e-4)
    assert found.proven


def test_best_frame_is_confirmed_by_a_check_of_its_file(found: Found) -> None:
    assert found.best is not None
    again = check(case_from_text(case_to_toml(found.best.case)))
    assert again.meets
    for told, target in zip(found.best.targets, again.targets, strict=True):
        assert told.value == pytest.approx(target.value, rel=1e-9)
    assert found.best.margin_percent == pytest.approx(
        min(margin_percent(t) for t in again.targets), rel=1e-9
    )


def test_no_neighbour_does_better(found: Found) -> None:
    """Bearings by a degree to either side, inside the rules; gains below 0.005 % are not made."""
    assert found.best is not None
    raw = found.best.case.model_dump(exclude_unset=True, exclude_none=True)
    for i in range(len(raw["wire"])):
        for step in (-1.0, 1.0):

            def turn(r: dict[str, Any], i: int = i, step: float = step) -> None:
                r["wire"][i]["bearing_deg"] += step

            beside = case_from_dict(cases.edited(raw, turn))
            if fit(beside).fits:
                assert smallest_margin(beside) <= found.best.margin_percent + 0.005


def test_corridors_and_crossings_are_kept(found: Found) -> None:
    assert found.best is not None
    for frame in (found.best, *found.runners_up):
        told = fit(frame.case)
        assert told.fits, told.problems
        assert all(s.verdict == "in a corridor" for s in told.skin)
        assert all(c.angle_deg >= 45.0 - 1e-6 for c in told.crossings)
        assert not frame.misfits


@pytest.fixture
def unpolished(monkeypatch: pytest.MonkeyPatch) -> None:
    """Refined by slopes alone, then rounded."""
    monkeypatch.setattr("frames.searching.rounding.MOVES", ())


@pytest.mark.usefixtures("unpolished")
def test_equal_shear_both_ways_calls_for_wires_at_right_angles() -> None:
    """Lateral stiffness of wires with tension T at bearings b: K = Σ k (t tᵀ) + k_a (d dᵀ) with d
    along and t across each wire, so that of two equal wires the smaller of K_xx, K_yy is largest
    when they cross at right angles (d₁d₁ᵀ + d₂d₂ᵀ = I): textbook tensor algebra. The grid of 35°
    has 70° at most."""
    answer = search(case_from_dict(two_rings()), runners_up=0)
    assert answer.best is not None
    ap, ml = (t.value for t in answer.best.targets)
    assert ap == pytest.approx(ml, rel=2e-3)  # whole degrees
    assert answer.best.margin_percent > 100.0 * answer.stages[0].margin + 2.0, "it was refined"
    for crossing in fit(answer.best.case).crossings:
        assert crossing.angle_deg == pytest.approx(90.0, abs=1.0)


@pytest.mark.usefixtures("unpolished")
def test_tension_is_pulled_to_where_two_targets_balance() -> None:
    """Stiffness grows with tension (4T/L and more), and the tension under load too: neither end of
    the range is best. A kgf changes each margin by one in a hundred or less."""
    raw = two_rings(tension_kgf=[80.0, 130.0])
    raw["load"] = [cases.axial("a", 20.0)]
    raw["target"] = [
        {"quantity": "axial_N_per_mm", "at_least": 30.0},
        {"quantity": "wire_tension_max_N", "load": "a", "at_most": 1100.0},
    ]
    answer = search(case_from_dict(raw), runners_up=0)
    assert answer.best is not None
    assert 80.0 < answer.best.wires[0].tension_kgf < 130.0
    margins = [margin_percent(t) for t in answer.best.targets]
    assert margins[0] == pytest.approx(margins[1], abs=1.0)


@pytest.mark.usefixtures("unpolished")
def test_tensions_each_for_themselves_do_no_worse_than_alike() -> None:
    """Every frame with like tensions is one of those with tensions of their own; axial stiffness
    at rest, against the tension of the tightest wire under a load off the axis, sets them apart."""
    best = {}
    for how in ("alike", "each"):
        raw = two_rings(tension_kgf=[80.0, 130.0], tensions=how)
        raw["load"] = [cases.axial("a", 20.0, offset_mm=[8.0, 0.0])]
        raw["target"] = [
            {"quantity": "axial_N_per_mm", "at_least": 30.0},
            {"quantity": "wire_tension_max_N", "load": "a", "at_most": 1100.0},
        ]
        answer = search(case_from_dict(raw), runners_up=0)
        assert answer.best is not None
        best[how] = answer.best
    alike, each = ({w.tension_kgf for w in best[how].wires} for how in ("alike", "each"))
    assert len(alike) == 1 and len(each) > 1
    assert best["each"].margin_percent >= best["alike"].margin_percent - 0.1


@pytest.mark.usefixtures("hasty")
def test_same_seed_same_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    """With too many frames to solve, and halves drawn by chance."""
    monkeypatch.setattr(coarse, "MOST_SOLVED", 4)
    monkeypatch.setattr("frames.searching.choices.MOST_HALVES", 6)
    raw = three_rings(("axial_N_per_mm", 30.0))
    one, other = (search(case_from_dict(raw), 0, seed=3) for _ in range(2))
    assert one.to_dict() == other.to_dict()
    assert any(s.drawn for s in one.stages)
    assert one.meets


@pytest.mark.usefixtures("hasty")
def test_estimates_find_what_solving_all_finds(
    found: Found, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(coarse, "MOST_SOLVED", 4)
    monkeypatch.setattr(coarse, "BEST_ESTIMATED", 3)
    answer = search(case_from_dict(three_rings()), runners_up=0)
    assert answer.best is not None
    assert found.best is not None
    assert len(answer.best.wires) == len(found.best.wires)
    for told, all_of_them in zip(answer.stages, found.stages, strict=True):
        assert not told.complete
        assert told.estimate_off is not None
        assert told.estimate_off < 0.01
        assert 0.0 <= all_of_them.margin - told.margin < 0.01


@pytest.mark.usefixtures("hasty")
def test_what_cannot_be_met_is_told_with_the_best() -> None:
    answer = search(case_from_dict(three_rings(("axial_N_per_mm", 200.0), most_wires=4)), 0)
    assert answer.best is not None
    assert not answer.meets
    assert not answer.good
    text = "\n".join(line.text for line in answer.lines())
    assert f"misses a target by {-answer.best.margin_percent:.1f} % of its bound" in " ".join(
        text.split()
    )
    assert "MISSED" in text
    assert max(s.wires for s in answer.stages) == 4


@pytest.mark.usefixtures("hasty")
def test_interrupted_it_tells_the_best_until_then(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(import_module("frames.searching.search"), "rounded", interrupt)
    answer = search(case_from_dict(three_rings()), 0)
    assert answer.stopped
    assert not answer.proven
    assert answer.best is not None
    assert answer.best.margin_percent == pytest.approx(smallest_margin(answer.best.case), rel=1e-9)
    assert answer.best.margin_percent >= 100.0 * max(s.margin for s in answer.stages) - 1e-4
    assert "Stopped before the end" in next(line.text for line in list(answer.lines())[1:])


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda r: r.pop("target"), "no [[target]]"),
        (lambda r: r["search"].update(most_wires=3), "need 4 wires at least"),
        (lambda r: r["search"].update(crossing_deg=90.0, bearing_step_deg=40), "cannot be held"),
        (lambda r: r["search"].update(tension_kgf=[200.0, 300.0]), "60 % of their yield"),
    ],
)
def test_nothing_to_choose_from_is_said_in_words(change: Any, words: str) -> None:
    raw = cases.edited(three_rings(), change)
    with pytest.raises(CaseError, match=r"^(?s:.)*") as caught:
        search(case_from_dict(raw))
    assert words in str(caught.value)


@pytest.mark.usefixtures("hasty")
def test_a_pin_holds_its_fragment_without_wires() -> None:
    raw = three_rings(("axial_N_per_mm", 1.0))
    raw["pin"] = [
        {"name": f"P{i}", "ring": "R3", "bearing_deg": at, "height_mm": 12.0, "diameter_mm": 5.0}
        for i, at in enumerate((20.0, 65.0))
    ]
    raw["target"] = at_least(("axial_N_per_mm", 1.0))
    answer = search(case_from_dict(raw), 0)
    assert answer.best is not None
    assert answer.meets
    assert [w.ring in ("R1", "R2") for w in answer.best.wires] == [True, True]
