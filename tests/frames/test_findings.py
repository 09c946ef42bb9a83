"""Warnings: each where it belongs, none where nothing is amiss."""

import numpy as np
import pytest

from frames import Result
from frames.findings import crossing_deg
from tests.frames import cases
from tests.frames.cases import Raw, answers, axial, edited, every, wrench


def kinds(result: Result) -> list[str]:
    return [w.kind for w in result.warnings]


def test_none_for_a_good_frame() -> None:
    """Four rings, eight wires at 110 kgf crossing at 60° and more, a light load (common practice,
    no source)."""
    assert answers(cases.frame(loads=[axial("first steps", 100.0)])).warnings == ()
    assert answers(cases.frame(rings={"centre_mm": [-12.0, 0.0]}, side="left")).warnings == ()


@pytest.mark.parametrize(
    ("tension", "diameter", "told"),
    [
        (489.0, 1.8, True),
        (490.0, 1.8, False),
        (1275.0, 1.8, False),
        (1276.0, 1.8, True),
        (1276.0, 2.0, True),
        (489.0, 1.5, True),
        (200.0, 1.2, False),  # thin wires have their own habits
    ],
)
def test_tension_range(tension: float, diameter: float, told: bool) -> None:
    """490 to 1275 N (50 to 130 kgf) for wires of 1.5 to 2.0 mm: common practice, no source."""

    def one(raw: Raw) -> None:
        raw["wire"][2].pop("tension_kgf")
        raw["wire"][2].update(tension_N=tension, diameter_mm=diameter)

    found = [w for w in answers(edited(cases.frame(), one)).warnings if w.kind == "tension range"]
    assert bool(found) is told
    for w in found:
        assert w.parts == ("W3",)
        assert w.load_N is None
        assert w.share is None
        for word in ("W3", f"{tension:.0f} N", "490 to 1275 N", "no source"):
            assert word in w.message


@pytest.mark.parametrize(
    ("bearings", "told"),
    [
        ((60.0, 110.0), False),
        ((60.0, 109.5), True),
        ((60.0, 300.0), False),
        ((350.0, 215.0), True),  # 45° round the turn
        ((350.0, 40.0), False),
        ((60.0, 80.0, 115.0), False),  # the widest pair counts
    ],
)
def test_crossing_angle(bearings: tuple[float, ...], told: bool) -> None:
    """At 50° or more: common practice, no source."""
    raw = cases.frame(bearings=(bearings, (60.0, 130.0)), levels=(140.0, 50.0, -50.0))
    found = [w for w in answers(raw).warnings if w.kind == "crossing angle"]
    assert bool([w for w in found if "R1" in w.message]) is told
    assert "R2" not in "".join(w.message for w in found)


@pytest.mark.parametrize(
    ("a", "b", "angle"),
    [(0, 90, 90), (10, 200, 10), (350, 20, 30), (-170, 15, 5), (45, 225, 0), (0, 135, 45)],
)
def test_crossing_of_two_bearings(a: float, b: float, angle: float) -> None:
    assert crossing_deg(a, b) == pytest.approx(angle)
    assert crossing_deg(b, a) == pytest.approx(angle)


def test_yield_by_pretension_alone() -> None:
    raw = every(cases.small(loads=[axial("a", 5.0)]), "wire", yield_MPa=450.0)
    result = answers(raw)
    assert kinds(result) == ["wire yield"]  # not told once more for the load
    (warning,) = result.warnings
    assert warning.parts == ("W1", "W2", "W3", "W4")
    assert "Wires W1, W2, W3, W4 are past yield by pretension alone" in warning.message
    most = max(w.peak_stress_MPa for w in result.wires) / 450.0
    assert f"{100 * most:.0f} % of the yield stress" in warning.message


def test_who_yields_first_and_who_at_full_load() -> None:
    raw = cases.small(loads=[axial("a", 150.0)])
    raw["wire"][2]["yield_MPa"] = 700.0
    (warning,) = [w for w in answers(raw).warnings if w.kind == "wire yield"]
    assert "first in W3" in warning.message
    assert "W3" in warning.parts


def test_gap_closes_only_when_it_does() -> None:
    narrow = answers(cases.frame(gap=1.0, loads=[axial("a", 100.0)]))
    wide = answers(cases.frame(gap=3.0, loads=[axial("a", 100.0)]))
    pulled = answers(cases.frame(gap=1.0, loads=[axial("pull", -100.0)]))
    assert "gap closes" in kinds(narrow)
    assert "gap closes" not in kinds(wide) + kinds(pulled)


def test_bending_closes_one_side() -> None:
    """Without any axial load: r θ reaches the gap."""
    raw = cases.frame(gap=0.3, loads=[wrench("bend", (0, 0, 0), (0, 4.0, 0))])
    result = answers(raw)
    tilt = np.radians(result.loads[0].gap_movement["about_medial_deg"])
    assert 13.0 * tilt > 0.3
    assert "gap closes" in kinds(result)


def test_large_movement() -> None:
    """Slopes beyond 0.15 rad: third-order terms, of relative size slope²/2, pass 1 %."""
    calm, wild = (
        answers(
            cases.symmetric(gap=30.0, rings={"inner_diameter_mm": 80.0}, loads=[axial("a", newton)])
        )
        for newton in (2000.0, 8000.0)
    )
    assert "large movement" not in kinds(calm)
    (warning,) = [w for w in wild.warnings if w.kind == "large movement"]
    # on average half the closing over the leg from cortex to clamp; the wire's bending adds to that
    leg = 47.0 - 13.0
    assert 0.1 < wild.loads[0].closing_mm / 2.0 / leg < 0.2
    assert calm.loads[0].closing_mm / 2.0 / leg < 0.1
    assert "slope by 9°" in warning.message
    assert "'a'" in warning.message


def test_a_load_of_nothing_gives_no_warning() -> None:
    assert kinds(answers(cases.frame(loads=[axial("none", 0.0), wrench("nor this")]))) == []


def test_messages_are_single_lines_for_people() -> None:
    raw = every(cases.small(gap=0.1, loads=[axial("a", 900.0)]), "wire", tension_kgf=40.0)
    result = answers(raw)
    assert len(result.warnings) > 5
    for w in result.warnings:
        assert "\n" not in w.message
        assert "  " not in w.message
        assert w.message[0].isupper()
        assert w.message.endswith(".")
