"""Strength: sections, lives, clamps, bearing and columns by hand; statics of a frame."""

import json
import math
import tomllib
from pathlib import Path

import numpy as np
import pytest

from fem.sections import rectangle, solid_circle
from frames import CaseError, case_from_dict, check, modes, strength
from frames.demo import demo_text
from frames.sizes import THREADS
from frames.stressing.fibres import coming_and_going, fibre_stress
from frames.stressing.holding import bearings
from frames.stressing.limits import STANDARD, Limits, cycles_words, limits_of
from frames.stressing.places import bearing_of, side_word
from frames.stressing.sections import equivalent, member_stress
from frames.stressing.solving import solved
from frames.stressing.wires import all_wire_ends, wire_fibres
from frames.wire_answers import wire_peak_stress
from tests.frames import cases
from tests.frames.cases import Raw, axial, edited
from tests.frames.commands import invoke, put

STEEL = STANDARD["stainless steel"]


def _hybrid() -> Raw:
    """The demo with half-pins and posts, its fracture faces apart."""
    raw = tomllib.loads(demo_text("hybrid"))
    del raw["bone"]["contact"]
    return {k: v for k, v in raw.items() if k not in ("history", "nut_turn", "target")}


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


def test_fibre_of_a_round_bar_that_is_bent_to_and_fro() -> None:
    """Bent one way at rest and as far the other way under load, the largest stress is the same, yet
    the fibre goes from -M / W to M / W: amplitude M / W, mean N / A."""
    d, bar = 5.0, [solid_circle(5.0, 0.3, "bar")]
    A, W = math.pi * d**2 / 4, math.pi * d**3 / 32
    states = [fibre_stress(bar, _forces(N=300.0, M_y=M)) for M in (-500.0, 500.0)]
    amplitude, mean = coming_and_going(*states)
    assert amplitude.max() == pytest.approx(500.0 / W)
    assert mean == pytest.approx(300.0 / A)


def test_fibre_of_a_rectangle_and_twist() -> None:
    """Corners bear ± N/bt ± 6 M/b t² about each axis; twist that comes and goes has an amplitude
    and a mean of sqrt(3) τ / 2 each; compression counts as no mean."""
    bar = [rectangle(14.0, 5.0, 0.3, "bar")]
    sigma, _ = fibre_stress(bar, _forces(N=70.0, M_y=100.0, M_z=200.0))
    pull, bend = 1.0, 600.0 / (14.0 * 5.0**2) + 1200.0 / (5.0 * 14.0**2)
    assert (sigma.max(), sigma.min()) == pytest.approx((pull + bend, pull - bend))
    round_bar = [solid_circle(5.0, 0.3, "bar")]
    twisted = fibre_stress(round_bar, _forces(N=-50.0, M_x=400.0))
    amplitude, mean = coming_and_going(fibre_stress(round_bar, _forces(N=-50.0)), twisted)
    tau = 16.0 * 400.0 / (math.pi * 5.0**3)
    assert amplitude == pytest.approx(math.sqrt(3.0) * tau / 2.0)
    assert mean == pytest.approx(math.sqrt(3.0) * tau / 2.0)


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
    assert drawn.life(middle * 900.0 / 690.0, 0.0) == pytest.approx(10**4.5, rel=1e-9)
    assert [cycles_words(n) for n in (392_000.0, 1e3, 5e8)] == ["3.9e5", "1e3", "5e8"]


def test_line_of_three_points_by_hand() -> None:
    """Slopes of -1/3 and -1/6 in the logarithms, and the first one runs on upwards."""
    line = Limits(800.0, 1e6, (1e3, 1e6, 1e9), (400.0, 40.0, 4.0 * math.sqrt(10.0)), "")
    assert line.life(400.0 / 10 ** (1 / 3), 0.0) == pytest.approx(1e4)
    assert line.life(40.0 / 10 ** (1 / 6), 0.0) == pytest.approx(1e7)
    assert line.life(400.0 * 10 ** (1 / 3), 0.0) == pytest.approx(1e2)
    notched = line.reversed_amplitude(np.array([100.0]), np.array([-300.0]), 2.0)
    assert notched == pytest.approx(200.0)


