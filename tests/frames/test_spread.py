"""Chance of meeting targets under tolerances: exact answers, SciPy, and the frame itself."""

import json
from collections.abc import Sequence
from math import sqrt
from typing import Any

import numpy as np
import pytest
from scipy import stats

from frames import Case, case_from_dict, spread
from frames.casefile import CaseError
from frames.lines import WIDTH
from frames.mending import sensitivities
from frames.mending.resolving import resolved
from frames.outputs import Output
from frames.spreading import Spread
from frames.spreading.defaults import default_tolerances
from frames.spreading.designs import Designs, solved
from frames.spreading.plan import Plan, plan_of
from frames.spreading.sampling import built, draw
from frames.spreading.spread_result import Distributed
from frames.spreading.summary import summary
from frames.spreading.wilson import wilson
from tests.frames import cases
from tests.frames.cases import Raw, axial

TENSION = {"path": "wire.*.tension_N", "plus_minus_percent": 5}


def frame(*tolerances: Raw, targets: Sequence[Raw] = (), **other: Any) -> Case:
    """The smallest frame with a light load."""
    raw = cases.small(loads=[axial("a", 20.0)], **other)
    return case_from_dict({**raw, "tolerance": list(tolerances), "target": list(targets)})


def planned(case: Case) -> Plan:
    return plan_of(case.model_copy(update={"tolerance": ()}), case.tolerance)


# Wilson's interval


@pytest.mark.parametrize(("met", "trials"), [(0, 7), (1, 7), (7, 7), (973, 1000), (1000, 1000)])
@pytest.mark.parametrize("confidence", [0.8, 0.95])
def test_wilson_is_that_of_scipy(met: int, trials: int, confidence: float) -> None:
    own = wilson(met, trials, confidence)
    outside = stats.binomtest(met, trials).proportion_ci(confidence, method="wilson")
    assert own == pytest.approx((outside.low, outside.high), abs=1e-12)


def test_wilson_needs_trials() -> None:
    for met, trials in ((0, 0), (3, 2), (-1, 2)):
        with pytest.raises(ValueError, match="trials"):
            wilson(met, trials)


# a linear toy through the same functions: every answer is known


@pytest.fixture(scope="module")
def toy() -> tuple[Case, Plan, np.ndarray, Spread]:
    """q = 70 + g·x exactly, with x of three tolerances."""
    case = frame(
        TENSION,
        {"path": "ring.*.level_mm", "plus_minus": 1, "distribution": "uniform"},
        {"path": "bone.E_MPa", "plus_minus_percent": 20, "distribution": "triangular"},
        targets=[
            {"quantity": "axial_N_per_mm", "at_least": 69.5, "at_most": 73},
            {"quantity": "torsion_Nm_per_deg", "at_least": 2},
        ],
    )
    plan = planned(case)
    sample = draw(plan, 2000, seed=4)
    asked = (("axial_N_per_mm", None), ("torsion_Nm_per_deg", None))
    slopes = np.array([[2.0, 1.0, -1.0, 0.5, 1.0, -0.6, 0.8], [0.0] * 7])
    start = np.array([70.0, 3.0])
    values = start + sample.draws @ slopes.T
    return case, plan, slopes, summary(case, plan, sample, asked, start, slopes, values, 4)


def test_toy_has_four_two_and_one_draws(toy: tuple[Case, Plan, np.ndarray, Spread]) -> None:
    assert toy[1].tolerance_of.tolist() == [0, 0, 0, 0, 1, 1, 2]


def test_toy_first_order_is_exact(toy: tuple[Case, Plan, np.ndarray, Spread]) -> None:
    """Variances of the draws on ±1: normal 1/4 (two sd), uniform 1/3, triangular 1/6."""
    axial_q = toy[3].quantities[0]
    terms = {
        "wire.*.tension_N": (4.0 + 1.0 + 1.0 + 0.25) / 4.0,
        "ring.*.level_mm": (1.0 + 0.36) / 3.0,
        "bone.E_MPa": 0.64 / 6.0,
    }
    variance = sum(terms.values())
    assert axial_q.sd_first_order == pytest.approx(sqrt(variance), rel=1e-12)
    assert [s.tolerance for s in axial_q.shares] == list(terms)
    for share in axial_q.shares:
        assert share.first_order == pytest.approx(terms[share.tolerance] / variance, rel=1e-12)
    assert sum(s.first_order for s in axial_q.shares) == pytest.approx(1.0, abs=1e-12)


