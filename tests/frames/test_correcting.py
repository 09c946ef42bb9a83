"""An olive wire draws a fragment: beam theory in closed form, mirror images, refusals, the command.

The frame of the closed forms: rings that do not give, the distal fragment on one of them, held by
one crossing wire of tension T₀ whose legs l are built in at clamp and bone. Drawn across it by u,
each leg is a tensioned beam with guided end (Timoshenko, Strength of Materials II, beams with axial
tension; from memory):

    F = 2 T/l · u / (1 - tanh κ/κ),   κ = l/2 · √(T/EI),
    w' = u/l · (1 - cosh(2κ(x/l - ½))/cosh κ) / (1 - tanh κ/κ),
    T = T₀ + EA/L · 2 · ½∫w'² dx.

The olive wire pulls with F along itself, its other leg being loose.
"""

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from frames import CaseError, case_from_dict
from frames.correcting import Drawn, Wanted, correction
from frames.correcting.directions import side_words
from frames.findings import STEEPEST_SLOPE
from frames.sizes import MATERIALS
from tests.frames import cases
from tests.frames.cases import Raw, edited, other_leg, swapped_ends, wire
from tests.frames.commands import invoke, put

E = MATERIALS["stainless steel"].E_MPa
EA, EI = E * math.pi * 1.8**2 / 4.0, E * math.pi * 1.8**4 / 64.0
T0 = 800.0
LEG, IN_BONE = 110.0 - 13.0, 26.0


def stiff(level: float = -60.0, **other: Any) -> Raw:
    """The frame of the closed forms: ``cross`` along bearing 0, ``olive`` along 90."""
    raw = cases.frame(levels=(140.0, 80.0, level), rods=(0.0, 90.0, 180.0, 270.0), **other)
    for ring in raw["ring"]:
        ring.update(width_mm=60.0, thickness_mm=50.0, E_MPa=1e6, nu=0.3)
    for rod in raw["rod"]:
        rod.update(diameter_mm=40.0, E_MPa=1e6, nu=0.3)
    raw["wire"] = [w for w in raw["wire"] if w["ring"] != "R3"]
    flat = {"height_mm": 0.0, "tension_N": T0, "bone_hold": "built in", "yield_MPa": 3000.0}
    raw["wire"] += [wire("cross", "R3", 0.0, "", **flat), wire("olive", "R3", 90.0, "", **flat)]
    return cases.stiff_bone(raw)


def asked(raw: Raw, by_mm: float, towards: Any = "medial", **other: Any) -> Wanted:
    """The answer to one correction of the distal fragment."""
    key = "towards" if isinstance(towards, str) else "towards_bearing_deg"
    table = {"name": "c", "fragment": "distal", key: towards, "by_mm": by_mm, **other}
    return correction(case_from_dict({**raw, "correction": [table]})).corrections[0]


def of(found: Wanted, name: str) -> Drawn:
    return next(d for d in found.wires if d.way.wire == name and d.moved is not None)


def reasons(found: Wanted) -> str:
    return " ".join(d.way.refused or d.limit for d in found.wires)


def force(u: float) -> float:
    """F of the crossing wire."""

    def guided(T: float) -> tuple[float, float]:
        kappa = LEG / 2.0 * math.sqrt(T / EI)
        return kappa, 1.0 - math.tanh(kappa) / kappa

    def longer(T: float) -> float:
        kappa, c = guided(T)

        def slope(x: float) -> float:
            return u / LEG * (1.0 - math.cosh(2 * kappa * (x / LEG - 0.5)) / math.cosh(kappa)) / c

        return float(quad(lambda x: slope(x) ** 2, 0.0, LEG)[0])  # ½∫, twice for two legs

    T = brentq(lambda T: T - T0 - EA / (2 * LEG + IN_BONE) * longer(T), T0, 3 * T0)
    return 2.0 * T / LEG * u / guided(T)[1]


@pytest.mark.parametrize("by_mm", [0.05, 1.0, 3.0])
def test_pull_balances_the_crossing_wire(by_mm: float) -> None:
    drawn = of(asked(stiff(), by_mm), "olive")
    assert drawn.reached
    assert drawn.moved is not None
    assert drawn.moved.along_mm == pytest.approx(by_mm, rel=1e-3)
    assert drawn.pull_N == pytest.approx(force(drawn.moved.along_mm), rel=2e-3)
    assert drawn.moved.across_mm < 1e-3 * by_mm
    assert drawn.moved.tilt_deg < 1e-2
    # what is drawn out: the way of the bone and the stretch of leg and bone's width
    assert drawn.pull_N is not None
    stretch = drawn.pull_N * (LEG + IN_BONE) / EA
    assert drawn.take_up_mm == pytest.approx(drawn.moved.along_mm + stretch, rel=5e-3)


