"""What the values of a design make of the case, and which designs there are."""

import itertools
import math
import pickle

import numpy as np
import pytest

from frames import case_from_dict, replace, study_from_text
from frames.construct import construct
from frames.fitting.bars import bars_of
from frames.fitting.parts import part_gaps
from frames.fitting.segments import ring_at_least, ring_nearest
from frames.studyfile import Unbuildable
from tests.frames import cases
from tests.frames.cases import edited, frame
from tests.frames.studies import GAP, TENSION, clear, drawn, even, study


def test_grid_is_every_combination_the_last_parameter_fastest():
    s = study(GAP, TENSION, {"name": "mass", "path": "case.body_mass_kg", "low": 60, "high": 80,
                             "steps": 3})  # fmt: skip
    assert s.total == 18
    expected = list(itertools.product([1, 2, 3], [500.0, 1000.0], [60, 70, 80]))
    assert s.values(0, 18) == expected
    assert s.values(5, 11) == expected[5:11]
    assert s.values(17, 40) == expected[17:]
    with pytest.raises(ValueError):
        s.values(-1, 3)


def test_list_goes_row_by_row():
    s = study(GAP, {**TENSION, "values": [500, 600.5, 700]}, method="list")
    assert s.values(0, 9) == [(1, 500.0), (2, 600.5), (3, 700.0)]


def test_value_goes_to_every_tied_key():
    paths = ["wire.W1.tension_N", "wire.W3.tension_N"]
    s = study({"name": "some", "paths": paths, "values": [777]}, GAP)
    built = s.build((777, 2))
    assert [w.tension for w in built.wire] == pytest.approx([777, 1078.7315, 777, 1078.7315])
    assert built == replace(s.case, {**dict.fromkeys(paths, 777), "bone.gap_mm": 2})


def test_each_part_varies_by_itself():
    s = study({**TENSION, "each": True})
    assert [p.name for p in s.parameters] == [f"tension[W{i}]" for i in (1, 2, 3, 4)]
    assert s.total == 16
    assert [w.tension for w in s.build((1.0, 2.0, 3.0, 4.0)).wire] == [1.0, 2.0, 3.0, 4.0]


def test_relative_value_multiplies_what_the_case_has():
    raw = edited(clear(), lambda c: c["ring"][0].update(thickness_mm=8.0))
    raw["wire"][1] = {**raw["wire"][1], "tension_kgf": 50}
    s = study(
        {"name": "t", "path": "ring.*.thickness_mm", "values": [1.5], "relative": True},
        {"name": "n", "path": "wire.*.tension_N", "values": [0.5], "relative": True},
        case=raw,
    )
    built = s.build((1.5, 0.5))
    assert [r.thickness_mm for r in built.ring] == [12.0, 7.5]
    assert built.wire[1].tension == pytest.approx(25 * 9.80665)


CROSSING = {"name": "crossing", "crossing_deg_of": "all", "values": [20, 45.0, 90, 140]}


@pytest.mark.parametrize("bearings", [(60, 120), (120, 60), (60, 300), (-10, 30), (350, 30),
                                      (45, 135), (170, 10), (80, 80)])  # fmt: skip
@pytest.mark.parametrize("angle", [20, 45.0, 90, 140])
def test_wires_cross_at_the_angle_about_their_middle_bearing(bearings, angle):
    """Angle and bisector by vectors, from the directions of the wires in space."""
    s = study(CROSSING, case=frame(levels=(60, -60), bearings=(bearings,)), collisions="ignore")

    def lines(case):  # unit vectors of both wires, the second so that they enclose 90° at most
        a, b = (w.stations[3] - w.stations[0] for w in construct(case).wires[:2])
        a, b = a / np.linalg.norm(a), b / np.linalg.norm(b)
        return a, b if a @ b >= 0 else -b

    before, after = lines(s.case), lines(s.build((angle,)))
    found = math.degrees(math.acos(min(abs(after[0] @ after[1]), 1.0)))
    assert found == pytest.approx(min(angle, 180 - angle), abs=1e-4)
    if bearings != (45, 135):  # at 90° both bisectors are equally good
        middle = before[0] + before[1]
        spread = after[0] + after[1] if angle <= 90 else after[0] - after[1]
        cosine = abs(middle @ spread) / np.linalg.norm(middle) / np.linalg.norm(spread)
        if angle != 90:
            assert cosine == pytest.approx(1.0, abs=1e-9)


