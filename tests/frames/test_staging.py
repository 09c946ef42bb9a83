"""Tensioning in stages: rings that give, dials and what comes out of them."""

from math import pi, radians
from typing import Any

import numpy as np
import pytest

from fem import make_system, node_displacements
from frames import case_from_dict
from frames.construct import construct
from frames.dialling import tensioning
from frames.dials import dials_for
from frames.discretise import POINTS, discretise
from frames.staging import loose
from tests.frames import cases
from tests.frames.at_stages import before_load, out_of_balance, steps_to_one, walk
from tests.frames.cases import Raw, answers, axial, wrench
from tests.frames.comparing import assert_same
from tests.published.ring_models import pinch_bending

T = 1275.0  # 130 kgf
DIALLED = {"pretension": "dialled"}
EA = 193_000.0 * pi * 0.9**2


def crossing(degrees: float, **wires: Any) -> Raw:
    """The small frame, wires in the rings' neutral planes; the first ring's cross at an angle."""
    raw = cases.small(wires={"height_mm": 0.0, "tension_N": T, **wires})
    for w, bearing in zip(raw["wire"], (-degrees / 2, degrees / 2, 45.0, -45.0), strict=True):
        w["bearing_deg"] = 90.0 + bearing
    return {**raw, "model": dict(DIALLED)}


def _thin_ring(degrees: float, radius: float = 87.0) -> float:
    """ΔT₁ of the free thin ring (``tests/published/test_ring_wires_staged.py``)."""
    f = radius**3 / (193_000.0 * 5.0 * 14.0**3 / 12.0)
    there = f * pinch_bending(radians(degrees))
    return -there * T / (f * pinch_bending(0.0) + 2.0 * radius / EA)


@pytest.mark.parametrize("degrees", [30.0, 45.0, 60.0, 90.0])
def test_the_second_wire_changes_the_first(degrees: float) -> None:
    """Three rods to a far ring hardly stiffen this one, hoop and shear soften it by 2 %: as the
    free ring does, to 1 % of the tension."""
    first, second = before_load(crossing(degrees)).stages[:2]
    assert first.left[0] == pytest.approx([T, T], rel=1e-9)
    assert second.left[1] == pytest.approx([T, T], rel=1e-9)
    assert second.left[0, 0] - T == pytest.approx(_thin_ring(degrees), abs=0.01 * T)


def test_every_stage_is_an_equilibrium() -> None:
    """So that a later stage starts where the last one ended: clamps that slip when a neighbour
    pulls hold what they can, and nothing more is lost by locking."""
    pre = before_load(crossing(90.0, slip_N=1400.0))
    assert pre.stages[1].left[0] == pytest.approx([1400.0, 1400.0], abs=1e-6)
    assert pre.stages[-1].left[2] == pytest.approx([1400.0, 1400.0], abs=1e-6)
    assert out_of_balance(pre) < 1e-6
    now = pre.response.held_wires
    assert now is not None
    np.testing.assert_allclose(now.tensions[:, [0, -1]], pre.stages[-1].left, atol=1e-6)


def test_the_tensioner_takes_a_share_with_it() -> None:
    """When it comes off; the dial tells what it was. A wire's own share goes before the case's."""
    raw = crossing(60.0)
    raw["model"]["tensioner_drop_percent"] = 20.0
    raw["wire"][2]["tensioner_drop_percent"] = 5.0
    for i, (stage, kept) in enumerate(
        zip(before_load(raw).stages, (0.8, 0.8, 0.95, 0.8), strict=True)
    ):
        assert stage.dial[i, 0] == T
        assert stage.pulled[i] == pytest.approx([T, T], rel=1e-9)
        assert stage.left[i] == pytest.approx([kept * T, kept * T], rel=1e-9)


def test_a_tensioner_holds_more_than_the_clamps() -> None:
    """A threaded wire pulled at both ends above the slip load of its clamps is left with that."""
    raw = crossing(90.0)
    raw["wire"][3].update(threaded=True, slip_N=1100.0)
    pre = before_load(raw)
    assert pre.stages[-1].pulled[3] == pytest.approx([T, T], rel=1e-9)
    assert pre.stages[-1].left[3] == pytest.approx([1100.0, 1100.0], abs=1e-6)
    assert out_of_balance(pre) < 1e-6


# take-up ---------------------------------------------------------------------------------------


