"""Derivatives by the adjoint method against differences of whole checks, and what mending says.

The frame has no two parts at one place of a ring, and its wires have tensions of their own, so that
every quantity is smooth.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from frames import case_from_dict, check
from frames.casefile import Case
from frames.mending import mend
from frames.mending.parameters import Parameter, moved, parameters
from frames.mending.sensitivity import ADJOINT, RESOLVED, sensitivities
from frames.result import Result, quantity
from tests.frames import cases
from tests.frames.cases import axial
from tests.frames.commands import invoke, put

ASKED = (
    ("axial_N_per_mm", None),
    ("torsion_Nm_per_deg", None),
    ("bending_ap_Nm_per_deg", "a"),
    ("closing_mm", "a"),
    ("shear_mm", "a"),
    ("secant_axial_N_per_mm", "a"),
    ("wire_peak_stress_MPa", "a"),
    ("wire_tension_min_N", "a"),
)
STEPS = {"N": 4.0, "°": 0.05, "mm": 0.02}
USUAL = {"N": 100.0, "°": 5.0, "mm": 5.0}
"""A change one would make."""


def uneven(**other: Any) -> cases.Raw:
    raw = cases.frame(
        levels=(60.0, -60.0),
        bearings=((50.0, 131.0), (41.0, 118.0)),
        rods=(3.0, 95.0, 205.0, 305.0),
        loads=[axial("a", 60.0, offset_mm=[5, 8])],
        **other,
    )
    for w, tension in zip(raw["wire"], (900.0, 1000.0, 1100.0, 1200.0), strict=True):
        del w["tension_kgf"]
        w["tension_N"] = tension
    return raw


CASE = case_from_dict(uneven())


def by_differences(case: Case, p: Parameter, asked: Any) -> list[float]:
    """Fourth-order central differences of whole checks."""
    h = STEPS[p.unit] if p.value > 10.0 or p.unit != "mm" else 0.005
    at: list[Result] = [check(moved(case, {p: k * h})) for k in (-2, -1, 1, 2)]
    out = []
    for name, load in asked:
        q = [quantity(r, name, load) for r in at]
        out.append((q[0] - 8.0 * q[1] + 8.0 * q[2] - q[3]) / (12.0 * h))
    return out


@pytest.mark.parametrize("number", range(0, len(parameters(CASE)), 3))
def test_adjoint_derivatives_are_those_of_whole_checks(number: int) -> None:
    """To 1e-5, of the derivative or of what a usual change makes of the quantity."""
    p = parameters(CASE)[number]
    (found,) = sensitivities(CASE, ASKED, [p])
    assert found.method == ADJOINT
    base = check(CASE)
    for value, other, (name, load) in zip(
        found.by, by_differences(CASE, p, ASKED), ASKED, strict=True
    ):
        size = abs(quantity(base, name, load)) / USUAL[p.unit]
        assert value == pytest.approx(other, rel=1e-5, abs=1e-5 * size), (p.path, name)


def test_frames_that_remember_are_solved_anew() -> None:
    case = case_from_dict(cases.every(uneven(), "wire", grip_N=20.0))
    p = next(p for p in parameters(case) if p.path.endswith("tension_N"))
    (found,) = sensitivities(case, [("axial_N_per_mm", None)], [p])
    assert found.method == RESOLVED
    (other,) = by_differences(case, p, [("axial_N_per_mm", None)])
    assert found.by[0] == pytest.approx(other, rel=1e-2)


def missing(least: float) -> cases.Raw:
    return uneven() | {"target": [{"quantity": "axial_N_per_mm", "at_least": least}]}


def test_changes_told_meet_the_target_when_checked() -> None:
    have = check(CASE).stiffness["axial_N_per_mm"]
    answer = mend(case_from_dict(missing(1.02 * have)))
    assert answer.best is not None and answer.changes[0].meets_all
    told = answer.changes[0].values[0]
    again = check(answer.best)
    assert again.meets
    assert again.stiffness["axial_N_per_mm"] == pytest.approx(told, rel=1e-8)
    content = answer.to_dict()
    assert content["format"] == "tautring mending" and content["caution"]
    assert content["assumptions"]


def test_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    have = check(CASE).stiffness["axial_N_per_mm"]
    put(missing(1.02 * have))
    assert invoke("check", "case.toml").exit_code == 1
    ran = invoke("mend", "case.toml", "--write", "better.toml", "--json", "m.json")
    assert ran.exit_code == 0
    assert all(len(line) <= 80 for line in ran.output.splitlines())
    assert invoke("check", "better.toml").exit_code == 0, "the change that is written does it"
    assert json.loads(Path("m.json").read_text(encoding="utf-8"))["caution"]
    put(missing(0.5 * have), "met.toml")
    assert invoke("mend", "met.toml").exit_code == 0
