"""What would mend a missed target: changes do what they say, in a whole check."""

import json
from pathlib import Path

import pytest

from frames import CaseError, case_from_dict, case_from_text, check, mend
from frames.mending.groups import MOST_KGF, groups
from frames.mending.parameters import parameters
from frames.mending.trials import shortfall
from frames.sizes import STANDARD_GRAVITY
from tests.frames import cases
from tests.frames.cases import Raw, axial
from tests.frames.commands import asking, invoke, put


def aiming(share: float) -> Raw:
    """A small frame asked for so much of the axial stiffness that it has."""
    has = check(case_from_dict(asking(1.0))).stiffness["axial_N_per_mm"]
    return asking(share * has)


def test_best_change_meets_the_target_in_a_check() -> None:
    answer = mend(case_from_dict(aiming(1.03)))
    assert answer.changes[0].meets_all
    assert answer.best is not None
    after = check(answer.best)
    assert after.meets
    assert after.targets[0].value == pytest.approx(answer.changes[0].values[0], rel=1e-9)


def test_changes_are_ranked_and_do_not_break_the_limits() -> None:
    answer = mend(case_from_dict(aiming(1.5)))
    ranks = [(not c.meets_all, -c.gain) for c in answer.changes]
    assert ranks == sorted(ranks)
    pulled = [c for c in answer.changes if c.change == "tension of all wires"]
    assert float(pulled[0].after.split()[0]) <= MOST_KGF


def test_kinds_of_change_that_help() -> None:
    words = {c.change for c in mend(case_from_dict(aiming(1.1))).changes}
    assert {"tension of all wires", "thicker wires, all", "next smaller size, all rings"} <= words
    assert any(w.startswith("one more wire on ring") for w in words)


def test_gain_is_the_share_of_the_shortfall() -> None:
    answer = mend(case_from_dict(aiming(1.5)))
    (before,) = answer.targets
    for c in answer.changes:
        missing = max(before.at_least - c.values[0], 0.0) / before.at_least  # type: ignore[operator]
        assert c.gain == pytest.approx(1.0 - missing / shortfall(before), abs=1e-9)


def test_a_target_newly_missed_counts_against_a_change() -> None:
    raw = aiming(1.04)
    tight = check(case_from_dict(raw)).loads[0].wires[0].tension_N
    top = {"quantity": "wire_tension_max_N", "load": "a", "at_most": tight * 1.01}
    raw["target"].append(top)
    pulled = [c for c in mend(case_from_dict(raw)).changes if c.change == "tension of all wires"]
    assert not any(c.meets_all for c in pulled)


def test_what_does_not_fit_stands_apart() -> None:
    raw = aiming(1.03) | {
        "limb": [{"level_mm": z, "girth_mm": 400.0} for z in (-100, 100)],
        "room": {"front_mm": 14.0, "side_mm": 14.0, "back_mm": 14.0},
    }
    answer = mend(case_from_dict(raw))
    assert "next smaller size, all rings" in {c.change for c in answer.misfits}
    assert "next smaller size, all rings" not in {c.change for c in answer.changes}


def test_nothing_missed_still_tells_what_matters() -> None:
    answer = mend(case_from_dict(asking(1.0)))
    assert not answer.changes
    assert answer.best is None
    assert answer.effects
    assert any("No target is missed" in line.text for line in answer.lines())


def test_without_targets_it_says_so() -> None:
    with pytest.raises(CaseError, match="no \\[\\[target\\]\\]"):
        mend(case_from_dict(cases.small()))


def test_tension_stays_below_its_limits() -> None:
    raw = cases.small(wires={"diameter_mm": 1.5, "tension_kgf": 90.0}, loads=[axial("a", 20.0)])
    case = case_from_dict(raw)
    (every,) = (g for g in groups(case, parameters(case)) if g.change == "tension of all wires")
    assert every.high <= MOST_KGF * STANDARD_GRAVITY
    assert every.high == pytest.approx(0.6 * 900.0 * 3.14159265 * 1.5**2 / 4.0, rel=1e-6)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_command_writes_the_best_change(here: Path) -> None:
    path = put(aiming(1.03))
    done = invoke("mend", path, "--json", "a.json", "--csv", "a.csv", "--write", "b.toml")
    assert done.exit_code == 0
    assert all(len(line) <= 80 for line in done.output.splitlines())
    assert "Single changes" in done.output
    content = json.loads((here / "a.json").read_text())
    assert content["format"] == "tautring mending"
    assert content["changes"][0]["meets_all"]
    assert check(case_from_text((here / "b.toml").read_text())).meets


def test_command_refuses_a_case_without_targets(here: Path) -> None:
    done = invoke("mend", put(cases.small()))
    assert done.exit_code == 2
    assert "[[target]]" in done.output + done.stderr