def test_take_up_is_the_stretch_and_what_the_ring_closes() -> None:
    """The stretch of the wire is T L/EA; the rest is the way its clamps came together, told by the
    nodes of the model. (The ring turns its clamps, which bows the wire by 1e-4 mm.)"""
    raw = crossing(60.0)
    for w in raw["wire"][1:]:
        w["tension_N"] = 0.0  # laid, but without tension they change nothing
    pre = before_load(raw)
    moved = node_displacements(pre.system, pre.u)
    ends = [moved[pre.parts.model.node(f"W1 {end} clamp"), :3] for end in ("start", "end")]
    stations = pre.parts.construct.wires[0].stations
    across = (stations[3] - stations[0]) / np.linalg.norm(stations[3] - stations[0])
    taken = pre.stages[0].take_up[0]
    assert taken.stretch_mm == pytest.approx(T * 174.0 / EA, rel=1e-6)
    assert taken.closing_mm == pytest.approx((ends[0] - ends[1]) @ across, abs=2e-4)
    assert taken.closing_mm > 0.5
    assert taken.start_mm + taken.end_mm == taken.stretch_mm + taken.closing_mm
    assert taken.end_mm == 0.0


def test_take_up_in_a_ring_that_does_not_give() -> None:
    """T L/EA alone: a ring fifty times as stiff closes by a fiftieth of 0.59 mm."""
    raw = cases.every(crossing(60.0), "ring", E_MPa=1e6, nu=0.3, thickness_mm=50.0)
    for taken in (stage.take_up[0] for stage in before_load(raw).stages):
        assert taken.start_mm == pytest.approx(T * 174.0 / EA, rel=0.03)


def test_a_bead_pulled_at_its_own_end_leaves_the_bone() -> None:
    """By the stretch of all the wire beyond it, when the ring does not give: bone span of 26 mm and
    far leg of 74 mm."""
    raw = cases.every(crossing(60.0), "ring", E_MPa=1e6, nu=0.3, thickness_mm=50.0)
    raw["wire"][0].update(olive="start", tension_from="start")
    pre = before_load(raw)
    assert pre.law.held_wires is not None
    play = pre.law.held_wires.travel[0, 0, 0]
    assert play == pytest.approx(T * (26.0 + 74.0) / EA, rel=0.03)


@pytest.mark.parametrize(
    ("tension_from", "ends"),
    [("start", (True, False)), ("end", (False, True)), ("both", (True, False))],
)
def test_a_smooth_wire_is_drawn_out_where_it_is_pulled(
    tension_from: str, ends: tuple[bool, bool]
) -> None:
    """With the same answer, since it slides through the bone; pulled at both ends, at its start."""
    at_start = before_load(crossing(60.0))
    pre = before_load(crossing(60.0, tension_from=tension_from))
    for stage, other in zip(pre.stages, at_start.stages, strict=True):
        taken = stage.take_up[0]
        assert (taken.start_mm > 0.0, taken.end_mm > 0.0) == ends
        assert taken.start_mm + taken.end_mm == pytest.approx(other.take_up[0].start_mm, rel=1e-7)
        np.testing.assert_allclose(stage.left, other.left, rtol=1e-8)
        row = pre.parts.wire_names.index(stage.wires[0])
        assert tuple(np.isfinite(stage.dial[row])) == ends


# what to dial ----------------------------------------------------------------------------------


def _orders(raw: Raw, *orders: int | None) -> Raw:
    for w, order in zip(raw["wire"], orders, strict=True):
        if order is not None:
            w["order"] = order
    return raw


def _olives(raw: Raw) -> Raw:
    """Two wires on either face of each ring along one line, beads on opposite sides of the bone."""
    raw["wire"] = [
        cases.wire(f"W{i + 1}", on, bearing, face, olive=olive, tension_N=900.0)
        for i, (on, bearing, face, olive) in enumerate(
            (on, bearing, face, olive)
            for on in ("R1", "R2")
            for bearing in (45.0, 135.0)
            for face, olive in (("proximal", "start"), ("distal", "end"))
        )
    ]
    return raw


