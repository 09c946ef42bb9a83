"""Fit: distances against geometry by hand and by brute force; every kind of problem found."""

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.optimize import minimize

from frames import CaseError, case_from_dict, fit
from frames.casefile.limb import Limb
from frames.construct import construct
from frames.fitting.directions import outside_deg
from frames.fitting.parts import part_gaps
from frames.fitting.segments import ring_distance, segment_distance
from frames.fitting.skin import skin_gap
from frames.limb_outline import Outline, curve
from tests.frames import cases
from tests.frames.cases import Raw, edited, other_leg, turned_about_axis
from tests.frames.commands import invoke, put

ANGLES = np.arange(0.0, 360.0, 7.0)


def round_leg(radius: float, centre: tuple[float, float] = (0.0, 0.0)) -> list[Raw]:
    girth = 2.0 * math.pi * radius
    return [{"level_mm": z, "girth_mm": girth, "centre_mm": list(centre)} for z in (-200, 200)]


def legged(radius: float = 50.0, centre: tuple[float, float] = (0.0, 0.0), **room: Any) -> Raw:
    return cases.frame() | {"limb": round_leg(radius, centre), "room": room}


def kinds(raw: Raw) -> set[str]:
    return {p.kind for p in fit(case_from_dict(raw)).problems}


# the outline


def test_equal_widths_are_a_circle_and_pairs_an_ellipse() -> None:
    np.testing.assert_allclose(curve(Limb(level_mm=0, widths_mm=(40,) * 4), ANGLES), 40.0)
    a, b = 50.0, 35.0
    r = curve(Limb(level_mm=0, widths_mm=(a, b, a, b)), ANGLES)
    x, y = r * np.cos(np.radians(ANGLES)), r * np.sin(np.radians(ANGLES))
    np.testing.assert_allclose((x / a) ** 2 + (y / b) ** 2, 1.0, rtol=1e-12)


def test_a_girth_is_a_circle_about_its_centre() -> None:
    limb = Limb(level_mm=0, girth_mm=2 * math.pi * 45, centre_mm=(-10.0, 5.0))
    r = curve(limb, ANGLES)
    x, y = r * np.cos(np.radians(ANGLES)), r * np.sin(np.radians(ANGLES))
    np.testing.assert_allclose(np.hypot(x + 10.0, y - 5.0), 45.0, rtol=1e-12)


def test_between_levels_straight_beyond_them_unknown() -> None:
    two = [Limb(level_mm=z, widths_mm=(w,) * 4) for z, w in ((-50, 40), (150, 60))]
    outline = Outline(tuple(two))
    assert outline.radius(0.0, 33.0) == pytest.approx(45.0)
    assert outline.radius([-50.0, 150.0], 0.0).tolist() == pytest.approx([40.0, 60.0])
    assert np.isnan(outline.radius([-51.0, 151.0], 0.0)).all()
    swollen = Outline(tuple(two), swelling_mm=3.0)
    assert swollen.radius(0.0, 0.0) == pytest.approx(48.0)
    assert Outline(tuple(two), swelling_share=0.1).radius(0.0, 0.0) == pytest.approx(49.5)


# room for the leg


def test_concentric_round_leg_has_the_difference_of_the_radii_all_round() -> None:
    answer = fit(case_from_dict(legged(50.0, swelling_mm=7.0)))
    for r in answer.rings:
        assert r.now_mm == pytest.approx(80.0 - 50.0, abs=1e-3)
        assert r.swollen_mm == pytest.approx(80.0 - 57.0, abs=1e-3)


def test_swelling_of_the_girth_is_that_of_the_radius() -> None:
    answer = fit(case_from_dict(legged(50.0, swelling_percent=8.0)))
    assert answer.rings[0].swollen_mm == pytest.approx(80.0 - 54.0, abs=1e-3)


def test_leg_off_centre() -> None:
    """Circle in circle: the gap is R - r - e on the side of the shift, R - r + e opposite."""
    answer = fit(case_from_dict(legged(50.0, (-12.0, 0.0))))
    found = {r.direction: r.now_mm for r in answer.rings if r.ring == "R1"}
    assert found["posterior"] == pytest.approx(80.0 - 50.0 - 12.0, abs=1e-2)
    # the front: nearest where the quarter ends; the true distance of that point to the leg
    edge = 80.0 * np.exp(1j * np.radians(np.arange(-44.0, 45.0, 2.0)))
    assert found["anterior"] == pytest.approx(float(np.abs(edge + 12.0).min()) - 50.0, abs=1e-2)


