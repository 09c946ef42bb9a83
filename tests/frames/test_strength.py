"""Strength: sections, lives, clamps, bearing and columns by hand; statics of a frame."""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from fem.sections import rectangle, solid_circle
from frames import CaseError, case_from_dict, strength
from frames.checking import check_with_states
from frames.stressing.holding import bearings
from frames.stressing.limits import STANDARD, Limits, limits_of
from frames.stressing.sections import equivalent, member_stress
from tests.frames import cases
from tests.frames.cases import axial, edited
from tests.frames.commands import invoke, put

STEEL = STANDARD["stainless steel"]


def _forces(**given: float) -> np.ndarray:
    names = ("N", "V_y", "V_z", "M_x", "M_y", "M_z")
    return np.array([[[given.get(n, 0.0) for n in names]]])


def test_round_bar_by_hand() -> None:
    """σ = N/A + 32 M / π d³ with M the resultant, τ = 16 T / π d³, sqrt(σ² + 3 τ²)."""
    d, bar = 5.0, [solid_circle(5.0, 0.3, "bar")]
    A, W = math.pi * d**2 / 4, math.pi * d**3 / 32
    found = equivalent(bar, _forces(N=-300.0, M_y=400.0, M_z=-300.0, M_x=200.0))[0, 0]
    sigma, tau = 300.0 / A + 500.0 / W, 200.0 / (2 * W)
    assert found == pytest.approx(math.hypot(sigma, math.sqrt(3.0) * tau))


def test_rectangular_bar_by_hand() -> None:
    """σ = N / bt + 6 M / b t² about each axis."""
    bar = [rectangle(14.0, 5.0, 0.3, "bar")]
    stress = [equivalent(bar, _forces(**{m: 1000.0}))[0, 0] for m in ("M_y", "M_z")]
    assert sorted(stress) == pytest.approx([6000.0 / (5.0 * 14.0**2), 6000.0 / (14.0 * 5.0**2)])


def test_life_by_hand() -> None:
    """Straight in logarithms: half-way between 10³ and 10⁶ in log N at the geometric mean of the
    amplitudes; Goodman makes 100 MPa about 430 MPa mean twice as hard (σu = 860)."""
    middle = math.sqrt(774.0 * 344.0)
    assert STEEL.life(middle, 0.0) == pytest.approx(10**4.5, rel=1e-9)
    assert STEEL.life(774.0, 0.0) == pytest.approx(1e3)
    assert STEEL.life(middle / 2.0, 430.0) == pytest.approx(10**4.5, rel=1e-9)
    assert math.isinf(STEEL.life(340.0, 0.0)) and STEEL.life(500.0, 400.0) == 0.0
    drawn = STEEL.scaled(900.0)
    assert drawn.ultimate_MPa == pytest.approx(860.0 * 900.0 / 690.0)


def test_own_limits_take_the_place_of_the_built_in_ones() -> None:
    own = {"material": "stainless steel", "yield_MPa": 500.0, "cycles": [1e2, 1e7]}
    case = case_from_dict(cases.frame() | {"endurance": [own | {"amplitude_MPa": [400.0, 200.0]}]})
    found = limits_of(case, "stainless steel")
    assert isinstance(found, Limits)
    assert (found.yield_MPa, found.ultimate_MPa, found.cycles) == (500.0, 860.0, (1e2, 1e7))
    with pytest.raises(CaseError, match="go together"):
        case_from_dict(cases.frame() | {"endurance": [own]})


def test_wire_at_a_published_load() -> None:
    """A clamped 1.8 mm wire yields from about 50 to 55 N across it at any tension (Watson et al.
    2003, abstract): at a quarter of 4 × 55 N per wire its stress stands within 20 % of 900 MPa."""
    raw = cases.symmetric(rings={"E_MPa": 1e6, "nu": 0.3})
    raw["load"] = [axial("a", 4 * 55.0)]
    for tension in (490.0, 1275.0):
        each = cases.every(raw, "wire", tension_kgf=None, tension_N=tension)
        wires = [p for p in strength(case_from_dict(each)).parts if p.kind == "wire"]
        assert wires[0].stress_MPa == pytest.approx(900.0, rel=0.2)