def test_toy_sample_agrees_with_the_exact_answer(
    toy: tuple[Case, Plan, np.ndarray, Spread],
) -> None:
    """Within four standard errors: sd/√n of a mean, sd/√2n of a standard deviation."""
    axial_q, n = toy[3].quantities[0], 2000
    sd = axial_q.sd_first_order
    assert axial_q.mean is not None and axial_q.sd is not None
    assert abs(axial_q.mean - 70.0) < 4.0 * sd / sqrt(n)
    assert abs(axial_q.sd - sd) < 4.0 * sd / sqrt(2.0 * n)
    assert axial_q.explained == pytest.approx(1.0, abs=1e-9)
    for share in axial_q.shares:
        assert share.sample == pytest.approx(share.first_order, abs=0.05)
    assert sum(s.sample or 0.0 for s in axial_q.shares) == pytest.approx(1.0, abs=1e-9)


def test_toy_chances(toy: tuple[Case, Plan, np.ndarray, Spread]) -> None:
    """First order is the normal distribution by scipy.stats; what nothing changes is certain."""
    answer = toy[3]
    first, second = answer.targets
    bell = stats.norm(70.0, answer.quantities[0].sd_first_order)
    assert first.first_order == pytest.approx(bell.cdf(73.0) - bell.cdf(69.5), rel=1e-12)
    assert first.sample.low < first.first_order < first.sample.high and first.apart is None
    assert (second.first_order, second.sample.chance, second.sample.high) == (1.0, 1.0, 1.0)
    assert answer.together == first.sample


def test_toy_that_bends_says_so(toy: tuple[Case, Plan, np.ndarray, Spread]) -> None:
    case, plan, slopes, _ = toy
    sample = draw(plan, 2000, seed=4)
    straight = sample.draws @ slopes.T
    start = np.array([70.0, 3.0])
    values = start + straight - 0.8 * straight**2
    values[:40] = np.nan
    asked = (("axial_N_per_mm", None), ("torsion_Nm_per_deg", None))
    answer = summary(case, plan, sample, asked, start, slopes, values, 4)
    why = answer.targets[0].apart
    assert why is not None
    assert "40 designs" in why and "below the planned value" in why
    assert answer.targets[1].sample.met == 1960, "designs without a value miss their targets"
    explained = answer.quantities[0].explained
    assert explained is not None and explained < 0.95


# the frame itself


@pytest.fixture(scope="module")
def narrow() -> tuple[Case, Spread]:
    """A frame within tolerances so small that its answers run straight over them."""
    case = frame(
        {"path": "wire.*.tension_N", "plus_minus_percent": 0.5},
        {"path": "wire.*.bearing_deg", "plus_minus": 0.1, "distribution": "uniform"},
        {"path": "ring.*.level_mm", "plus_minus": 0.1, "together": True},
        {"path": "ring.R1.centre_mm", "plus_minus": 0.1},
        {"path": "bone.E_MPa", "plus_minus_percent": 1, "distribution": "triangular"},
        {"path": "load.a.axial_N", "plus_minus_percent": 1},
        targets=[{"quantity": "wire_peak_stress_MPa", "load": "a", "at_most": 1e6}],
    )
    return case, spread(case, designs=48, seed=1)


def test_first_order_is_the_sample_for_small_tolerances(narrow: tuple[Case, Spread]) -> None:
    """The standard error of a standard deviation is sd/√2n; R² says that lines explain it all."""
    for q in narrow[1].quantities:
        assert q.sd is not None and q.mean is not None and q.explained is not None
        assert abs(q.sd - q.sd_first_order) < 4.0 * q.sd_first_order / sqrt(96.0), q.quantity
        assert abs(q.mean - q.planned) < 4.0 * q.sd_first_order / sqrt(48.0), q.quantity
        assert q.explained > 0.99, q.quantity