SOUGHT = {
    "in turn": cases.small(),
    "another order": _orders(cases.small(), 4, None, 2, 1),
    "at once in pairs": _orders(cases.small(), 1, 1, 2, 2),
    "tensioner off": {**cases.small(), "model": {"tensioner_drop_percent": 30.0}},
    "one drops most of it": cases.edited(
        cases.small(), lambda raw: raw["wire"][0].update(tensioner_drop_percent=85.0)
    ),
    "gripped": cases.edited(
        cases.small(), lambda raw: raw["wire"][1].update(grip_N=60.0, tension_from="end")
    ),
    "threaded": cases.every(cases.small(), "wire", threaded=True),
    "an olive": cases.edited(
        cases.small(), lambda raw: raw["wire"][3].update(olive="start", tension_kgf=70.0)
    ),
    "legs apart": cases.edited(
        cases.small(),
        lambda raw: raw["wire"][2].update(grip_N=200.0, tension_from="both", end_tension_N=900.0),
    ),
    "nuts turned before": {
        **cases.small(),
        "nut_turn": [
            {
                "name": "tilt",
                "rings": ["R1", "R2"],
                "bearings_deg": [0.0],
                "lengthen_mm": 2.0,
                "when": "before tensioning",
            }
        ],
    },
}


@pytest.mark.parametrize("raw", SOUGHT.values(), ids=SOUGHT)
def test_dialled_as_told_all_come_out_as_asked(raw: Raw) -> None:
    """``tensioning`` tells dials; a case that dials them is left with the tensions asked for."""
    told = tensioning(case_from_dict(raw))
    again = cases.edited(raw, lambda new: new.setdefault("model", {}).update(DIALLED))
    dials = {
        wire: dial
        for stage in told.stages
        for wire, dial in zip(stage.tensioned, stage.dial_N, strict=True)
    }
    for w in again["wire"]:
        w.pop("tension_kgf", None)
        start, end = dials[w["name"]]
        assert start is not None or end is not None
        w["tension_N"] = end if start is None else start
        if start is not None and end is not None:
            w.update(tension_from="both", end_tension_N=end)
    left = before_load(again).stages[-1].left
    for (start, end), legs in zip(told.wanted_N, left, strict=True):
        assert start is None or legs[0] == pytest.approx(start, abs=0.01)
        assert end is None or legs[1] == pytest.approx(end, abs=0.01)


