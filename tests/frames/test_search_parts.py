"""Parts of the search, each against what it stands for, and the command."""

import json
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from frames import case_from_dict, check, fit, load_case, search
from frames.casefile import CaseError
from frames.outputs import margin_percent
from frames.searching import worst_case_margin
from frames.searching.allowed import allowed
from frames.searching.choices import Choices
from frames.searching.estimating import sum_up
from frames.searching.layout import Laid, Layer, Setting, turn_deg
from frames.searching.margins import bounds_of
from frames.searching.mirror import is_symmetric, mirrored
from frames.searching.starts import apart_deg, arrangement
from tests.frames import cases
from tests.frames.cases import Raw
from tests.frames.commands import invoke, put
from tests.frames.searched import at_least, chosen, three_rings, two_rings, ways


def quiet(_words: str) -> None:
    pass


def test_margins_are_those_of_the_outputs() -> None:
    raw = cases.small(loads=[cases.axial("a", 20.0)])
    raw["target"] = [
        {"quantity": "axial_N_per_mm", "at_least": 30.0, "at_most": 50.0},
        {"quantity": "closing_mm", "load": "a", "at_most": 0.2},
        {"quantity": "torsion_Nm_per_deg", "at_least": 2.0},
    ]
    case = case_from_dict(raw)
    targets, bounds = check(case).targets, bounds_of(case.target)
    values = np.array([t.value for t in targets])
    worst = min(margin_percent(t) for t in targets)
    assert 100.0 * bounds.worst(values) == pytest.approx(worst, rel=1e-12)
    assert bounds.worst(np.array([40.0, np.nan, 3.0])) == -np.inf


def test_estimates_are_exact_for_springs_one_behind_the_other() -> None:
    """1/k = 1/k_P + 1/k_D; movements under one load add; the slackest wire is that of either."""
    P, D, P0, D0 = 30.0, 50.0, 70.0, 90.0  # N/mm
    asked = (
        ("axial_N_per_mm", None),
        ("closing_mm", "a"),
        ("wire_tension_min_N", "a"),
        ("wire_peak_stress_MPa", "a"),
    )

    def frame(p: float, d: float) -> np.ndarray:
        k = 1.0 / (1.0 / p + 1.0 / d)
        return np.array([k, 100.0 / k, min(10.0 * p, 10.0 * d), max(9.0 / p, 9.0 / d)])

    found = sum_up(asked, frame(P, D0), frame(P0, D), frame(P0, D0))
    assert found == pytest.approx(frame(P, D), rel=1e-12)


def corridor_case() -> Raw:
    raw = cases.small()
    raw["corridor"] = ways(("a", 300.0, 80.0), ("b", 135.0, 230.0))
    raw["wound"] = [
        {
            "name": "w",
            "from_level_mm": 40.0,
            "to_level_mm": 80.0,
            "from_bearing_deg": 330.0,
            "to_bearing_deg": 345.0,
        }
    ]
    raw["target"] = at_least(("axial_N_per_mm", 30.0))
    return raw


def test_a_bearing_is_allowed_where_a_wire_alone_fits() -> None:
    case = case_from_dict(corridor_case())
    layer = Layer(case)
    where = allowed(layer, quiet)
    setting = Setting(1.8, 130.0)
    for ring, face, bearing in ((0, 0, 0), (0, 1, 5), (1, 1, 20), (0, 0, 55), (1, 0, 60),
                                (0, 0, 155), (1, 0, 155), (0, 1, 100), (1, 1, 130)):  # fmt: skip
        laid = Laid(ring, face, float(bearing))
        alone = [
            p.message
            for p in fit(layer.alike((laid,), setting)).problems
            if p.message not in where.always
        ]
        assert where.holds(laid) == (not alone), (laid, alone)
    assert len(where.always) == 1, "ring R1 lies over the wound, whatever its wires"
    low, high = where.around(Laid(1, 0, 40.0))
    turned = [w % 180 for w in range(int(low), int(high) + 1)]
    assert where.by_slot[1, 0][turned].all()
    assert not where.by_slot[1, 0][[(int(low) - 1) % 180, (int(high) + 1) % 180]].any()


