"""Frames side by side: the numbers of check, differences by name, frames that cannot be solved."""

import json
from pathlib import Path

import numpy as np
import pytest

from frames import CaseError, case_from_dict, check, compare, replace
from frames.comparing import differences
from frames.picture.bar_sheet import BarPanel, BarSheet
from frames.picture.bars import COLOURS, compose_bars
from tests.frames import cases
from tests.frames.cases import axial, edited
from tests.frames.commands import invoke, put

RAW = cases.frame(loads=[axial("a", 100.0)])
CASE = case_from_dict(RAW)
STIFFER = replace(CASE, {"wire.*.tension_kgf": 130.0})
LOOSE = case_from_dict(
    edited(
        cases.small(loads=[axial("a", 20.0)]),
        lambda raw: raw.update(wire=[w for w in raw["wire"] if w["name"] != "W1"]),
    )
)


def test_numbers_are_those_of_check() -> None:
    answer = compare([CASE, STIFFER])
    one, two = check(CASE), check(STIFFER)
    row = next(r for r in answer.rows if r.quantity == "axial_N_per_mm")
    a, b = one.stiffness["axial_N_per_mm"], two.stiffness["axial_N_per_mm"]
    assert row.values == (a, b)
    assert row.change_percent == (0.0, pytest.approx(100.0 * (b / a - 1.0)))
    closing = next(r for r in answer.rows if r.quantity == "closing_mm")
    assert closing.values == (one.load("a").closing_mm, two.load("a").closing_mm)


def told(*raws: cases.Raw) -> list[tuple[object, ...]]:
    found = differences([case_from_dict(raw) for raw in raws])
    return [(d.kind, d.parts, d.every, d.key, d.values) for d in found]


def test_what_differs_is_told_by_part_and_key() -> None:
    wires = tuple(f"W{i}" for i in range(1, 9))
    stiffer = cases.every(RAW, "wire", tension_kgf=130.0)
    assert told(RAW, stiffer, RAW) == [
        ("wire", wires, True, "tension_kgf", ("110", "130", "110")),
    ]
    fewer = edited(RAW, lambda raw: raw["wire"].pop())
    assert told(RAW, fewer) == [("wire", ("W8",), False, "", ("is there", None))]
    ring = edited(RAW, lambda raw: raw["ring"][1].update(centre_mm=[-12, 0]))
    assert told(RAW, ring) == [("ring", ("R2",), False, "centre_mm", ("[0, 0]", "[-12, 0]"))]


def test_a_table_inside_and_its_keys_differ() -> None:
    touching = edited(RAW, lambda raw: raw["bone"].update(contact={"friction": 0.1}))
    rough = edited(RAW, lambda raw: raw["bone"].update(contact={"friction": 0.4}))
    assert told(touching, rough) == [("bone", (), True, "contact.friction", ("0.1", "0.4"))]
    assert ("bone", (), True, "contact", (None, "is there")) in told(RAW, rough)


def test_no_difference_in_titles_defaults_and_order() -> None:
    other = edited(RAW, lambda raw: raw["case"].update(title="other"))
    other["bone"]["E_MPa"] = 17000
    other["wire"].reverse()
    assert told(RAW, other) == []


def test_what_sticks_and_what_comes_and_goes() -> None:
    raw = cases.every(RAW, "wire", grip_N=30.0)
    raw["history"] = [{"load": "a", "cycles": 2}]
    rubbing = case_from_dict(raw)
    answer = compare([CASE, rubbing])
    assert [f.sticking for f in answer.frames] == [False, True]
    assert "something rubs in it" in " ".join(line.text.strip() for line in answer.lines())
    assert answer.rows[0].values[1] == check(rubbing).stiffness["axial_N_per_mm"]
    closing = next(row for row in answer.rows if row.quantity == "closing_mm")
    assert closing.values[1] == check(rubbing).load("a").closing_mm


def test_loads_of_one_frame_alone_are_left_out() -> None:
    more = {**RAW, "load": [*RAW["load"], axial("b", 50.0)]}
    one, two = case_from_dict(RAW), case_from_dict(more)
    assert {row.load for row in compare([one, two]).rows} == {None, "a"}
    assert {row.load for row in compare([two, two]).rows} == {None, "a", "b"}


def test_change_is_by_the_size_of_the_first() -> None:
    """A gap that opens by 1 and then by 2 changes by -100 percent of the opening's size."""
    pull = case_from_dict({**RAW, "load": [axial("a", -20.0)]})
    push = case_from_dict({**RAW, "load": [axial("a", 20.0)]})
    row = next(r for r in compare([pull, push]).rows if r.quantity == "closing_mm")
    first, other = row.values
    assert first is not None and other is not None and first < 0.0 < other
    assert row.change_percent[1] == pytest.approx(100.0 * (1.0 + other / abs(first)))