def test_own_limits_take_the_place_of_the_built_in_ones() -> None:
    own = {"material": "stainless steel", "yield_MPa": 500.0, "cycles": [1e2, 1e7]}
    case = case_from_dict(cases.frame() | {"endurance": [own | {"amplitude_MPa": [400.0, 200.0]}]})
    found = limits_of(case, "stainless steel")
    assert isinstance(found, Limits)
    assert (found.yield_MPa, found.cycles) == (500.0, (1e2, 1e7))
    assert found.ultimate_MPa == pytest.approx(860.0 * 500.0 / 690.0)
    for wrong, words in (
        (own, "go together"),
        (own | {"amplitude_MPa": [200.0, 200.0]}, "must fall"),
        ({"material": "titanium", "yield_MPa": 500.0, "ultimate_MPa": 400.0}, "less than yield"),
        ({"material": "wood", "yield_MPa": 50.0}, "cortical bone"),
    ):
        with pytest.raises(CaseError, match=words):
            case_from_dict(cases.frame() | {"endurance": [wrong]})


def test_yield_stress_of_a_part_of_its_own() -> None:
    """A ring at half the yield stress of its material has twice the share; one with elastic
    constants of its own has a limit only when its yield stress is given."""
    raw = cases.frame(loads=[axial("a", 100.0)])
    soft = cases.every(raw, "ring", yield_MPa=345.0)
    shares = [
        {p.name: p.share_percent for p in strength(case_from_dict(r)).parts if p.kind == "ring"}
        for r in (raw, soft)
    ]
    assert shares[1]["R1"] == pytest.approx(2.0 * (shares[0]["R1"] or 0.0))
    own = cases.every(raw, "ring", E_MPa=193_000.0, nu=0.3, yield_MPa=345.0)
    ring = next(p for p in strength(case_from_dict(own)).parts if p.name == "R1")
    assert ring.share_percent == pytest.approx(shares[1]["R1"])
    assert ring.enough is None and ring.life_cycles is None


def test_wire_at_a_published_load() -> None:
    """A clamped 1.8 mm wire yields from about 50 to 55 N across it at any tension (Watson et al.
    2003, abstract): at a quarter of 4 × 55 N per wire its stress stands within 20 % of 900 MPa."""
    raw = cases.symmetric(rings={"E_MPa": 1e6, "nu": 0.3})
    raw["load"] = [axial("a", 4 * 55.0)]
    for tension in (490.0, 1275.0):
        each = cases.every(raw, "wire", tension_kgf=None, tension_N=tension)
        wires = [p for p in strength(case_from_dict(each)).parts if p.kind == "wire"]
        assert wires[0].stress_MPa == pytest.approx(900.0, rel=0.2)


def test_wire_fibres_reach_the_peak() -> None:
    """The worst fibre is the peak T / A + |M| / W, missed by 0.4 % of the bending at most."""
    frame = solved(case_from_dict(cases.frame(loads=[axial("a", 100.0)])))
    pull, bend = all_wire_ends(frame)
    size = np.linalg.norm(bend, axis=-1)
    missed = pull + size - wire_fibres(pull, bend)[0].max(axis=-1)
    assert (missed >= -1e-9).all() and (missed <= 0.004 * size + 1e-9).all()
    assert frame.solution is not None
    peak = wire_peak_stress(frame.parts)(frame.solution.response)
    assert (pull + size)[1:].max(axis=-1) == pytest.approx(peak)


def _rods_across_the_gap(raw: Raw) -> tuple[np.ndarray, np.ndarray]:
    """Axial forces (c + 1, 4) N and stress (c + 1, 4) MPa of the rods R2-R3."""
    frame = solved(case_from_dict(raw))
    stress = member_stress(frame)
    rows = [i for i, n in enumerate(frame.parts.model.members.names) if "rod R2-R3" in n]
    assert len(rows) == 4
    return stress.forces[:, rows, 0, 0], stress.stress[:, rows].max(axis=-1)