def test_rods_between_the_fragments_carry_the_load() -> None:
    """A cut through gap and rods: the rods' axial forces add up to the load, but for what leaning
    rods stretch to second order (``frames.stressing.sections``)."""
    checked = check_with_states(case_from_dict(cases.frame(loads=[axial("a", 150.0)])))
    stress = member_stress(checked)
    names = checked.pre.parts.model.members.names
    rows = [i for i, n in enumerate(names) if "rod R2-R3" in n]
    assert len(rows) == 4
    total = (stress.forces - stress.rest_forces)[0][rows][:, 0, 0].sum()
    assert total == pytest.approx(-150.0, rel=0.01)


def test_wires_press_the_bone_with_the_load() -> None:
    """150 N along the bone on four wires of a fragment: 37.5 N each, half of it on each cortex;
    over 1.8 mm and 6 mm of wall. (175 N over 1.8 mm and two walls of 4 mm: 12 MPa, arithmetic.)"""
    raw = cases.symmetric()
    raw["load"] = [axial("a", 150.0)]
    checked = check_with_states(case_from_dict(raw))
    found = list(bearings(checked, member_stress(checked)))
    mean = np.mean([b.force_N for b in found])
    assert mean == pytest.approx(150.0 / 4 / 2, rel=0.05)
    for b in found:
        assert b.pressure_MPa == pytest.approx(b.force_N / (1.8 * 6.0))
    assert pytest.approx(12.2, abs=0.1) == 175.0 / (1.8 * 8.0)


def test_euler_load_of_a_rod() -> None:
    """π² E I / L² of 6 mm steel, 90 mm between the rings: 149,600 N (arithmetic)."""
    answer = strength(case_from_dict(cases.frame(loads=[axial("a", 150.0)])))
    rod = next(r for r in answer.rods if "R1" in r.piece and "R2" in r.piece)
    euler = math.pi**2 * 193_000.0 * math.pi * 6.0**4 / 64.0 / 90.0**2
    assert rod.buckling_N == pytest.approx(euler, rel=1e-9)
    assert rod.share_percent == pytest.approx(100.0 * rod.compression_N / euler)


def test_clamps_against_their_slip_load() -> None:
    raw = cases.every(cases.frame(loads=[axial("a", 50.0)]), "wire", slip_N=1500.0)
    answer = strength(case_from_dict(raw))
    for c in answer.clamps:
        assert c.share_percent == pytest.approx(100.0 * c.tension_N / 1500.0)
        assert c.torque_Nm == pytest.approx(c.tension_N / 112.5)
    free = strength(case_from_dict(cases.frame(loads=[axial("a", 50.0)])))
    assert all(c.share_percent is None for c in free.clamps)


def test_governing_part_comes_first_and_material_without_a_name_has_no_limit() -> None:
    raw = edited(
        cases.frame(loads=[axial("a", 100.0)]),
        lambda raw: raw["ring"][0].update(E_MPa=193_000.0, nu=0.3),
    )
    answer = strength(case_from_dict(raw))
    shares = [p.share_percent for p in answer.parts if p.share_percent is not None]
    assert shares == sorted(shares, reverse=True) and answer.governing == answer.parts[0]
    unknown = [p.name for p in answer.parts if p.share_percent is None]
    assert unknown == ["R1"]


def test_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    invoke("new", "case.toml", "--example", "hybrid")
    text = Path("case.toml").read_text(encoding="utf-8").replace("cycles = 10", "cycles = 1")
    Path("case.toml").write_text(text, encoding="utf-8")
    ran = invoke("strength", "case.toml", "--json", "s.json", "--csv", "s.csv")
    assert ran.exit_code == 0
    assert all(len(line) <= 80 for line in ran.output.splitlines())
    content = json.loads(Path("s.json").read_text(encoding="utf-8"))
    assert {p["kind"] for p in content["parts"]} == {"wire", "half-pin", "ring", "rod", "post"}
    put(cases.small())
    assert invoke("strength", "case.toml").exit_code == 0
