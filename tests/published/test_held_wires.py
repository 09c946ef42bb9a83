"""What holds the bone along its wires, against what experiments found: order and signs, since the
abstracts do not give the geometry of the frames.
"""

from typing import Any

import numpy as np
import pytest

from frames.gap import gap_directions
from tests.frames import cases
from tests.frames.at_stages import before_load, steps_to_one, walk
from tests.frames.cases import Raw, axial, wrench


def moved(raw: Raw, steps: int) -> np.ndarray:
    """(steps, 6) movement at the gap along equal steps of the first load."""
    pre = before_load(raw)
    D = gap_directions(pre.parts, pre.system)
    return np.array([D.T @ (step.solution.u[0] - pre.u) for step in walk(pre, steps_to_one(steps))])


def bending(raw: Raw, steps: int) -> np.ndarray:
    """(steps,) N·m/deg step by step, in the sagittal plane."""
    degrees = np.degrees(moved(raw, steps)[:, 4])
    moment = raw["load"][0]["moment_Nm"][1]
    return moment / steps / np.diff([0.0, *degrees])


def forward(moment: float) -> Raw:
    return wrench("forward", moment=(0.0, moment, 0.0))


# the bone slides along its wires ---------------------------------------------------------------


@pytest.mark.parametrize("grip", [4.0, 8.0])
def test_the_bending_curve_has_a_knee_where_the_bone_slides(grip: float) -> None:
    """The bending curve of asymmetric four-ring frames is bilinear: above a critical moment the
    bone slips along the wires (Vet Comp Orthop Traumatol, asymmetric four-ring frames, abstract).
    Stiff before; then as the frame with smooth wires, which has stiffened by 5 % up to there."""
    steps, load = 12, forward(0.8 * grip)
    gripped = bending(cases.frame(loads=[load], wires={"grip_N": grip}), steps)
    smooth = bending(cases.frame(loads=[load]), steps)
    assert gripped[0] > 5.0 * smooth[0]
    assert gripped[-1] == pytest.approx(smooth[-1], rel=0.05)
    knee = int(np.argmax(gripped < 3.0 * smooth))
    assert 2 <= knee <= 9


def test_the_knee_goes_with_the_grip() -> None:
    """Everything but the grip being linear for small movement, both scale together."""
    small, large = (
        moved(cases.frame(loads=[forward(0.8 * g)], wires={"grip_N": g}), 6)[:, 4] / g
        for g in (2.0, 4.0)
    )
    np.testing.assert_allclose(small, large, rtol=0.03)


def test_threads_cut_the_shear_under_axial_load() -> None:
    """By 29 % in frames with threaded against smooth wires, axial stiffness being the same
    (Orthopaedic Proceedings 2006;88-B supp III:388, abstract): less, at every crossing angle
    tested."""
    for crossing in (70.0, 60.0, 45.0):
        pair = (90.0 - crossing / 2.0 + 8.0, 90.0 + crossing / 2.0 + 8.0)
        raw = cases.frame(bearings=(pair,), loads=[axial("standing", 200.0)])
        smooth = moved(raw, 1)[0]
        threaded = moved(cases.every(raw, "wire", threaded=True), 1)[0]
        assert np.hypot(*threaded[:2]) < 0.8 * np.hypot(*smooth[:2])
        assert abs(threaded[2]) == pytest.approx(abs(smooth[2]), rel=0.1)


# olives ----------------------------------------------------------------------------------------


def opposed(load: Raw, **how: Any) -> Raw:
    """Pairs of wires along one line on the two faces of a ring, beads on opposite sides of the
    bone; 900 N at the end away from the bead."""
    raw = cases.small(loads=[load])
    raw["wire"] = [
        cases.wire(f"W{i + 1}", on, bearing, face, tension_N=900.0, **how, olive=olive)
        for i, (on, bearing, face, olive) in enumerate(
            (on, bearing, face, olive)
            for on in ("R1", "R2")
            for bearing in (45.0, 135.0)
            for face, olive in (("proximal", "start"), ("distal", "end"))
        )
    ]
    return raw


