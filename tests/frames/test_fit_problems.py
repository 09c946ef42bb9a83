"""Every kind of misfit found; invariance; refusals; the command."""

import json
from pathlib import Path

import pytest

from frames import CaseError, case_from_dict, fit
from frames.demo import demo_text
from frames.fracture import SIDES
from tests.frames import cases
from tests.frames.cases import Raw, edited, other_leg, turned_about_axis
from tests.frames.commands import invoke, put
from tests.frames.legs import kinds, legged, round_leg

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
    "wound on one side": (
        cases.frame()
        | {
            "wound": [
                {
                    "name": "w",
                    "from_level_mm": 49,
                    "to_level_mm": 51,
                    "from_bearing_deg": 350,
                    "to_bearing_deg": 20,
                }
            ]
        },
        "ring over a wound",
    ),
    "bulging calf": (
        edited(
            legged(40.0, back_mm=20.0),
            lambda raw: raw["limb"].append({"level_mm": 95, "widths_mm": [40, 50, 79, 50]}),
        ),
        "rod near the leg",
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
    assert all("5.0 mm inside the swollen leg" in text for text in told)


def turned_leg(raw: Raw) -> Raw:
    """Frame, leg and corridors turned by a quarter, from anterior to medial."""
    new = turned_about_axis(raw, 90.0)
    for limb in new["limb"]:
        if "widths_mm" in limb:
            limb["widths_mm"] = [limb["widths_mm"][k] for k in (3, 0, 1, 2)]
        if "centre_mm" in limb:
            limb["centre_mm"] = cases.turned_pair(limb["centre_mm"], 90.0)
    for corridor in new["corridor"]:
        for key in ("from_bearing_deg", "to_bearing_deg"):
            corridor[key] = (corridor[key] + 90.0) % 360.0
    return new


def test_both_legs_alike() -> None:
    one, other = (fit(case_from_dict(raw)) for raw in (cases.demo(), other_leg(cases.demo())))
    assert [p.key for p in one.problems] == [p.key for p in other.problems]
    for a, b in zip(one.rings, other.rings, strict=True):
        assert (a.ring, a.direction) == (b.ring, b.direction)
        assert (a.now_mm, a.swollen_mm) == pytest.approx((b.now_mm, b.swollen_mm), abs=1e-9)
    assert [g.gap_mm for g in one.parts] == pytest.approx([g.gap_mm for g in other.parts])
    for s, t in zip(one.skin, other.skin, strict=True):
        assert (s.bearing_deg, s.corridor) == (pytest.approx(t.bearing_deg), t.corridor)


def test_turned_with_the_leg_nothing_changes() -> None:
    raw = cases.demo()
    raw["corridor"][2]["to_bearing_deg"] = 300.0
    raw["corridor"][0]["from_bearing_deg"] = -55.0  # so that some ends are outside
    one, other = (fit(case_from_dict(r)) for r in (raw, turned_leg(raw)))
    assert one.problems and [p.key for p in one.problems] == [p.key for p in other.problems]
    next_side = dict(zip(SIDES, [*list(SIDES)[1:], "anterior"], strict=True))
    turned = {(r.ring, r.direction): r for r in other.rings}
    for r in one.rings:
        same = turned[r.ring, next_side[r.direction]]
        assert (r.now_mm, r.swollen_mm) == pytest.approx((same.now_mm, same.swollen_mm), abs=0.02)
    for s, t in zip(one.skin, other.skin, strict=True):
        assert (s.bearing_deg + 90.0) % 360.0 == pytest.approx(t.bearing_deg)
        assert s.off_deg == pytest.approx(t.off_deg)


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


def test_wound_beside_the_ends_is_no_problem() -> None:
    """A wound over a range of bearings counts only there: W3 passes at 57 degrees, not here."""
    wound = {"name": "w", "from_level_mm": 52, "to_level_mm": 60}
    beside = wound | {"from_bearing_deg": 100, "to_bearing_deg": 200}
    assert "through a wound" in kinds(cases.frame() | {"wound": [wound]})
    assert "through a wound" not in kinds(cases.frame() | {"wound": [beside]})


def test_what_holds_each_fragment() -> None:
    proximal, distal = fit(case_from_dict(cases.frame())).holds
    assert (proximal.fragment, proximal.rings) == ("proximal fragment", ("R1", "R2"))
    assert proximal.wires == ("W1", "W2", "W3", "W4") and distal.rings == ("R3", "R4")


def test_keys_stay_when_numbers_change() -> None:
    """What a change of the frame is compared by: kind and parts, each once."""
    nearer, nearest = (fit(case_from_dict(legged(r))).problems for r in (65.0, 66.0))
    keys = [p.key for p in nearer]
    assert keys == [p.key for p in nearest] and len(set(keys)) == len(keys) > 0
    assert [p.message for p in nearer] != [p.message for p in nearest]


def test_long_names_keep_to_the_page() -> None:
    raw = cases.demo()
    for wire in raw["wire"]:
        wire["name"] += " with a name that goes on and on"
    for corridor in raw["corridor"]:
        corridor["name"] += " with a name that goes on and on"
    del raw["limb"]
    assert max(len(line.text) for line in fit(case_from_dict(raw)).lines()) <= 80


def test_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    put(cases.demo())
    ran = invoke("fit", "case.toml", "--json", "f.json", "--csv", "f.csv")
    assert ran.exit_code == 0
    assert all(len(line) <= 80 for line in ran.output.splitlines())
    content = json.loads(Path("f.json").read_text(encoding="utf-8"))
    assert content["verdict"] == "fits" and content["format"] == "tautring fit"
    gap = content["rings"]["R1"]["posterior"]["swollen_mm"]
    rows = Path("f.csv").read_text(encoding="utf-8").splitlines()
    assert f"rings/R1/posterior,swollen_mm,{gap!r}" in rows
    assert "skin/W1/start,in_corridor,true" in rows
    put(legged(70.0))
    ran = invoke("fit", "case.toml")
    assert ran.exit_code == 1 and "DOES NOT FIT" in ran.output
    put(cases.small())
    assert invoke("fit", "case.toml").exit_code in (0, 1)
    invoke("new", "h.toml", "--example", "hybrid")
    assert "half-pin" not in invoke("fit", "h.toml").stderr


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({"limb": [*round_leg(50.0), *round_leg(60.0)]}, "once per level"),
        ({"corridor": [corridor(0.0, 90.0, 20.0, 20.0)]}, "must be more than from_level_mm"),
        ({"corridor": [corridor(40.0, 40.0)]}, "no direction lies between them"),
        ({"corridor": [corridor(0.0, 400.0)]}, "must be at most 360"),
        (
            {"wound": [{"name": "w", "from_level_mm": 0, "to_level_mm": 9, "to_bearing_deg": 9}]},
            "from_bearing_deg",
        ),
        ({"room": {"swelling_mm": 5, "swelling_percent": 5}}, "swelling_percent"),
        ({"room": {"crossing_deg": 95}}, "must be at most 90"),
    ],
)
def test_impossible_tables_are_refused(table: Raw, words: str) -> None:
    with pytest.raises(CaseError, match=words):
        case_from_dict(cases.frame() | table)