def test_spring_back_is_the_stretch_of_the_locked_leg() -> None:
    """Its other end pulled to T: what is left of the locked leg, u having been drawn out, goes from
    F to T + F(u - δ) and stretches by δ.
    """
    drawn = of(asked(stiff(), 1.0), "olive")
    assert drawn.locked is not None
    assert drawn.moved is not None
    assert drawn.tensioned is not None
    u = drawn.moved.along_mm
    assert drawn.locked.along_mm == pytest.approx(u, abs=1e-6)
    pull, soft = force(u), (LEG + IN_BONE - u) / EA
    back = brentq(lambda d: d - soft * (T0 + force(u - d) - pull), 0.0, u)
    assert back > 0.1
    assert u - drawn.tensioned.along_mm == pytest.approx(back, rel=5e-3)
    assert drawn.legs_N is not None
    assert drawn.legs_N[0] == pytest.approx(T0, rel=1e-6)
    assert drawn.legs_N[1] == pytest.approx(T0 + force(u - back), rel=2e-3)


def test_a_wire_laid_straight_afterwards_moves_nothing_along() -> None:
    """Rigid rings: it pulls on its clamps only; laid bent it would draw the bone back."""
    raw = stiff()
    last = {**raw["wire"][-2], "name": "last", "bearing_deg": 15.0, "height_mm": 10.0}
    drawn = of(asked({**raw, "wire": [*raw["wire"], last]}, 2.0), "olive")
    assert drawn.after == ("last",)
    assert drawn.finished is not None
    assert drawn.tensioned is not None
    assert drawn.finished.along_mm == pytest.approx(drawn.tensioned.along_mm, abs=2e-3)
    assert drawn.finished.across_mm == pytest.approx(drawn.tensioned.across_mm, abs=2e-3)


def test_alone_in_its_fragment_it_needs_soft_tissue() -> None:
    found = asked(stiff(), 1.0, towards=0.0)  # "cross" is the first wire of the fragment
    assert "not determined" in reasons(found)
    assert all(d.pull_N is None for d in found.wires)


def guided() -> Raw:
    """The distal fragment on two wires along bearing 0, so that it slides along them."""
    raw = stiff(level=-120.0, gap=0.2)
    raw["ring"].append({**raw["ring"][-1], "name": "R4", "level_mm": -40.0})
    raw["rod"] += [{**rod, "rings": ["R4", "R3"]} for rod in raw["rod"][-4:]]
    raw["wire"][-1] = {**raw["wire"][-1], "name": "near", "ring": "R4", "bearing_deg": 0.0}
    return raw


def test_soft_tissue_alone_holds_what_slides() -> None:
    """The first wire of a fragment, F = k d along it; the fragment tilts, so that the spring, 1 mm
    above the gap's middle, gets that much more or less."""
    first = asked(cases.demo(), 0.1, towards=58.0, soft_tissue_N_per_mm=20.0)
    drawn = of(first, "W5")
    assert drawn.pull_N is not None
    assert drawn.moved is not None
    tilt = 1.0 * math.radians(drawn.moved.tilt_deg)
    assert abs(drawn.pull_N / 20.0 - drawn.moved.along_mm) < 1.05 * tilt + 1e-3


def test_without_soft_tissue_what_slides_is_not_determined() -> None:
    assert "near" in reasons(asked(guided(), 0.2, towards=0.0))


@pytest.mark.parametrize("change", [other_leg, swapped_ends], ids=["mirror", "other end"])
def test_the_same_leg_told_otherwise(change: Any) -> None:
    raw = cases.small(loads=())
    one, two = (of(asked(r, 0.5), "W4") for r in (raw, change(raw)))
    assert one.moved is not None
    assert two.moved is not None
    assert one.pull_N == pytest.approx(two.pull_N, rel=1e-5)
    for a, b in ((one.moved, two.moved), (one.finished, two.finished)):
        assert a is not None
        assert b is not None
        np.testing.assert_allclose(
            [a.along_mm, a.across_mm, a.tilt_deg, a.tilt_bearing_deg, a.twist_deg],
            [b.along_mm, b.across_mm, b.tilt_deg, b.tilt_bearing_deg, b.twist_deg],
            rtol=1e-4,
            atol=1e-5,
        )