def test_grid_has_the_middle_of_a_range_too_narrow_for_its_step() -> None:
    raw = corridor_case()
    raw["corridor"] = ways(("a", 48.0, 52.0), ("b", 228.0, 232.0))
    where = allowed(Layer(case_from_dict(raw)), quiet)
    assert where.grid((0, 0), 45) == (50,)


def test_a_wire_turned_by_half_a_turn_is_the_same_wire() -> None:
    """And so a frame's bearings may be folded into 0 to 180 degrees."""
    raw = cases.small()
    raw["target"] = at_least(("axial_N_per_mm", 30.0), ("torsion_Nm_per_deg", 0.1))
    one = check(chosen(raw, (50.0, 130.0, 40.0, 120.0)))
    other = check(chosen(raw, (230.0, 130.0, 220.0, 300.0)))
    for name, value in one.stiffness.items():
        assert other.stiffness[name] == pytest.approx(value, rel=1e-9)
    assert turn_deg(170.0, 10.0) == pytest.approx(20.0)
    assert turn_deg(350.0, 130.0) == pytest.approx(-40.0)


def test_mirror_images_do_the_same_where_the_case_is_symmetric() -> None:
    raw = three_rings()
    case = case_from_dict(raw)
    assert is_symmetric(case)
    layer, setting = Layer(case), Setting(1.8, 110.0)
    layout = (Laid(0, 0, 30.0), Laid(0, 1, 110.0), Laid(1, 0, 60.0), Laid(2, 0, 25.0),
              Laid(2, 1, 130.0))  # fmt: skip
    assert mirrored(mirrored(layout)) == layout
    one, other = (check(layer.alike(x, setting)).stiffness for x in (layout, mirrored(layout)))
    for name, value in one.items():
        assert other[name] == pytest.approx(value, rel=1e-7)


@pytest.mark.parametrize(
    "change",
    [
        lambda r: r["rod"][0].update(bearing_deg=5.0),
        lambda r: r["ring"][0].update(centre_mm=[0.0, 2.0]),
        lambda r: r.update(load=[cases.axial("a", 20.0, offset_mm=[0.0, 3.0])]),
    ],
)
def test_what_is_no_mirror_image_of_itself_is_not_taken_for_one(change: Any) -> None:
    assert not is_symmetric(case_from_dict(cases.edited(three_rings(), change)))


def test_arrangements_and_distances() -> None:
    one = (Laid(0, 0, 170.0), Laid(0, 1, 60.0))
    assert arrangement(one) == arrangement((Laid(0, 0, 5.0), Laid(0, 1, 65.0)))
    assert arrangement(one) != arrangement((Laid(0, 0, 60.0), Laid(0, 1, 170.0)))
    assert apart_deg(one, (Laid(0, 0, 5.0), Laid(0, 1, 65.0))) == pytest.approx(15.0)
    assert apart_deg(one, one[:1]) == float("inf")


def test_halves_of_a_fragment_are_all_there_and_no_more() -> None:
    """Two bearings on each of four faces (45 and 135 degrees), wires of a ring and some two of the
    half crossing. Two wires: one ring or the other 2 + 2, one on each 4 × 4 / 2; three: pair and
    single 2 · 2 · 4; four: 2 · 2."""
    case = case_from_dict(three_rings())
    choices = Choices(case, allowed(Layer(case), quiet))
    counts = [choices.halves("proximal fragment", n, 0).total for n in (2, 3, 4)]
    assert counts == [12, 16, 4]
    assert choices.halves("distal fragment", 2, 0).total == 2
    assert choices.most("proximal fragment") == 4


