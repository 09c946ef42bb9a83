"""A first draft: circles and levels by hand, refusals, random legs, and the way on from a draft."""

import itertools
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from frames import CaseError, case_from_text, check, fit, replace
from frames.casefile.limb import Corridor
from frames.drafting import draft, measurements_from_dict
from frames.drafting.directions import bearings_for, crossing, open_bearings
from frames.drafting.levels import Fragment, Stand, ring_distances
from frames.drafting.ring_size import enclosing_circle, ring_size
from frames.drafting.rods import free_bearings, stock_length
from tests.frames.commands import invoke
from tests.frames.measured import DEMO, changed, drafted, level_zero, refused

# by hand


def test_smallest_circle_round_points() -> None:
    """Through three points of a circle that leave no gap of more than half; through the ends of a
    diameter."""
    angles = np.radians([10.0, 130.0, 250.0, 60.0, 200.0])
    points = np.column_stack([3.0 + 50.0 * np.cos(angles), -7.0 + 50.0 * np.sin(angles)])
    centre, radius = enclosing_circle(points)
    assert centre == pytest.approx([3.0, -7.0], abs=1e-4) and radius == pytest.approx(50.0)
    centre, radius = enclosing_circle(np.array([[-40.0, 0.0], [20.0, 0.0], [0.0, 10.0]]))
    assert centre == pytest.approx([-10.0, 0.0], abs=1e-4) and radius == pytest.approx(30.0)


def test_ring_size_is_the_smallest_that_leaves_the_room() -> None:
    angles = np.radians(np.arange(0.0, 360.0, 5.0))
    points = np.column_stack([70.0 * np.cos(angles) - 15.0, 70.0 * np.sin(angles)])
    assert ring_size(points, [180, 140, 150, 160]) == (150, (-15.0, 0.0))
    with pytest.raises(CaseError, match="needs an inner diameter of 141 mm"):
        ring_size(points, [120, 140])


def test_round_leg_gets_more_room_behind() -> None:
    """Leg of radius 50 about the bone, 10 in front and 30 behind: diameter 140 and more, centre
    behind the bone."""
    girth = {"girth_mm": 2.0 * math.pi * 50.0, "centre_mm": [0, 0]}
    levels = [{"below_knee_mm": z, **girth} for z in (0, 360)]
    room = {"front_mm": 10, "side_mm": 10, "back_mm": 30, "swelling_percent": 0}
    answer = drafted(girth=levels, room=room, parts={"ring_sizes_mm": list(range(130, 200, 2))})
    assert 140.0 <= answer.ring_mm <= 160.0
    assert answer.case.ring[0].centre_mm[0] < -5.0
    for r in fit(answer.case).rings:
        assert r.swollen_mm is not None and r.swollen_mm >= r.asked_mm - 0.01


def test_levels_of_rings() -> None:
    m = measurements_from_dict(changed(wound=[]))
    long = Fragment("proximal", 150.0, (), ())
    assert ring_distances(long, m) == Stand((40.0, 125.0), True, ())
    inner = ring_distances(Fragment("proximal", 150.0, ((30.0, 60.0),), ()), m)
    assert inner.distances == (22.0, 125.0) and "clear of a wound" in inner.notes[0]
    short = ring_distances(Fragment("distal", 60.0, (), ()), m)
    assert len(short.distances) == 1 and "one ring only" in short.notes[0]
    square = ring_distances(Fragment("distal", 150.0, (), ((0.0, 150.0),)), m)
    assert not square.tilted and "left square" in square.notes[0]
    assert square.distances == (40.0, 125.0)


def test_corridors_bound_wires() -> None:
    """Front half and its opposite: lines through both; without the opposite none."""
    front = Corridor(
        name="f", from_level_mm=-9, to_level_mm=9, from_bearing_deg=30, to_bearing_deg=80
    )
    back = front.model_copy(update={"from_bearing_deg": 200.0, "to_bearing_deg": 250.0})
    free = open_bearings([front, back], [], level_zero)
    assert min(free) == pytest.approx(32.5) and max(free) == pytest.approx(67.5)
    assert bearings_for("R", level_zero, [front, back], [], reference=False) == (32.5, 67.5)
    with pytest.raises(CaseError, match="no two wires of ring R"):
        bearings_for("R", level_zero, [front], [], reference=False)
    assert crossing(10.0, 170.0) == pytest.approx(20.0)