def test_twice_a_small_way_takes_twice_the_pull() -> None:
    one, two = (of(asked(stiff(), by), "olive") for by in (0.01, 0.02))
    assert one.pull_N is not None
    assert two.pull_N == pytest.approx(2.0 * one.pull_N, rel=2e-3)


def test_the_first_limit_is_told() -> None:
    raw = stiff()
    for w in raw["wire"]:
        w["yield_MPa"] = 900.0
    drawn = of(asked(raw, 20.0), "olive")
    assert not drawn.reached
    assert drawn.limit == "cross yields"
    assert drawn.steps[-1].yield_percent == pytest.approx(100.0, abs=0.1)
    assert drawn.finished is None
    slipping = edited(stiff(), lambda r: r["wire"][-1].update(slip_N=30.0, tension_N=20.0))
    clamp = of(asked(slipping, 3.0), "olive")
    assert "clamp" in clamp.limit
    assert clamp.pull_N == pytest.approx(30.0, rel=1e-3)
    supple = edited(stiff(), lambda r: [w.update(E_MPa=20_000.0, nu=0.3) for w in r["wire"][-2:]])
    steep = of(asked(supple, 90.0), "olive")
    assert "slope" in steep.limit
    assert steep.moved is not None
    assert steep.moved.along_mm == pytest.approx(STEEPEST_SLOPE * LEG, rel=1e-3)


def test_bead_and_pull_on_the_wrong_side_are_refused() -> None:
    wrong = asked(edited(stiff(), lambda r: r["wire"][-1].update(olive="start")), 1.0)
    assert "its bead lies on the medial side" in reasons(wrong)
    assert of(wrong, "olive").way.bead == "end"  # and as if the bead were on the other side
    own = {"olive": "end", "tension_from": "end"}
    pulled = asked(edited(stiff(), lambda r: r["wire"][-1].update(own)), 1.0)
    assert "on the bead's own side" in reasons(pulled)
    threaded = asked(edited(stiff(), lambda r: r["wire"][-1].update(threaded=True)), 1.0)
    assert "threaded" in reasons(threaded)
    assert "bead on the lateral side, pulled on the medial side" in threaded.out_of_reach


def test_out_of_reach_is_told_with_the_angle() -> None:
    found = asked(cases.demo(), 1.0, towards="anterior")  # W7, W8 lie along 55° and 125°
    assert "55° off" in found.out_of_reach
    assert "along bearing 0°, its bead on the posterior side" in found.out_of_reach
    assert all(d.moved is None for d in found.wires)


def test_callus_and_nothing_asked_are_refused() -> None:
    with pytest.raises(CaseError, match="nothing is asked for"):
        correction(case_from_dict(stiff()))
    grown = edited(stiff(), lambda r: r["bone"].update(callus={"E_MPa": 10.0}))
    with pytest.raises(CaseError, match="before callus grows"):
        asked(grown, 1.0)


def test_sides_in_words() -> None:
    assert [side_words(b) for b in (0.0, 44.0, 90.0, 225.0, 359.0)] == [
        "anterior",
        "anteromedial",
        "medial",
        "posterolateral",
        "anterior",
    ]


def test_half_pins_come_afterwards(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert invoke("new", "h.toml", "--example", "hybrid").exit_code == 0
    ran = invoke("correct", "h.toml", "--fragment", "distal", "--towards", "medial", "--by", 1)
    assert ran.exit_code == 0
    assert "has no wire" in ran.output
    assert "put in afterwards" in ran.output


def test_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    path = put(stiff())
    assert invoke("correct", path).exit_code == 2
    assert invoke("correct", path, "--by", 1).exit_code == 2
    asking = ("correct", path, "--fragment", "distal", "--by")
    assert "by_mm" in invoke(*asking, -1, "--towards", "medial").output
    assert "towards" in invoke(*asking, 1, "--towards", "up").output
    ran = invoke(*asking, 1, "--towards", 90, "--json", "a.json", "--csv", "a.csv")
    assert ran.exit_code == 0
    assert "olive: gets there" in ran.output
    assert max(len(line) for line in ran.output.splitlines()) <= 80
    content = json.loads(Path("a.json").read_text(encoding="utf-8"))
    assert content["format"] == "tautring correction"
    assert content["corrections"][0]["wires"][0]["way"]["wire"] == "olive"
    assert "along_mm" in Path("a.csv").read_text(encoding="utf-8")