@pytest.mark.parametrize("drop", [0.0, 40.0])
def test_dials_of_smooth_wires_are_found_at_once(
    drop: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From the finished frame backwards; going through the stages then only confirms them."""
    monkeypatch.setattr("frames.dials.MOST_ROUNDS", 1)
    model = {**DIALLED, "tensioner_drop_percent": drop}
    parts = discretise(construct(case_from_dict({**cases.small(), "model": model})))
    system = make_system(parts.model, keep=[parts.point_node[p] for p in POINTS])
    _, done = dials_for(parts, system, *loose(parts, system))
    wanted = np.full((4, 2), 110.0 * cases.KGF)
    np.testing.assert_allclose(done.stages[-1].left, wanted, rtol=1e-9)


def test_dials_told_before_are_tensions_left_after() -> None:
    """``tensioning`` of a dialled case tells what the check of it starts from."""
    raw = {**SOUGHT["nuts turned before"], "model": dict(DIALLED)}
    told = tensioning(case_from_dict(raw)).left
    for w, after in zip(told, answers(raw).wires, strict=True):
        assert w.legs_N == pytest.approx(after.legs_N, rel=1e-9)


# one law and the other -------------------------------------------------------------------------

LOADS = (
    axial("on the axis", 100.0),
    wrench("all at once", (6.0, 11.0, -50.0), (0.5, -0.3, 1.0)),
)


def test_all_at_once_without_a_drop_is_final() -> None:
    """Then dialled tensions are those of the finished frame."""
    raw = cases.every(cases.small(loads=LOADS), "wire", order=1)
    assert_same(answers(raw), answers({**raw, "model": dict(DIALLED)}))


def test_clamps_that_hold_anything_leave_the_ideal_wire() -> None:
    raw = cases.small(loads=LOADS)
    raw["model"] = {"load_steps": 2}
    held = answers(cases.every(raw, "wire", slip_N=1e5))
    assert_same(answers(raw), held, tolerance=1e-8, loaded_tolerance=1e-7)


def test_little_grip_changes_little_under_load() -> None:
    """A grip of g holds back g per cortex: 8 g of the load of 100 N. (At rest, for loads still
    smaller, even it holds the bone.)"""
    raw = cases.small(loads=LOADS[:1])
    smooth = walk(before_load(raw), [1.0])[-1].solution.u
    for g in (1e-12, 1e-4):
        gripped = walk(before_load(cases.every(raw, "wire", grip_N=g)), [1.0])[-1].solution.u
        assert np.abs(gripped - smooth).max() < (8.0 * g / 100.0 + 1e-8) * np.abs(smooth).max()


@pytest.mark.parametrize("grip", [1e-3, 20.0])
def test_at_rest_what_grips_holds(grip: float) -> None:
    """However the bone has slid while the wires were tensioned: between smooth and threaded, and
    the more of it the same for any grip, since a small load does not pass it."""
    smooth, gripped, threaded = (
        answers(cases.every(cases.small(), "wire", **how)).stiffness
        for how in ({}, {"grip_N": grip}, {"threaded": True})
    )
    for name in ("bending_ap_Nm_per_deg", "shear_ml_N_per_mm"):
        assert gripped[name] == pytest.approx(threaded[name], rel=0.02)
        assert gripped[name] > 1.02 * smooth[name]


# the way of loading ----------------------------------------------------------------------------


def _beads(raw: Raw) -> Raw:
    """Olives that sit on the bone, tensioned as one does: from the end away from the bead."""
    return _olives({**raw, "bone": {**raw["bone"], "gap_mm": 2.0}})


def _play(raw: Raw) -> Raw:
    for ring in raw["ring"]:
        ring.update(halves="bolted", split_bearing_deg=70.0, joint_play_deg=0.05)
    return raw


def _faces(raw: Raw) -> Raw:
    raw["bone"].update(gap_mm=0.5, contact={"friction": 0.0, "obliquity_deg": 20.0})
    return raw


def _callus(raw: Raw) -> Raw:
    raw["bone"]["callus"] = {"E_MPa": 1.0}
    return raw


ELASTIC = {
    "ideal": lambda raw: raw,
    "threaded": lambda raw: cases.every(raw, "wire", threaded=True),
    "olives": _beads,
    "contact": _faces,
    "callus": _callus,
    "play": _play,
}


@pytest.mark.parametrize("change", ELASTIC.values(), ids=ELASTIC)
def test_elastic_frames_do_not_know_the_way(change: Any) -> None:
    """One step, three or ten: the same displacements to 1e-7."""
    pre = before_load(change(cases.small(loads=LOADS)))
    once, few, many = (walk(pre, steps_to_one(n))[-1].solution.u - pre.u for n in (1, 3, 10))
    size = np.abs(once).max(axis=-1, keepdims=True)
    assert np.abs((few - once) / size).max() < 1e-7
    assert np.abs((many - once) / size).max() < 1e-7


@pytest.mark.parametrize(
    "change",
    [
        lambda raw: cases.every(raw, "wire", grip_N=30.0),
        lambda raw: cases.every(raw, "wire", slip_N=1100.0),
    ],
    ids=["grip", "slip"],
)
def test_sliding_frames_settle_with_the_number_of_steps(change: Any) -> None:
    """Halving the steps about halves what is left of the error; ten are within 2 %."""
    pre = before_load(change(cases.small(loads=LOADS)))
    one, ten, fine = (walk(pre, steps_to_one(n))[-1].solution.u - pre.u for n in (1, 10, 40))
    size = np.abs(fine).max(axis=-1, keepdims=True)
    off = [np.abs((u - fine) / size).max() for u in (one, ten)]
    assert off[1] < 0.02
    assert off[1] <= off[0] + 1e-7


def _with_threads() -> Raw:
    raw = cases.small(loads=[axial("a", 30.0)])
    for w in raw["wire"]:
        w["threaded"] = True
    return raw


def test_a_threaded_wire_is_not_slack_for_want_of_tension_in_the_bone() -> None:
    """Between its cortices nothing pulls it; both legs are taut, and stay so."""
    result = answers(_with_threads())
    assert not any(w.slack for load in result.loads for w in load.wires)
    assert not [w for w in result.warnings if w.kind == "slack wire"]


@pytest.mark.parametrize("keys", [{"threaded": True}, {"grip_N": 80.0}])
def test_stages_sound_as_the_finished_frame(keys: Raw) -> None:
    """Tones after the last stage are those that a check tells, tension in the bone included."""
    raw = {**cases.small(), "model": dict(DIALLED)}
    for w in raw["wire"]:
        w.update(keys)
    result = answers(raw)
    for stage_wire, wire in zip(result.tensioning[-1].left, result.wires, strict=True):
        assert stage_wire.tone_Hz == pytest.approx(wire.tone_Hz, rel=1e-6)