def test_variance_shares_sum_to_one(narrow: tuple[Case, Spread]) -> None:
    for q in narrow[1].quantities:
        assert sum(s.first_order for s in q.shares) == pytest.approx(1.0, abs=1e-12)
        assert [s.first_order for s in q.shares] == sorted(
            (s.first_order for s in q.shares), reverse=True
        )


def test_slopes_of_every_kind_of_number_are_those_of_whole_checks() -> None:
    """Adjoint derivatives against central differences of the whole answer."""
    case = frame(
        {"paths": ["bone.E_MPa", "bone.outer_mm", "load.a.axial_N"], "plus_minus_percent": 1},
        {"paths": ["ring.*.centre_mm", "wire.W1.height_mm", "rod.1.diameter_mm"], "plus_minus": 1},
    )
    plan = planned(case)
    wanted = [n.parameter for n in plan.numbers]
    assert len(wanted) == 3 + 4 + 2
    asked = (("axial_N_per_mm", None), ("torsion_Nm_per_deg", None), ("closing_mm", "a"))
    bare = case.model_copy(update={"tolerance": ()})
    for found in sensitivities(bare, asked, wanted):
        by = resolved(bare, {found.parameter: 1.0}, asked)
        assert by is not None
        size = np.array([abs(plan.weights[wanted.index(found.parameter)]).max()])
        np.testing.assert_allclose(
            np.array(found.by) * size, by * size, rtol=2e-3, atol=1e-6, err_msg=str(found.parameter)
        )


def test_the_same_seed_gives_the_same_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    """However many designs are solved together; and another seed another one."""
    case = frame(TENSION)
    bare, output = case.model_copy(update={"tolerance": ()}), (Output("axial_N_per_mm"),)

    def values(seed: int) -> np.ndarray:
        return solved(Designs(bare, planned(case), seed, output), 3, 1, lambda _words: None)[0]

    first, other = values(7), values(8)
    monkeypatch.setattr("frames.studyrun.spans.usual_chunk", lambda _total: 2)
    np.testing.assert_allclose(values(7), first, rtol=1e-9)
    assert np.all(np.abs(other - first) > 1e-6)


def test_any_slice_of_the_designs_is_the_same() -> None:
    plan = planned(frame(TENSION))
    every = draw(plan, 50, 3).draws
    np.testing.assert_array_equal(draw(plan, 5, 3).draws, every[:5])
    np.testing.assert_array_equal(draw(plan, 9, 3, first=31).draws, every[31:40])


def test_a_frame_that_grips_works() -> None:
    """Not smooth: slopes by whole checks. What is asked for without targets."""
    raw = cases.small(loads=[axial("a", 20.0)])
    raw["wire"][0]["grip_N"] = 40.0
    raw["model"] = {"load_steps": 2}
    raw["tolerance"] = [{"paths": ["wire.W1.tension_N", "wire.W1.grip_N"], "plus_minus": 10}]
    answer = spread(case_from_dict(raw), designs=2, seed=0)
    assert answer.targets == () and answer.together is None
    assert [(q.quantity, q.load) for q in answer.quantities][-1] == ("closing_mm", "a")
    assert len(answer.quantities) == 7 and answer.failed == 0
    assert all(q.solved == 2 and q.sd_first_order > 0.0 for q in answer.quantities)


def test_tolerances_taken_without_being_told() -> None:
    taken = {
        "wire.*.tension_N": 5.0,
        "wire.*.bearing_deg": 3.0,
        "ring.*.level_mm": 1.0,
        "bone.E_MPa": 20.0,
    }
    plain, grips = frame(), frame(wires={"grip_N": 40.0})
    for case, expected in ((plain, taken), (grips, taken | {"wire.*.grip_N": 50.0})):
        found = default_tolerances(case)
        sizes = [t.plus_minus or t.plus_minus_percent for t in found]
        assert dict(zip([t.all_paths[0] for t in found], sizes, strict=True)) == expected
        assert all(t.source and t.distribution == "normal" for t in found)