def test_distance_to_an_oval_leg_against_a_minimiser() -> None:
    limb = Limb(level_mm=0, widths_mm=(30, 45, 60, 50))
    outline = Outline((limb, Limb(level_mm=10, widths_mm=(30, 45, 60, 50))))
    rng = np.random.default_rng(4)
    bearing = rng.uniform(0.0, 360.0, 40)
    rho = rng.uniform(62.0, 95.0, 40)
    b = np.radians(bearing)
    points = np.column_stack([rho * np.cos(b), rho * np.sin(b), np.full(40, 5.0)])
    fine = np.arange(0.0, 360.0, 0.01)
    r = curve(limb, fine)
    skin = np.column_stack([r * np.cos(np.radians(fine)), r * np.sin(np.radians(fine))])
    for point, gap in zip(points, skin_gap(outline, points, 1.0), strict=True):
        assert gap == pytest.approx(np.linalg.norm(skin - point[:2], axis=1).min(), abs=0.02)


def test_a_tilted_ring_comes_nearer() -> None:
    """Tilted by τ about its centre, its edge at the tilt's bearing stands at R cos τ."""
    tilted = edited(
        legged(50.0), lambda raw: raw["ring"][0].update(tilt_deg=20.0, tilt_bearing_deg=0.0)
    )
    found = {r.direction: r.now_mm for r in fit(case_from_dict(tilted)).rings if r.ring == "R1"}
    half = 2.5 * math.sin(math.radians(20.0))
    nearest = 80.0 * math.cos(math.radians(20.0)) - half - 50.0
    assert found["anterior"] == pytest.approx(nearest, abs=0.05)
    assert found["posterior"] == pytest.approx(nearest, abs=0.05)


def test_an_open_ring_leaves_its_opening_free() -> None:
    raw = edited(
        legged(50.0, (-25.0, 0.0), swelling_mm=8.0),
        lambda raw: raw["ring"][0].update(arc_deg=250.0, opening_bearing_deg=180.0),
    )
    for rod, at in zip(raw["rod"], (30.0, 110.0, 250.0, 330.0) * 3, strict=True):
        rod["bearing_deg"] = at
    raw["wire"][0]["bearing_deg"], raw["wire"][1]["bearing_deg"] = 65.0, 115.0
    found = {(r.ring, r.direction): r for r in fit(case_from_dict(raw)).rings}
    assert found["R1", "posterior"].now_mm is None and found["R1", "posterior"].measured
    assert found["R2", "posterior"].swollen_mm == pytest.approx(80.0 - 25.0 - 58.0, abs=0.05)
    assert "ring near the leg" in kinds(raw)


def test_levels_that_were_not_measured_are_no_silent_yes() -> None:
    raw = legged(50.0)
    raw["limb"][1]["level_mm"] = 100.0
    answer = fit(case_from_dict(raw))
    told = [p for p in answer.problems if p.kind == "leg not measured"]
    assert {p.parts[0] for p in told} == {"R1", "W1", "W2"}


# parts


def test_segment_distance_against_a_minimiser() -> None:
    rng = np.random.default_rng(1)
    P1, Q1, P2, Q2 = rng.normal(size=(4, 60, 3))
    found = segment_distance(P1, Q1, P2, Q2)
    for i in range(60):

        def apart(x: Any, i: int = i) -> float:
            one = P1[i] + x[0] * (Q1[i] - P1[i])
            return float(np.sum((one - P2[i] - x[1] * (Q2[i] - P2[i])) ** 2))

        best = min(
            minimize(apart, s, bounds=[(0, 1), (0, 1)]).fun for s in ((0, 0), (1, 1), (0.5, 0.5))
        )
        assert found[i] == pytest.approx(math.sqrt(best), abs=2e-4)
    parallel = segment_distance(*np.array([[0, 0, 0], [1, 0, 0], [2, 1, 0], [3, 1, 0]], float))
    assert parallel == pytest.approx(math.sqrt(2.0))


def test_distance_to_a_ring_by_hand() -> None:
    """Ring of 160 mm, 14 × 5: its body lies between radii 80 and 94, 2.5 mm to either side."""
    place = construct(case_from_dict(cases.frame(levels=(0.0, 100.0, -60.0, -100.0)))).ring("R1")
    P = np.array([[100.0, 0, -50], [87.0, 0, 10.0], [0.0, 70.0, -9.0]])
    Q = np.array([[100.0, 0, 50], [87.0, 0, 60.0], [0.0, 70.0, 9.0]])
    assert ring_distance(place, P, Q).tolist() == pytest.approx([6.0, 7.5, 10.0], abs=1e-6)


def test_crossed_wires_on_opposite_faces_are_a_thickness_apart() -> None:
    gaps = part_gaps(construct(case_from_dict(cases.frame())))
    pair = next(g for g in gaps if {g.one, g.other} == {"W1", "W2"})
    assert pair.gap_mm == pytest.approx(5.0)


def test_crossing_angles() -> None:
    angles = {c.ring: c.angle_deg for c in fit(case_from_dict(cases.frame())).crossings}
    assert angles["R1"] == pytest.approx(60.0) and angles["R2"] == pytest.approx(65.0)