def test_right_angle_keeps_the_middle_of_the_bearings_as_written():
    built = study(CROSSING, case=frame(levels=(60, -60), bearings=((45, 135),))).build((60,))
    assert [w.bearing_deg for w in built.wire[:2]] == [60, 120]


def test_each_wire_keeps_the_end_it_starts_from():
    built = study(CROSSING, case=frame(levels=(60, -60), bearings=((60, 300),))).build((20,))
    # lines at 60° and 120°: 80° and 100° afterwards, the second from its far end
    assert [w.bearing_deg for w in built.wire[:2]] == pytest.approx([80, 280])


COUNT = {"name": "wires", "wires_per_ring_of": "all", "values": [1, 2, 3, 4, 5, 6]}


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5, 6])
def test_wires_on_a_ring(count):
    s = study(COUNT, collisions="ignore")
    built = s.build((count,))
    assert len(built.wire) == 2 * count
    for ring in ("R1", "R2"):
        own = [w for w in built.wire if w.ring == ring]
        first = next(w for w in s.case.wire if w.ring == ring)
        turned = [(w.bearing_deg - first.bearing_deg) % 180 for w in own]
        assert turned == pytest.approx([180 * i / count for i in range(count)])
        places = [w for w in construct(built).wires if w.wire.ring == ring]
        level = next(r.level_mm for r in built.ring if r.name == ring)
        heights = [p.stations[0, 2] - level for p in places]
        assert [h > 0 for h in heights] == [i % 2 == 0 for i in range(count)]
        assert all(abs(h) >= (5.0 + 1.8) / 2 - 1e-9 for h in heights), "on the ring or beyond"
        assert {(w.tension, w.diameter_mm) for w in own} == {(first.tension, 1.8)}
    gaps = [g for g in part_gaps(construct(built), bars_of(construct(built)))
            if g.one.startswith("wire") and g.other.startswith("wire")]  # fmt: skip
    assert all(g.gap_mm > 1.0 for g in gaps)
    assert len({w.name for w in built.wire}) == len(built.wire)


def test_tolerance_of_a_wire_that_a_design_lacks_is_in_nobodys_way():
    raw = clear() | {"tolerance": [{"path": "wire.W2.tension_N", "plus_minus": 20.0}]}
    assert len(study(COUNT, case=raw, collisions="ignore").build((1,)).wire) == 2


def test_wires_are_laid_from_the_values_of_the_other_parameters():
    paths = {"name": "d", "path": "wire.*.diameter_mm", "values": [1.5]}
    built = study(COUNT, paths, collisions="ignore").build((3, 1.5))
    assert {w.diameter_mm for w in built.wire} == {1.5}


def test_first_wire_at_a_height_of_its_own_stays_there():
    raw = frame(levels=(60, -60), wires={"height_mm": -9.0})
    built = study(COUNT, case=raw, collisions="ignore").build((4,))
    heights = [w.height_mm if w.face is None else w.face for w in built.wire[:4]]
    assert heights[0] == -9.0
    assert heights[1] == "proximal"
    assert heights[2] == pytest.approx(-9.0 - 1.8 - 2.0)


SIZES = {
    "name": "ring",
    "ring_size_of": "all",
    "sizes": [
        {"inner_diameter_mm": 140, "width_mm": 12, "thickness_mm": 4},
        {"inner_diameter_mm": 180, "width_mm": 16, "thickness_mm": 5, "hole_circle_mm": 190},
    ],
}


def test_ring_size_brings_its_section():
    s = study(SIZES)
    assert s.values(0, 9) == [(140.0,), (180.0,)]
    assert s.parameters[0].levels == (140.0, 180.0)
    small_one, large = (s.build(v).ring[1] for v in s.values(0, 2))
    assert (small_one.width_mm, small_one.thickness_mm) == (12, 4)
    assert small_one.hole_circle_mm == 152, "the middle of the width"
    assert large.hole_circle_mm == 190
    with pytest.raises(ValueError, match="no ring size"):
        s.build((150.0,))


def test_design_against_the_rules_of_a_case_says_why():
    s = study({"name": "level", "path": "ring.R1.level_mm", "values": [60, -59, 171]})
    assert s.build((60,)) == replace(s.case, {"ring.R1.level_mm": 60})
    with pytest.raises(Unbuildable) as refused:
        s.build((-59,))
    assert 'ring "R1" is in the way' in refused.value.reason
    assert len(refused.value.reason.splitlines()) == 1
    assert refused.value.reason.endswith(".")
    assert pickle.loads(pickle.dumps(refused.value)).reason == refused.value.reason