def test_frames_that_cannot_be_built_or_solved_miss_their_targets() -> None:
    """A marrow cavity of 14 + 20 x mm in a bone of 26 mm cannot be for x > 0.6; a ring at 60 +
    100 y mm, y < -0.6, is beyond the gap and leaves a fragment without wires."""
    case = frame(
        {"path": "bone.inner_mm", "plus_minus": 20, "distribution": "uniform"},
        {"path": "ring.R1.level_mm", "plus_minus": 100, "distribution": "uniform"},
        targets=[{"quantity": "axial_N_per_mm", "at_least": 0}],
    )
    answer = spread(case, designs=16, seed=0)
    x, y = draw(planned(case), 16, seed=0).draws.T
    hollow, loose = int((x >= 0.6).sum()), int(((x < 0.6) & (y < -0.6)).sum())
    assert hollow > 0 and loose > 0
    reasons = {f.reason: f.designs for f in answer.failures}
    assert sum(n for r, n in reasons.items() if r.startswith("bone, inner_mm:")) == hollow
    assert sum(n for r, n in reasons.items() if "held by no wire" in r) == loose
    assert answer.failed == sum(reasons.values())
    assert answer.quantities[0].solved == 16 - answer.failed == answer.targets[0].sample.met
    assert answer.targets[0].first_order == 1.0
    why = answer.targets[0].apart
    assert why == f"{answer.failed} designs that cannot be built or solved count as missed"
    assert "counted as missed" in " ".join(line.text for line in answer.lines())


# what is drawn


def test_two_standard_deviations_are_within_plus_minus() -> None:
    """Φ(2) - Φ(-2) = 95.45 % of a normal tolerance; all of the others."""
    for word, share in (("normal", 0.9545), ("uniform", 1.0), ("triangular", 1.0)):
        plan = planned(frame({**TENSION, "distribution": word}))
        sample = draw(plan, 5000, seed=2)
        off = np.abs(sample.values / plan.planned - 1.0)
        error = sqrt(share * (1.0 - share) / off.size)
        assert abs((off <= 0.05).mean() - share) <= 4.0 * error


def test_together_or_each_by_itself() -> None:
    off = {}
    for together in (True, False):
        plan = planned(frame({**TENSION, "together": together}))
        off[together] = draw(plan, 50, seed=2).values / plan.planned
        assert plan.count(0) == 4
    assert np.ptp(off[True], axis=1).max() < 1e-12
    assert np.ptp(off[False], axis=1).min() > 0.0


def test_a_number_in_two_tolerances_moves_by_their_sum() -> None:
    plan = planned(frame({**TENSION, "together": True}, {"path": "wire.W2.tension_N",
                                                         "plus_minus": 10}))  # fmt: skip
    sample = draw(plan, 20, seed=2)
    alike, own = sample.draws.T
    T = plan.planned
    np.testing.assert_allclose(sample.values[:, 0], T[0] * (1.0 + 0.05 * alike), rtol=1e-12)
    np.testing.assert_allclose(
        sample.values[:, 1], T[1] * (1.0 + 0.05 * alike) + 10.0 * own, rtol=1e-12
    )


def test_values_are_cut_at_the_limits_of_the_case_file() -> None:
    """T (1 + 2 x) < 0 for x < -1/2, and a tension is never less than nothing."""
    plan = planned(frame({"path": "wire.*.tension_N", "plus_minus_percent": 200}))
    sample = draw(plan, 400, seed=5)
    np.testing.assert_array_equal(sample.cut, (sample.draws < -0.5).sum(axis=0))
    assert sample.cut.sum() > 0 and sample.values.min() == 0.0