def test_bearings_outside_a_range() -> None:
    assert outside_deg(10.0, 350.0, 30.0) == 0.0
    assert outside_deg(340.0, 350.0, 30.0) == pytest.approx(10.0)
    assert outside_deg(45.0, -10.0, 30.0) == pytest.approx(15.0)
    assert outside_deg(123.0, 0.0, 360.0) == 0.0


# broken frames


def corridor(start: float, end: float, low: float = -300.0, high: float = 300.0) -> Raw:
    return {
        "name": "c",
        "from_level_mm": low,
        "to_level_mm": high,
        "from_bearing_deg": start,
        "to_bearing_deg": end,
    }


def same_face(raw: Raw) -> None:
    raw["wire"][1]["face"] = raw["wire"][0]["face"]


BROKEN = {
    "same face": (edited(cases.frame(), same_face), "parts too near"),
    "rods through a wire": (cases.frame(rods=(62.0, 150.0, 210.0, 330.0)), "holes too near"),
    "same holes": (cases.frame(), "holes too near"),
    "large leg": (legged(70.0), "ring near the leg"),
    "clamps": (legged(80.0), "clamp near the leg"),
    "corridors": (cases.frame() | {"corridor": [corridor(0.0, 100.0)]}, "outside the corridors"),
    "no corridor": (
        cases.frame() | {"corridor": [corridor(0.0, 360.0, 0.0, 300.0)]},
        "no corridor here",
    ),
    "wound": (
        cases.frame() | {"wound": [{"name": "w", "from_level_mm": 45, "to_level_mm": 60}]},
        "through a wound",
    ),
    "ring over wound": (
        cases.frame() | {"wound": [{"name": "w", "from_level_mm": 49, "to_level_mm": 51}]},
        "ring over a wound",
    ),
    "flat": (cases.frame(bearings=((80.0, 100.0),)), "flat crossing"),
}


@pytest.mark.parametrize("name", BROKEN)
def test_what_does_not_fit_is_found(name: str) -> None:
    raw, kind = BROKEN[name]
    assert kind in kinds(raw)


def test_negative_room_says_so() -> None:
    answer = fit(case_from_dict(legged(85.0)))
    told = [p.message for p in answer.problems if p.kind == "ring near the leg"]
    assert all("5 mm inside, not clear from the swollen leg" in text for text in told)


@pytest.mark.parametrize("change", [other_leg, lambda raw: turned_about_axis(raw, 0.0)])
def test_both_legs_alike(change: Any) -> None:
    raw = cases.demo()
    one, other = fit(case_from_dict(raw)), fit(case_from_dict(change(raw)))
    assert [p.key for p in one.problems] == [p.key for p in other.problems]
    for a, b in zip(one.rings, other.rings, strict=True):
        assert (a.ring, a.direction) == (b.ring, b.direction)
        assert a.swollen_mm == pytest.approx(b.swollen_mm, abs=1e-9)
    assert [g.gap_mm for g in one.parts] == pytest.approx([g.gap_mm for g in other.parts])


def test_demo_fits_and_says_what_is_invented() -> None:
    answer = fit(case_from_dict(cases.demo()))
    assert answer.fits and not answer.unjudged
    case = case_from_dict(cases.demo())
    assert all("invented" in c.name for c in case.corridor)


def test_nothing_to_judge_is_told() -> None:
    raw = {k: v for k, v in cases.demo().items() if k not in ("limb", "corridor", "room")}
    answer = fit(case_from_dict(raw))
    assert len(answer.unjudged) == 2 and answer.fits
    assert "as far as it could be judged" in "\n".join(line.text for line in answer.lines())


@pytest.mark.parametrize(
    ("limb", "words"),
    [
        ({"level_mm": 0, "widths_mm": [10, 50, 50, 50]}, "the bone would stick out"),
        ({"level_mm": 0, "girth_mm": 100, "centre_mm": [10, 0]}, "inside the bone"),
        ({"level_mm": 0, "girth_mm": -5}, "must be more than 0"),
        ({"level_mm": 0}, "needs widths_mm or girth_mm"),
    ],
)
def test_impossible_legs_are_refused(limb: Raw, words: str) -> None:
    with pytest.raises(CaseError, match=words):
        case_from_dict(cases.frame() | {"limb": [limb]})


def test_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    put(cases.demo())
    ran = invoke("fit", "case.toml", "--json", "f.json", "--csv", "f.csv")
    assert ran.exit_code == 0
    assert all(len(line) <= 80 for line in ran.output.splitlines())
    assert json.loads(Path("f.json").read_text(encoding="utf-8"))["verdict"] == "fits"
    put(legged(70.0))
    ran = invoke("fit", "case.toml")
    assert ran.exit_code == 1 and "DOES NOT FIT" in ran.output
    put(cases.small())
    assert invoke("fit", "case.toml").exit_code in (0, 1)
    invoke("new", "h.toml", "--example", "hybrid")
    assert "half-pin" not in invoke("fit", "h.toml").stderr