def test_rods_between_the_fragments_carry_the_load() -> None:
    """A cut through gap and rods: the rods' axial forces add up to the load, but for the cosine
    of their lean and the share of their shear in it."""
    N, _ = _rods_across_the_gap(cases.frame(loads=[axial("a", 150.0), axial("b", 600.0)]))
    assert N.sum(axis=1) == pytest.approx([0.0, -150.0, -600.0], rel=2e-3, abs=0.2)


def test_turned_nuts_shorten_rods_without_stress() -> None:
    """Nuts of all four rods turned alike carry one half of the frame towards the other: nothing
    presses, and the rods still bear the load and no more."""
    raw = cases.frame(loads=[axial("a", 150.0)])
    turned = raw | {"nut_turn": [{"name": "n", "rings": ["R2", "R3"], "lengthen_mm": -1.0}]}
    N, stress = _rods_across_the_gap(raw)
    N_turned, stress_turned = _rods_across_the_gap(turned)
    assert N_turned == pytest.approx(N, abs=1.0)
    assert stress_turned == pytest.approx(stress, rel=0.03)


def test_half_pins_bend_like_cantilevers() -> None:
    """Between clamp and cortex nothing loads a pin: its moment changes by shear times length, and
    its stress is N / A + 32 M / π d³, what ``check`` says of it too."""
    case = case_from_dict(_hybrid())
    frame = solved(case)
    stress = member_stress(frame)
    model, answer, told = frame.parts.model, strength(case), check(case)
    for pin in case.pin:
        row = model.members.names.index(frame.parts.members["pin", pin.name][0])
        F, length = stress.forces[:, row], model.members.shapes.length[row]
        for shear, moment, sign in ((1, 5, 1.0), (2, 4, -1.0)):
            change = F[:, -1, moment] - F[:, 0, moment]
            assert change == pytest.approx(-sign * F[:, 0, shear] * length, abs=1e-3)
        peaks = [next(p for p in r.pins if p.name == pin.name).peak_stress_MPa for r in told.loads]
        part = next(p for p in answer.parts if p.kind == "half-pin" and p.name == pin.name)
        assert part.stress_MPa >= max(peaks) - 1e-6


def test_wires_press_the_bone_with_the_load() -> None:
    """150 N along the bone on four wires of a fragment: 37.5 N each, half of it on each cortex;
    over 1.8 mm and 6 mm of wall. (175 N over 1.8 mm and two walls of 4 mm: 12 MPa, arithmetic.)"""
    raw = cases.symmetric()
    raw["load"] = [axial("a", 150.0)]
    frame = solved(case_from_dict(raw))
    found = list(bearings(frame, member_stress(frame)))
    mean = np.mean([b.force_N for b in found])
    assert mean == pytest.approx(150.0 / 4 / 2, rel=0.05)
    for b in found:
        assert b.pressure_MPa == pytest.approx(b.force_N / (1.8 * 6.0))
        assert b.share_percent == pytest.approx(b.pressure_MPa)  # of 100 MPa
    assert pytest.approx(12.2, abs=0.1) == 175.0 / (1.8 * 8.0)


def test_euler_load_of_a_rod() -> None:
    """π² E I / L² of 6 mm steel, 90 mm between the rings: 149,600 N (arithmetic)."""
    answer = strength(case_from_dict(cases.frame(loads=[axial("a", 150.0)])))
    rod = next(r for r in answer.rods if "R1" in r.piece and "R2" in r.piece)
    euler = math.pi**2 * 193_000.0 * math.pi * 6.0**4 / 64.0 / 90.0**2
    assert rod.buckling_N == pytest.approx(euler, rel=1e-9)
    assert rod.share_percent == pytest.approx(100.0 * rod.compression_N / euler)