def test_rods_keep_clear_and_reach() -> None:
    found = free_bearings([45.0, 140.0, 225.0], 174.0, 10.0)
    for a, b in itertools.combinations([45.0, 140.0, 225.0, *found], 2):
        assert 174.0 * abs(math.sin(math.radians(a - b) / 2.0)) >= 10.0
    assert stock_length(90.0, 5.0, [100, 120, 150]) == 120
    with pytest.raises(CaseError, match="need 111 mm"):
        stock_length(90.0, 5.0, [80, 100])


# the demo


def test_demo_draft_fits_and_can_be_checked() -> None:
    answer = drafted()
    assert not answer.problems
    assert check(answer.case).stiffness["axial_N_per_mm"] > 20.0
    tilted = [r.tilt_deg for r in answer.case.ring]
    assert tilted == [2.0, 0.0, 0.0, 0.0]
    below = 190.0 - np.array([r.level_mm for r in answer.case.ring])
    assert not ((below > 140.0) & (below < 165.0)).any(), "no ring over the wound"


def test_draft_to_file_change_and_check() -> None:
    answer = drafted()
    again = case_from_text(answer.to_toml())
    assert again == answer.case
    stiffer = replace(again, {"wire.*.tension_kgf": 130.0})
    before, after = check(again), check(stiffer)
    assert after.stiffness["axial_N_per_mm"] > before.stiffness["axial_N_per_mm"]


def test_every_default_is_listed_with_its_source() -> None:
    told = {a.key for a in drafted().assumptions}
    assert {"bone.outer_mm", "layout.joint_mm", "room.parts_mm", "wires"} <= told
    assert "parts.ring_sizes_mm" not in told, "given"
    assert all(a.source for a in drafted().assumptions)


def test_targets_go_into_the_case() -> None:
    target = {"quantity": "closing_mm", "load": "half weight", "at_most": 20.0}
    case = drafted(target=[target]).case
    assert case.target[0].load == "half weight"
    assert check(case).targets[0].meets
    assert "quarter weight" in refused(target=[{**target, "load": "quarter"}])


def test_leg_measured_too_short_is_told() -> None:
    girth = [{**g, "below_knee_mm": min(g["below_knee_mm"], 300)} for g in DEMO["girth"]]
    answer = drafted(girth=girth)
    assert any("measured from 10 to 300 mm below the knee only" in n for n in answer.notes)
    assert not answer.problems


def test_no_corridor_is_told_loudly() -> None:
    answer = drafted(corridor=[])
    assert any("NO CORRIDOR" in n for n in answer.notes)
    assert "# NO CORRIDOR" in answer.to_toml()


def test_oblique_and_comminuted_fractures() -> None:
    oblique = drafted(
        fracture={"pattern": "oblique", "obliquity_deg": 30, "obliquity_bearing_deg": 90}
    )
    contact = oblique.case.bone.contact
    assert contact is not None and contact.obliquity_deg == 30.0
    crushed = drafted(fracture={"pattern": "comminuted", "length_mm": 20}, wound=[])
    assert crushed.case.bone.gap_mm == 20.0


def test_both_legs_alike() -> None:
    one, other = drafted(), drafted(leg={"side": "right"})
    assert [w.bearing_deg for w in one.case.wire] == [w.bearing_deg for w in other.case.wire]
    assert one.ring_mm == other.ring_mm


# refusals


def test_refusals_say_what_and_where() -> None:
    assert "lies outside the bone" in refused(fracture={"below_knee_mm": 400})
    girth = [{"below_knee_mm": 10, "girth_mm": -300}, DEMO["girth"][1]]
    assert "girth 1, girth_mm: must be more than 0" in refused(girth=girth)
    assert "too short for a ring" in refused(fracture={"below_knee_mm": 10}, wound=[])
    assert "largest ring is too small" in refused(parts={"ring_sizes_mm": [80, 100]})
    assert "longest rod is too short" in refused(parts={"rod_lengths_mm": [40, 60]})
    assert "no two wires of ring" in refused(corridor=DEMO["corridor"][:1])
    everywhere = [{"name": "w", "from_below_knee_mm": 0, "to_below_knee_mm": 185}]
    assert "leave no place for a ring" in refused(wound=everywhere)
    assert "unknown table; did you mean girth?" in refused(girht=[])
    assert "obliquity_deg: is missing" in refused(fracture={"pattern": "oblique"})
    assert "did you mean" in refused(leg={"sidee": "left"})
    assert "goes with pattern" in refused(fracture={"obliquity_deg": 20})
    assert "goes with pattern" in refused(fracture={"length_mm": 20})
    twice = [DEMO["girth"][0], {**DEMO["girth"][1], "below_knee_mm": 10}]
    assert "girth 2, below_knee_mm: is there twice" in refused(girth=twice)
    slim = [DEMO["girth"][0], {"below_knee_mm": 350, "girth_mm": 120}]
    assert "girth 2, girth_mm: the bone would stick out" in refused(girth=slim)
    half = {"name": "w", "from_below_knee_mm": 0, "to_below_knee_mm": 9, "from_bearing_deg": 9}
    assert "from_bearing_deg: goes with to_bearing_deg" in refused(wound=[half])
    assert "at most 50 of them" in refused(wound=[{**half, "to_bearing_deg": 40}] * 51)
    assert "no place left for four rods" in refused(room={"hole_spacing_mm": 50})