def test_command_refuses_a_broken_leg(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    text = demo_text()
    assert "girth_mm = 240" in text
    broken = text.replace("girth_mm = 240", "girth_mm = 70")
    Path("case.toml").write_text(broken, encoding="utf-8")
    ran = invoke("fit", "case.toml")
    assert ran.exit_code == 2 and "inside the bone" in " ".join(ran.stderr.split())


def test_pins_only_and_pins_in_corridors() -> None:
    """A half-pin is judged at its clamped side only."""
    raw = cases.frame()
    del raw["wire"]
    raw["pin"] = [
        {"name": f"P{k}", "ring": name, "bearing_deg": 20.0 + k, "height_mm": h, "diameter_mm": 5.0}
        for k, (name, h) in enumerate(
            (n, h) for n in ("R1", "R2", "R3", "R4") for h in (-20.0, 20.0)
        )
    ]
    raw |= {"corridor": [corridor(0.0, 60.0)], "limb": round_leg(50.0)}
    answer = fit(case_from_dict(raw))
    assert {s.verdict for s in answer.skin} == {"in a corridor"} and len(answer.skin) == 8
    assert all(s.on_skin and s.end == "clamp" for s in answer.skin) and not answer.crossings
    assert max(len(line.text) for line in answer.lines()) <= 80
    raw["corridor"] = [corridor(200.0, 240.0)]
    out = [p for p in fit(case_from_dict(raw)).problems if p.kind == "outside the corridors"]
    assert len(out) == 8