def test_tolerance_of_a_load_takes_its_share_of_a_movement() -> None:
    """Closing is nearly in proportion to a small load: load ± 10 % takes 10 % of it, and a second
    tolerance adds its own."""
    raw = two_rings()
    raw["load"] = [cases.axial("a", 0.5)]
    case = case_from_dict({**raw, "target": [{"quantity": "axial_N_per_mm", "at_least": 1.0}]})
    closing = 0.5 / check(case).stiffness["axial_N_per_mm"]
    raw["target"] = [{"quantity": "closing_mm", "load": "a", "at_most": 2.0 * closing}]
    exact = worst_case_margin(case_from_dict(raw))
    assert exact == pytest.approx(0.5, abs=1e-3)
    raw["tolerance"] = [{"path": "load.a.axial_N", "plus_minus_percent": 10.0}]
    less = worst_case_margin(case_from_dict(raw))
    assert exact - less == pytest.approx(0.1 * 0.5, rel=1e-2)
    raw["tolerance"].append({"path": "wire.*.tension_N", "plus_minus": 50.0, "together": True})
    together = worst_case_margin(case_from_dict(raw))
    assert together < less
    raw["tolerance"][1]["together"] = False
    apart = worst_case_margin(case_from_dict(raw))
    assert apart == pytest.approx(together, rel=1e-2), "all signs are the same"


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({"tension_kgf": [130.0, 90.0]}, "search, tension_kgf: must be [lowest, highest]"),
        ({"most_wires": 2, "least_wires_per_fragment": 3}, "search, most_wires: is less than"),
        ({"tensions": "own"}, "tensions"),
        ({"steps": 3}, "steps"),
    ],
)
def test_wrong_search_tables(keys: Raw, words: str) -> None:
    with pytest.raises(CaseError) as caught:
        case_from_dict({**cases.small(), "search": keys})
    assert words in str(caught.value)


# the command


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("frames.searching.refining.MOST_STEPS", 1)
    monkeypatch.setattr("frames.searching.rounding.MOVES", ())


@pytest.mark.usefixtures("here")
def test_command_writes_a_case_that_a_check_confirms() -> None:
    path = put(three_rings(("axial_N_per_mm", 30.0)))
    ran = invoke("search", path, "--write", "best.toml", "--json", "s.json", "--csv", "s.csv",
                 "--runners-up", 1)  # fmt: skip
    assert ran.exit_code == 0, ran.output
    told = json.loads(Path("s.json").read_text(encoding="utf-8"))
    again = check(load_case("best.toml"))
    assert again.meets
    value = told["best"]["targets"][0]["value"]
    assert value == pytest.approx(again.targets[0].value, rel=1e-9)
    assert fit(load_case("best.toml")).fits
    assert "margin_percent" in Path("s.csv").read_text(encoding="utf-8")
    assert all(len(line) <= 80 for line in ran.output.splitlines())
    assert "4 wires meet all targets" in ran.output


@pytest.mark.usefixtures("here")
def test_command_tells_what_falls_short_and_what_is_missing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ran = invoke("search", put(three_rings(("axial_N_per_mm", 90.0), most_wires=4)))
    assert ran.exit_code == 1
    assert "No frame was found that meets all targets" in ran.output
    none = {k: v for k, v in three_rings().items() if k != "target"}
    ran = invoke("search", put(none))
    assert ran.exit_code == 2
    assert "no [[target]]" in ran.output

    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(import_module("frames.searching.search"), "rounded", interrupt)
    ran = invoke("search", put(three_rings()), "--write", "best.toml")
    assert ran.exit_code == 130
    assert "Stopped before the end" in ran.output
    assert Path("best.toml").exists()


def test_tolerance_of_one_wire_is_refused() -> None:
    """The wires of the case are replaced: which one would it be of?"""
    raw = cases.small()
    raw["target"] = at_least(("axial_N_per_mm", 30.0))
    raw["tolerance"] = [{"path": "wire.W1.tension_N", "plus_minus": 30.0}]
    with pytest.raises(CaseError, match=r"write wire\.\*"):
        search(case_from_dict(raw))