def test_targets_are_judged_for_those_who_set_them() -> None:
    asks = [{"quantity": "axial_N_per_mm", "at_least": 1e6}]
    answer = compare([CASE, case_from_dict({**RAW, "target": asks})])
    (target,) = answer.targets
    assert target.results[0] is None
    assert target.results[1] is not None and not target.results[1].meets
    assert "MISSED" in "\n".join(line.text for line in answer.lines())
    assert answer.to_dict()["targets"][0]["meets"] == {"invented (2)": False}


def test_bars_are_as_long_as_the_numbers() -> None:
    answer = compare([CASE, STIFFER])
    lines = [line.text for line in answer.lines()]
    start = lines.index("  axial, N/mm")
    counts = [line.count("#") for line in lines[start + 1 : start + 3]]
    a, b = answer.rows[0].values
    assert a is not None and b is not None
    assert max(counts) == counts[1] and counts[0] == round(counts[1] * a / b)


def test_the_drawn_bars_are_as_long_as_the_numbers() -> None:
    """Counted in the picture: pixels of the colour of the second frame against the first's."""
    panel = BarPanel("x", (30.0, 10.0, None), ("", "", ""))
    sheet = BarSheet("h", (("A", "a"), ("B", "b"), ("C", "c")), (("s", (panel,)),), "n")
    picture = compose_bars(sheet).astype(float) / 255.0
    long, short = (
        (np.abs(picture - np.array(colour)).max(axis=2) < 0.02).sum(axis=1).max()
        for colour in COLOURS[:2]
    )
    assert 100 < long < 400 and short == pytest.approx(long / 3.0, abs=2.0)


def test_a_frame_that_cannot_be_solved_does_not_stop_the_others() -> None:
    answer = compare([CASE, LOOSE, STIFFER], ["one", "loose", "two"])
    assert [f.unsolved is None for f in answer.frames] == [True, False, True]
    assert answer.solved and answer.rows[0].values[1] is None
    assert "not solved" in "\n".join(line.text for line in answer.lines())


def test_same_names_are_numbered_and_one_case_is_too_few() -> None:
    assert [f.name for f in compare([CASE, STIFFER, CASE]).frames] == [
        "invented",
        "invented (2)",
        "invented (3)",
    ]
    with pytest.raises(CaseError, match="at least two"):
        compare([CASE])


def test_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for i in range(6):
        raw = cases.every(RAW, "wire", tension_kgf=80.0 + 10.0 * i)
        raw["target"] = [{"quantity": "axial_N_per_mm", "at_least": 60.0}]
        put(raw, f"frame_with_a_long_name_{i}.toml")
    files = sorted(p.name for p in Path().glob("*.toml"))
    ran = invoke("compare", *files, "--json", "c.json", "--csv", "c.csv")
    assert ran.exit_code == 0
    assert "Under 'a'" in ran.output and "  F " in ran.output
    assert all(len(line) <= 80 for line in ran.output.splitlines())
    content = json.loads(Path("c.json").read_text(encoding="utf-8"))
    assert len(content["frames"]) == 6 and content["caution"]
    verdicts = [f["verdict"] for f in content["frames"]]
    assert verdicts[0] == "falls short" and verdicts[-1] == "meets targets"
    assert invoke("compare", files[0]).exit_code == 2
    assert invoke("compare", files[0], "nothing.toml").exit_code == 2
    put(edited(RAW, lambda raw: raw.update(wire=raw["wire"][:1])), "a.toml")
    put(edited(RAW, lambda raw: raw.update(wire=raw["wire"][1:2])), "b.toml")
    assert invoke("compare", "a.toml", "b.toml").exit_code == 3


def test_picture_and_files_that_cannot_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    put(RAW, "a.toml")
    put(cases.every(RAW, "wire", tension_kgf=130.0), "b.toml")
    assert invoke("compare", "a.toml", "b.toml", "--picture", "p.png").exit_code == 0
    assert Path("p.png").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    for wrong, said in (("p.jpg", "must end in .png"), ("no/p.png", "there is no folder")):
        ran = invoke("compare", "a.toml", "b.toml", "--picture", wrong)
        assert ran.exit_code == 4 and said in ran.stderr
    ran = invoke("compare", "a.toml", "b.toml", "--json", "b.toml")
    assert ran.exit_code == 2 and "this is the case file" in ran.stderr
    assert "two case files or more" in invoke("compare", "a.toml").stderr