def test_buckling_of_the_whole_frame_is_that_of_modes() -> None:
    case = case_from_dict(cases.small(loads=[axial("a", 100.0)]))
    (found,) = strength(case).frame
    (other,) = modes(case).buckling
    assert found.factor is not None and found.factor == pytest.approx(other.smallest, rel=1e-6)
    touching = edited(cases.small(loads=[axial("a", 20.0)]), _touch)
    assert strength(case_from_dict(touching)).frame == ()


def _touch(raw: Raw) -> None:
    raw["bone"]["contact"] = {}


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


def test_places_in_words() -> None:
    """On a right leg 90° is medial; the wire's clamps lie where it is laid."""
    places = {p.name: p.place for p in strength(case_from_dict(cases.symmetric())).parts}
    assert all(p.split()[1] in ("clamp", "cortex") for n, p in places.items() if n[0] == "W")
    assert places["proximal fragment"].startswith("level ")
    for name in ("R1", "R2"):
        bearing, side = places[name].split("° ")
        assert side == side_word(float(bearing))
    assert [side_word(b) for b in (0.0, 44.0, 90.0, 181.0, 270.0, 359.0)] == [
        "anterior", "anteromedial", "medial", "posterior", "lateral", "anterior",
    ]  # fmt: skip
    for sign in (1.0, -1.0):  # medial is to the left on a right leg, to the right on a left one
        assert bearing_of(np.array([0.0, sign, 5.0]), sign) == pytest.approx(90.0)


def test_thread_counts_2_8_times_in_cycles_only() -> None:
    """M6 works with a circle of 5.06 mm (``frames.sizes``): as a thread or as a plain bar of that
    diameter a rod bears the same stress, but its amplitude counts 2.8 times at a thread."""
    raw = cases.frame(loads=[axial("a", 700.0)])
    own = {"material": "stainless steel", "yield_MPa": 690.0, "ultimate_MPa": 860.0}
    raw["endurance"] = [own | {"cycles": [1e3, 1e9], "amplitude_MPa": [774.0, 1.0]}]
    rods = []
    for how in ({"thread": "M6"}, {"diameter_mm": THREADS["M6"]}):
        bare = cases.every(raw, "rod", **{"diameter_mm": None, **how})
        rods.append(next(p for p in strength(case_from_dict(bare)).parts if p.kind == "rod"))
    threaded, plain = rods
    assert threaded.stress_MPa == pytest.approx(plain.stress_MPa)
    assert (threaded.notch, plain.notch) == (2.8, 1.0)
    assert threaded.life_cycles is not None and plain.life_cycles is not None
    slope = 6.0 / math.log10(774.0)  # decades of cycles for one of amplitude
    assert plain.life_cycles / threaded.life_cycles == pytest.approx(2.8**slope)


def test_cycles_wanted_and_loads_that_are_too_much() -> None:
    """Steps a day times seven times the last week of the curve; a load twice as hard wears out
    what a light one does not."""
    raw = cases.frame(loads=[axial("light", 20.0), axial("hard", 700.0)])
    raw["healing"] = {"steps_per_day": 1000.0, "week": [0.0, 25.0], "E_MPa": [0.1, 100.0]}
    answer = strength(case_from_dict(raw))
    assert answer.cycles == 175_000.0
    wires = [p for p in answer.parts if p.kind == "wire"]
    assert all(p.too_much == ("hard",) and p.enough is False for p in wires)
    text = "\n".join(line.text for line in answer.lines())
    assert "light: every part outlives them." in text


def test_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    put(_hybrid())
    ran = invoke("strength", "case.toml", "--json", "s.json", "--csv", "s.csv")
    assert ran.exit_code == 0
    assert all(len(line) <= 80 for line in ran.output.splitlines())
    content = json.loads(Path("s.json").read_text(encoding="utf-8"))
    assert {p["kind"] for p in content["parts"]} == {
        "wire", "half-pin", "ring", "rod", "post", "bone",
    }  # fmt: skip
    put(cases.small())
    assert invoke("strength", "case.toml").exit_code == 0