def _random(seed: int) -> dict[str, Any]:
    rng = np.random.default_rng(seed)
    ankle = float(rng.uniform(280.0, 420.0))
    slim = float(rng.uniform(0.75, 1.25))
    girths = [
        {"below_knee_mm": ankle * s, "girth_mm": slim * g, "centre_mm": [-12.0 * slim, 0.0]}
        for s, g in ((0.0, 350.0), (0.3, 350.0), (0.7, 260.0), (1.0, 230.0))
    ]
    return {
        "leg": {
            "side": str(rng.choice(["left", "right"])),
            "body_mass_kg": float(rng.uniform(30.0, 110.0)),
            "ankle_below_knee_mm": ankle,
            "knee_tilt_deg": float(rng.uniform(-8.0, 8.0)),
            "ankle_tilt_deg": float(rng.uniform(-8.0, 8.0)),
        },
        "fracture": {
            "below_knee_mm": float(rng.uniform(0.1, 0.9)) * ankle,
            "gap_mm": float(rng.uniform(1.0, 5.0)),
        },
        "girth": girths,
        "corridor": [
            {**c, "to_below_knee_mm": ankle + 10.0, "from_below_knee_mm": -10.0}
            for c in DEMO["corridor"]
        ],
        "wound": [
            {
                "name": f"wound {i}",
                "from_below_knee_mm": (start := float(rng.uniform(0.0, ankle))),
                "to_below_knee_mm": start + float(rng.uniform(5.0, 40.0)),
                "from_bearing_deg": float(rng.uniform(0.0, 360.0)),
                "to_bearing_deg": float(rng.uniform(0.0, 360.0)),
            }
            for i in range(int(rng.integers(0, 3)))
        ],
        "room": {"swelling_percent": float(rng.uniform(0.0, 12.0))},
    }


@pytest.mark.parametrize("seed", range(30))
def test_random_legs_are_drafted_or_refused_in_words(seed: int) -> None:
    try:
        answer = draft(measurements_from_dict(_random(seed)))
    except CaseError as error:
        assert any(w in str(error) for w in ("too short", "too small", "no place")), error
        return
    assert check(case_from_text(answer.to_toml())).loads
    judged = fit(answer.case)
    for r in judged.rings:
        if r.swollen_mm is not None:
            assert r.swollen_mm >= r.asked_mm - 0.3, r
    unmeasured = {part for p in judged.problems if p.kind == "leg not measured" for part in p.parts}
    others = [p for p in judged.problems if p.kind != "leg not measured"]
    assert not [p for p in others if not unmeasured & set(p.parts)]


def test_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert invoke("new", "m.toml", "--example", "measurements").exit_code == 0
    ran = invoke("draft", "m.toml", "c.toml", "--json", "d.json")
    assert ran.exit_code == 0
    assert all(len(line) <= 80 for line in ran.output.splitlines())
    assert invoke("check", "c.toml").exit_code == 0
    assert invoke("fit", "c.toml").exit_code == 0
    before = Path("c.toml").read_text(encoding="utf-8")
    assert "CAUTION" in before
    assert invoke("draft", "m.toml", "c.toml").exit_code == 2
    same = invoke("draft", "m.toml", "m.toml", "--force")
    assert same.exit_code == 2 and "these are the measurements" in same.output
    assert invoke("draft", "c.toml", "x.toml").exit_code == 2
    assert not Path("x.toml").exists()
