"""Loads that come and go: what clamps that slip, grips and rubbing ends leave behind."""

from typing import Any

import numpy as np
import pytest

from fem import respond
from frames.histories import follow_histories
from frames.loading import load_vector
from frames.result_parts import HistoryResult
from frames.wire_answers import span_tensions, wire_peak_stress
from tests.frames import cases
from tests.frames.at_stages import before_load, out_of_balance, walk
from tests.frames.cases import Raw, answers, axial, wrench


def walked(
    tension: float = 1000.0, slip: float = 1000.0, load: float = 300.0, cycles: int = 4, **wire: Any
) -> Raw:
    """A frame with two planes of symmetry that is walked on; clamps let wires slip."""
    raw = cases.symmetric(loads=[axial("walking", load)])
    raw = cases.every(raw, "wire", tension_N=tension, tension_kgf=None, slip_N=slip, **wire)
    raw["model"] = {"load_steps": 3}
    raw["history"] = [{"load": "walking", "cycles": cycles}]
    return raw


def histories(raw: Raw) -> tuple[HistoryResult, ...]:
    """What a check says of them, without its search for limits."""
    pre = before_load(raw)
    case = pre.parts.construct.case
    vectors = [load_vector(load, pre.parts, pre.system) for load in case.load]
    said: list[str] = []
    return follow_histories(pre, case.history, vectors, wire_peak_stress(pre.parts), said.append)


def left(history: HistoryResult) -> np.ndarray:
    """(w,) N"""
    return np.array([w.tension_N for w in history.wires])


def test_tension_left_is_set_by_the_load_and_the_clamps_not_by_pretension() -> None:
    """Under a transverse load that comes and goes tension falls to a limit that the load alone sets
    for a given clamp (Delprete & Gola, J Biomech Eng 1993;115:37-42, abstract): at the peak every
    wire holds what its clamps do, whatever it had before."""
    tight, firm, loose = (
        left(histories(walked(tension=T, load=350.0))[0]) for T in (1000.0, 950.0, 900.0)
    )
    np.testing.assert_allclose(firm, tight, rtol=1e-6)
    np.testing.assert_allclose(loose, tight, rtol=1e-6)
    assert tight.max() < 800.0


def test_more_load_leaves_less_and_firmer_clamps_leave_more() -> None:
    by_load = [left(histories(walked(load=P))[0]).mean() for P in (150.0, 250.0, 350.0)]
    assert by_load[0] > by_load[1] > by_load[2]
    by_slip = [
        left(histories(walked(tension=950.0, slip=slip))[0]).mean()
        for slip in (960.0, 1000.0, 1040.0)
    ]
    assert by_slip[0] < by_slip[1] < by_slip[2]


def test_clamps_that_hold_leave_all() -> None:
    for raw in (walked(slip=2000.0), walked(slip=1e5)):
        only = histories(raw)[0]
        assert only.cycles == 1
        assert only.settled
        np.testing.assert_allclose(left(only), 1000.0, rtol=1e-9)
        assert only.lost_Nmm == pytest.approx((0.0, 0.0), abs=1e-6)
        assert max(map(abs, only.gap_set.values())) < 1e-6


def test_the_first_cycle_takes_it_all() -> None:
    """Slip under a load that does not grow is done once: the second cycle finds nothing to lose."""
    only = histories(walked())[0]
    assert only.cycles == 2
    assert only.settled
    assert only.lost_Nmm[0] > 10.0
    assert abs(only.lost_Nmm[1]) < 1e-6
    once = histories(walked(cycles=1))[0]
    assert once.cycles == 1
    assert not once.settled
    np.testing.assert_allclose(left(once), left(only), rtol=1e-6)