def from_both_ends(raw: Raw, at_bead: float) -> Raw:
    """The legs on the side of the bead pulled too, to less: their beads press on the bone."""
    for w in raw["wire"]:
        start, end = (at_bead, 900.0) if w["olive"] == "start" else (900.0, at_bead)
        w.update(tension_from="both", tension_N=start, end_tension_N=end)
    return raw


def without_olives(raw: Raw) -> Raw:
    return cases.every(raw, "wire", olive=None)


def test_olives_tensioned_from_both_ends_are_the_stiffest_in_bending() -> None:
    """Stiffer than smooth wires and than olives tensioned from one end only, and the tension
    differs at the two ends of an olive wire (Antoci, Voor & Roberts, J Pediatr Orthop
    2005;25:798-803, abstract)."""
    load = forward(1.0)
    both = bending(from_both_ends(opposed(load), 750.0), 1)[0]
    one = bending(opposed(load), 1)[0]
    smooth = bending(without_olives(opposed(load)), 1)[0]
    assert both > 1.005 * one
    assert one > 1.5 * smooth
    one_end = before_load(opposed(load)).response.held_wires
    assert one_end is not None
    start, end = one_end.tensions[0, 0], one_end.tensions[0, -1]  # bead at its start
    assert end == pytest.approx(900.0, rel=1e-6)
    assert start < 0.8 * end


def test_a_bead_pressed_on_the_bone_from_one_end_only_slackens_its_own_leg() -> None:
    """Sum of forces: the bead takes the difference of the legs, the opposed one the same."""
    held = before_load(opposed(forward(1.0))).response.held_wires
    assert held is not None
    T = held.tensions
    first, second = T[0, -1] - T[0, 0], T[1, 0] - T[1, -1]
    assert first > 100.0
    assert first == pytest.approx(second, rel=0.01)
    np.testing.assert_allclose(T[:, 1], 900.0, rtol=1e-6)  # the bone span goes with the pulled leg


@pytest.mark.parametrize("equal", [900.0, 750.0])
def test_beads_sit_on_the_bone_when_pulled_from_both_ends(equal: float) -> None:
    """Drawn onto the bone first by the far end: no play before they take up load."""
    pre = before_load(from_both_ends(opposed(forward(0.2)), equal))
    assert pre.law.held_wires is not None
    to_bead = np.where(np.isfinite(pre.law.held_wires.travel), pre.law.held_wires.travel, 0.0)
    assert to_bead.max() < 1e-3
    stiffness = bending(from_both_ends(opposed(forward(0.2)), equal), 2)
    smooth = bending(without_olives(opposed(forward(0.2))), 1)[0]
    assert stiffness.min() > 1.3 * smooth


def test_a_bead_works_one_way() -> None:
    """Pulled away from its bead the bone slides as on a smooth wire; onto it, it is held. Beads on
    one side only, just touching."""
    raw = cases.small(loads=[wrench("to the end", (0.0, 0.0, 0.0))])
    for bearing, w in zip((0.0, 90.0, 0.0, 90.0), raw["wire"], strict=True):
        w["bearing_deg"] = bearing
    raw["wire"][0].update(olive="start", tension_from="start")
    smooth = cases.every(raw, "wire", olive=None)
    # the bead is moved off the bone by the pull at its own end; the bone goes after it by that
    pre = before_load(raw)
    assert pre.law.held_wires is not None
    play = float(pre.law.held_wires.travel[0, 0, 0])
    assert 0.1 < play < 0.6

    def last(raw: Raw, newton: float) -> float:
        """Movement in the last of three steps."""
        raw = cases.with_loads(raw, wrench("push", (newton, 0.0, 0.0), at="proximal face"))
        return float(np.diff(moved(raw, 3)[:, 0])[-1])

    # bearing 0 is anterior: its start is in front, and the bead stops the bone on its way there
    assert last(raw, -60.0) == pytest.approx(last(smooth, -60.0), rel=1e-6)
    assert 0.0 < last(raw, 60.0) < 0.95 * last(smooth, 60.0)