def test_reason_of_many_problems_is_one_sentence():
    s = study({"name": "d", "path": "ring.*.inner_diameter_mm", "values": [160, 20]},
              case=frame(), collisions="ignore")  # fmt: skip
    with pytest.raises(Unbuildable, match=r"does not go round .*; .*; and \d+ more\.$"):
        s.build((20,))


def test_parts_in_each_others_way():
    height = {"name": "height", "path": "wire.*.height_mm", "values": [4, 5]}
    s = study(height)
    with pytest.raises(Unbuildable, match="wire W1 and wire W2 run through each other"):
        s.build((4,))
    free = study(height, collisions="ignore")
    assert free.build((4,)).wire[0].height_mm == 4


def test_rods_in_one_hole_are_meant_as_one():
    raw = frame(levels=(60.0, 30.0, -60.0), rods=(0.0, 90.0, 180.0, 270.0))
    assert study(GAP, case=raw).build((2,)).bone.gap_mm == 2


def test_wire_through_a_rod_and_through_another_ring():
    raw = frame(levels=(60.0, -60.0), rods=(0.0, 50.0, 180.0, 270.0))
    bearing = {"name": "b", "path": "wire.W2.bearing_deg", "values": [90, 50]}
    s = study(bearing, case=raw)
    with pytest.raises(Unbuildable, match=r"rod R1-R2 at 50.* and wire W2 run through"):
        s.build((50,))
    raw = frame(levels=(60.0, 30.0, -60.0), rods=(0.0, 90.0, 180.0, 270.0))
    s = study({"name": "h", "path": "wire.W1.height_mm", "values": [-30, 3.4]}, case=raw)
    with pytest.raises(Unbuildable, match="wire W1 and ring R2 run through each other"):
        s.build((-30,))


@pytest.mark.parametrize("tilt", [0.0, 12.0])
@pytest.mark.parametrize("limit", [-1.0, 0.0, 3.0, 20.0])
def test_near_parts_are_those_of_all_parts(tilt, limit):
    raw = cases.demo()
    raw["ring"][1].update(tilt_deg=tilt, tilt_bearing_deg=40, arc_deg=290, opening_bearing_deg=180)
    raw["ring"][2].update(level_mm=0)
    raw["rod"] = [r for r in raw["rod"] if "R2" not in r["rings"]]
    raw["wire"][0].pop("face")
    raw["wire"][0].update(height_mm=-92)
    place = construct(case_from_dict(raw))
    bars = bars_of(place)
    every = [g for g in part_gaps(place, bars) if g.gap_mm < limit]
    assert part_gaps(place, bars, limit) == every
    assert every or limit < 0.0


def test_quick_bound_on_a_ring_is_never_more_than_the_distance():
    place = construct(case_from_dict(edited(clear(), lambda c: c["ring"][0].update(
        tilt_deg=20, tilt_bearing_deg=70))))  # fmt: skip
    rng = np.random.default_rng(1)
    P, Q = rng.uniform(-150, 150, (2, 400, 3))
    Q[:100] = P[:100] + rng.uniform(-5, 5, (100, 3))
    for ring in place.rings:
        bound, found = ring_at_least(ring, P, Q), ring_nearest(ring, P, Q)[0]
        assert (bound <= found + 1e-9).all()
        assert (bound > 1.0).sum() > 50, "it rules something out"


def test_study_is_the_same_from_its_own_text():
    s = drawn(
        even("W1"), {**GAP, "label": 'a "gap" \\ é'}, SIZES, CROSSING,
        even("W3", low=0.1), method="latin hypercube", seed=7, designs=33,
        tables={
            "correlation": [{"parameters": ["W1", "W3"], "coefficient": 0.25}],
            "output": [{"quantity": "mass_g"}, {"quantity": "axial_N_per_mm"}],
        },
    )  # fmt: skip
    again = study_from_text(s.to_toml(), s.case)
    assert again == s
    assert again.values(0, 33) == s.values(0, 33)
    assert again.to_toml() == s.to_toml()
    assert pickle.loads(pickle.dumps(s)).values(3, 9) == s.values(3, 9)


def test_memory_stays_flat():
    """Ten million designs, of which a few are asked for."""
    import tracemalloc

    tracemalloc.start()
    drawn(even("W1"), even("W2"), designs=10_000_000).values(9_999_990, 10_000_000)
    levels = {"low": 500, "high": 600, "steps": 3000}
    grid = study(*({"name": n, "path": f"wire.{n}.tension_N", **levels} for n in ("W1", "W2")))
    assert grid.values(8_999_998, 9_000_000)[1] == (600.0, 600.0)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 20e6
