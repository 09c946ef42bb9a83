"""Fit: distances against geometry by hand and by brute force; every kind of problem found."""

import math
from typing import Any

import numpy as np
import pytest
from scipy.optimize import minimize

from frames import case_from_dict, fit
from frames.casefile.limb import Limb
from frames.construct import construct
from frames.fitting.bars import bars_of
from frames.fitting.directions import outside_deg
from frames.fitting.parts import part_gaps
from frames.fitting.segments import ring_distance, segment_distance
from frames.fitting.skin import skin_gap
from frames.limb_outline import Outline, curve
from tests.frames import cases
from tests.frames.cases import edited
from tests.frames.legs import kinds, legged

ANGLES = np.arange(0.0, 360.0, 7.0)


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
    # the front: nearest where the quarter ends, at 45 degrees of the ring
    corner = math.hypot(80.0 * math.sqrt(0.5) + 12.0, 80.0 * math.sqrt(0.5))
    assert found["anterior"] == pytest.approx(corner - 50.0, abs=1e-2)


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
    raw = cases.demo()
    raw["limb"][0]["level_mm"] = 100.0
    answer = fit(case_from_dict(raw))
    told = [p for p in answer.problems if p.kind == "leg not measured"]
    assert {p.parts[0] for p in told} == {"R1", "W1", "W2"} and all(p.unknown for p in told)
    text = "\n".join(line.text for line in answer.lines())
    assert answer.verdict == "not all could be judged" and "not measured" in text
    assert not answer.fits


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
    place = construct(case_from_dict(cases.frame()))
    gaps = part_gaps(place, bars_of(place))
    pair = next(g for g in gaps if {g.one, g.other} == {"wire W1", "wire W2"})
    assert pair.gap_mm == pytest.approx(5.0)


def test_rings_near_each_other_are_told() -> None:
    """30 mm from middle to middle leave 25 mm between rings of 5 mm."""
    raw = cases.frame(levels=(80.0, 50.0, -50.0, -140.0)) | {"room": {"parts_mm": 25.5}}
    keys = {p.key for p in fit(case_from_dict(raw)).problems}
    assert ("parts too near", "ring R1", "ring R2") in keys
    raw["room"]["parts_mm"] = 24.5
    keys = {p.key for p in fit(case_from_dict(raw)).problems}
    assert ("parts too near", "ring R1", "ring R2") not in keys


def test_crossing_angles() -> None:
    angles = {c.ring: c.angle_deg for c in fit(case_from_dict(cases.frame())).crossings}
    assert angles["R1"] == pytest.approx(60.0) and angles["R2"] == pytest.approx(65.0)


def test_bearings_outside_a_range() -> None:
    assert outside_deg(10.0, 350.0, 30.0) == 0.0
    assert outside_deg(340.0, 350.0, 30.0) == pytest.approx(10.0)
    assert outside_deg(45.0, -10.0, 30.0) == pytest.approx(15.0)
    assert outside_deg(123.0, 0.0, 360.0) == 0.0
