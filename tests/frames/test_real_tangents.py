"""Tangents under load of frames that slide, rub and touch: against central differences of the
solved path.

The tangent is that of the step just done, from its past: loads a little more or less in that same
step. Where a station, a clamp or a face slides in it, it slides on.
"""

from typing import Any

import numpy as np
import pytest

from fem.stepping import advance
from frames.gap import gap_compliance, gap_directions, named_stiffnesses
from frames.loading import load_vector
from tests.frames import cases
from tests.frames.at_stages import before_load, walk
from tests.frames.cases import Raw, answers, axial, wrench

SKEW = wrench("skew", (9.0, -7.0, -60.0), (0.6, 0.4, 0.5))


def _ends(**contact: Any) -> Raw:
    raw = cases.small(loads=[axial("a", 90.0, offset_mm=[3.0, 1.0])], gap=0.4)
    raw["bone"]["contact"] = {"obliquity_deg": 30.0, "points": 8, **contact}
    return raw


CASES: dict[str, tuple[Raw, float]] = {
    "ideal": (cases.small(loads=[SKEW]), 1e-6),
    "gripped": (cases.every(cases.small(loads=[SKEW]), "wire", grip_N=6.0), 1e-6),
    "clamps slip": (
        cases.every(cases.small(loads=[axial("a", 200.0)]), "wire", slip_N=1090.0),
        1e-6,
    ),
    "olive": (
        cases.edited(cases.small(loads=[SKEW]), lambda raw: raw["wire"][0].update(olive="end")),
        1e-6,
    ),
    "touching": (_ends(friction=0.0), 1e-6),
}


@pytest.mark.parametrize(("raw", "tolerance"), CASES.values(), ids=CASES)
def test_tangent_is_the_slope_of_the_path(raw: Raw, tolerance: float) -> None:
    """All six unit loads at the gap, from the state before the last of three steps."""
    pre = before_load(raw)
    vector = load_vector(pre.parts.construct.case.load[0], pre.parts, pre.system)
    before, last = walk(pre, [1 / 3, 2 / 3, 1.0])[1:]
    D = gap_directions(pre.parts, pre.system)
    tangent = last.solution.response.tangent[0]
    C = gap_compliance(pre.parts, pre.system, tangent, "load", vector.held)
    h = np.array([0.05, 0.05, 0.5, 2.0, 2.0, 2.0])  # N, N·mm
    slope = np.zeros((6, 6))
    for i in range(6):
        ends = []
        for sign in (1.0, -1.0):
            more = (vector.force + sign * h[i] * D[:, i])[None]
            step = advance(
                pre.system,
                more,
                before.law,
                before.solution.u,
                ["near"],
                start_loads=2 / 3 * vector.force[None],
                held=vector.held,
            )
            ends.append(D.T @ step.solution.u[0])
        slope[:, i] = (ends[0] - ends[1]) / (2.0 * h[i])
    size = np.sqrt(np.outer(np.diag(C), np.diag(C)))
    assert np.abs((slope - C) / size).max() < 10.0 * tolerance
    assert np.abs((C - C.T) / size).max() < 1e-12


def test_these_states_slide_and_touch() -> None:
    """Or nothing was tested."""
    held = walk(before_load(CASES["gripped"][0]), [1 / 3, 2 / 3, 1.0])[
        -1
    ].solution.response.held_wires
    assert held is not None
    assert (np.abs(held.slip) > 1e-4).sum() >= 2
    slipping = walk(before_load(CASES["clamps slip"][0]), [1 / 3, 2 / 3, 1.0])[-1]
    assert slipping.solution.response.held_wires is not None
    assert (slipping.solution.response.held_wires.clamp_slip > 1e-3).any()
    faces = walk(before_load(CASES["touching"][0]), [1 / 3, 2 / 3, 1.0])[-1].solution.response
    assert faces.contacts is not None
    touching = faces.contacts.pressure[0] > 0.0
    assert touching.any()
    assert not touching.all()


def test_rubbing_faces_give_the_slope_for_limits_that_stay() -> None:
    """With friction the tangent keeps Coulomb's limits as they are, since with limits that follow
    the pressure it would not be symmetric: stiffer than the path where ends slide on a plane, by
    no more than friction makes of it, and softer than faces that stick."""
    raw = _ends(friction=0.3)
    raw["model"] = {"load_steps": 3}
    told = answers(raw).loads[0]
    smooth = answers(_ends(friction=0.0)).loads[0]
    assert told.faces is not None
    assert told.faces.sliding > 0.0
    for name in ("shear_ap_N_per_mm", "bending_ap_Nm_per_deg"):
        assert told.tangent[name] > 0.9 * smooth.tangent[name]


def test_named_stiffnesses_of_a_load_are_of_that_tangent() -> None:
    raw = CASES["gripped"][0] | {"model": {"load_steps": 3}}
    pre = before_load(raw)
    vector = load_vector(pre.parts.construct.case.load[0], pre.parts, pre.system)
    last = walk(pre, [1 / 3, 2 / 3, 1.0])[-1]
    C = gap_compliance(
        pre.parts, pre.system, last.solution.response.tangent[0], "load", vector.held
    )
    assert answers(raw).loads[0].tangent == pytest.approx(named_stiffnesses(C), rel=1e-9)