def test_bearings_go_on_beyond_360_degrees() -> None:
    raw = cases.small()
    raw["wire"][0]["bearing_deg"] = 359.0
    raw["tolerance"] = [{"path": "wire.W1.bearing_deg", "plus_minus": 8}]
    case = case_from_dict(raw)
    sample = draw(planned(case), 50, seed=5)
    wanted = 359.0 + 8.0 * sample.draws
    turned = np.remainder(sample.values - wanted + 180.0, 360.0) - 180.0
    assert np.abs(turned).max() < 1e-9 and sample.cut.sum() == 0
    assert (wanted > 360.0).any() and sample.values.max() <= 360.0
    for design in built(case, planned(case), sample.values[:5]):
        assert isinstance(design, Case)


def test_pairs_and_the_other_end_of_a_wire_go_along() -> None:
    raw = cases.small(wires={"grip_N": 100.0, "tension_N": 1000.0, "end_tension_N": 1050.0})
    raw["tolerance"] = [
        {"path": "wire.W1.tension_N", "plus_minus_percent": 5},
        {"path": "ring.R2.centre_mm", "plus_minus": 3},
    ]
    case = case_from_dict(raw)
    plan = planned(case)
    sample = draw(plan, 4, seed=5)
    for design, row in zip(built(case, plan, sample.values), sample.draws, strict=True):
        assert isinstance(design, Case)
        wire, ring = design.wire[0], design.ring[1]
        assert wire.end_tension / wire.tension == pytest.approx(1.05, rel=1e-12)
        assert wire.tension == pytest.approx(1000.0 * (1.0 + 0.05 * row[0]), rel=1e-12)
        assert ring.centre_mm == pytest.approx(3.0 * row[1:], rel=1e-12)


# words


def told(raw: Raw) -> str:
    with pytest.raises(CaseError) as caught:
        case_from_dict({**cases.small(), "tolerance": [raw]})
    return str(caught.value)


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        ({"path": "wire.*.grip_N", "plus_minus": 10}, 'wire "W1" and 3 more: without a grip_N'),
        ({"path": "wire.*.offset_mm", "plus_minus_percent": 5}, "use plus_minus"),
        ({"path": "wire.*.tension", "plus_minus": 5}, "did you mean tension_N"),
        ({"path": "wire.W9.tension_N", "plus_minus": 5}, 'no wire "W9"'),
        ({"path": "ring.*.yield_MPa", "plus_minus": 5}, 'ring "R1" and 1 more: no yield_MPa'),
        ({"path": "bone.callus.E_MPa", "plus_minus": 5}, "no E_MPa is given there"),
        ({"path": "wire.*.face", "plus_minus": 5}, "no measure"),
        ({"path": "wire.*.order", "plus_minus": 5}, "no measure"),
        ({"path": "room.front_mm", "plus_minus": 5}, "nothing that a frame is reckoned from"),
        ({"paths": ["bone.gap_mm", "bone.E_MPa"], "plus_minus": 1}, "several units (mm, MPa)"),
        ({"path": "bone.gap_mm"}, "needs plus_minus or plus_minus_percent"),
        ({"path": "bone.gap_mm", "plus_minus": -1}, "more than 0"),
    ],
)
def test_what_is_wrong_with_a_tolerance(raw: Raw, words: str) -> None:
    assert words in told(raw)


@pytest.mark.parametrize(("designs", "seed"), [(0, 0), (10**7, 0), (5, -1)])
def test_numbers_out_of_range(designs: int, seed: int) -> None:
    with pytest.raises(CaseError, match="must"):
        spread(frame(TENSION), designs=designs, seed=seed)


def test_page_and_file(narrow: tuple[Case, Spread]) -> None:
    answer = narrow[1]
    lines = [line.text for line in answer.lines()]
    assert max(map(len, lines)) <= WIDTH
    data = json.loads(json.dumps(answer.to_dict(), allow_nan=False))
    assert [t["name"] for t in data["tolerances"]] == [t.name for t in answer.tolerances]
    assert data["all_targets"]["met"] == 48
    assert isinstance(answer.quantities[0], Distributed)