def test_histories_go_on_from_each_other() -> None:
    """A small load after a large one takes nothing; a large one after a small one the rest."""
    raw = walked()
    raw["load"].append(axial("standing", 150.0))
    raw["history"] = [{"load": name, "cycles": 2} for name in ("standing", "walking", "standing")]
    first, second, third = histories(raw)
    alone = histories(walked())[0]
    assert left(first).mean() > left(second).mean() + 50.0
    np.testing.assert_allclose(left(second), left(alone), rtol=1e-5)
    np.testing.assert_allclose(left(third), left(second), rtol=1e-9)
    assert third.lost_Nmm == pytest.approx((0.0, 0.0), abs=1e-6)


def test_the_frame_afterwards_is_softer_and_in_balance() -> None:
    """As a frame tensioned to what is left is."""
    only = histories(walked())[0]
    again = walked(slip=1e5)
    for w, tension in zip(again["wire"], left(only), strict=True):
        w["tension_N"] = float(tension)
    fresh = answers({k: v for k, v in again.items() if k != "history"}).stiffness
    assert only.stiffness == pytest.approx(dict(fresh), rel=1e-4)


SLIDING: dict[str, Raw] = {
    "clamps": walked(load=300.0),
    "grips": {
        **cases.every(cases.small(), "wire", grip_N=40.0),
        "load": [wrench("aside", (25.0, 10.0, 0.0), (0.3, 0.0, 0.2))],
    },
    "rubbing ends": {
        **cases.symmetric(gap=0.3, loads=[axial("a", 120.0, offset_mm=[2.0, 0.0])]),
        "bone": {
            **cases.symmetric(gap=0.3)["bone"],
            "contact": {"friction": 0.2, "obliquity_deg": 35.0},
        },
    },
}


@pytest.mark.parametrize("raw", SLIDING.values(), ids=SLIDING)
def test_energy_lost_is_the_work_done_in_a_cycle(raw: Raw) -> None:
    """∮ F du by the trapezium rule, to some percent with 16 steps; in no step less than nothing."""
    n = 16
    up = np.arange(1, n + 1) / n
    levels = [*up, *up[-2::-1], 0.0]
    pre = before_load(raw)
    steps = walk(pre, levels)
    vector = load_vector(pre.parts.construct.case.load[0], pre.parts, pre.system)
    at = np.array([(step.solution.u[0] - pre.u) @ vector.force for step in steps])
    share = np.array([0.0, *levels])
    work = float(np.sum((share[1:] + share[:-1]) / 2.0 * np.diff(np.array([0.0, *at]))))
    lost = np.array([float(step.dissipated[0]) for step in steps])
    assert (lost > -1e-9 * lost.max()).all()
    assert lost.sum() > 1.0
    before, after = pre.response.energy, steps[-1].solution.u[0]
    rest = respond(pre.system, after, steps[-1].law.one(0))
    stored = float(rest.energy - before)  # what stays in the frame, locked in by friction
    assert lost.sum() + stored == pytest.approx(work, rel=0.05)


def test_nothing_left_over_without_load() -> None:
    """After unloading the frame is in balance on nothing, supports too."""
    raw = walked()
    pre = before_load(raw)
    last = walk(pre, [0.5, 1.0, 0.5, 0.0])[-1]
    law, u = last.law.one(0), last.solution.u[0]
    after = respond(pre.system, u, law)
    np.testing.assert_allclose(
        span_tensions(after), span_tensions(last.solution.response)[0], rtol=1e-9
    )
    moved = pre.__class__(**{**vars(pre), "u": u, "law": law, "response": after})
    assert out_of_balance(moved) < 1e-5


def test_a_check_tells_the_history() -> None:
    """And loads are those on the frame as tensioned, not as walked on."""
    raw = walked(cycles=3)
    raw["model"]["load_steps"] = 2
    with_it, without = answers(raw), answers({k: v for k, v in raw.items() if k != "history"})
    assert with_it.loads[0].gap_movement == without.loads[0].gap_movement
    assert without.histories == ()
    (told,) = with_it.histories
    assert told.load == "walking"
    table = with_it.to_csv()
    assert f"history 1,walking,W1,tension_N,{told.wires[0].tension_N!r}" in table
    assert f"history 1,walking,,lost_first_Nmm,{told.lost_Nmm[0]!r}" in table
