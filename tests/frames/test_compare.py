"""Frames side by side: the numbers of check, differences by name, frames that cannot be solved."""

import json
from pathlib import Path

import pytest

from frames import CaseError, case_from_dict, check, compare, replace
from frames.comparing.changes import changes
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


def test_what_differs_is_told_by_part_and_key() -> None:
    found = {(c.where, c.first, c.other) for c in changes(CASE, STIFFER)}
    assert found == {(f"wire W{i}, tension_kgf", "110", "130") for i in range(1, 9)}
    fewer = edited(RAW, lambda raw: raw["wire"].pop())
    found = {(c.where, c.first, c.other) for c in changes(CASE, case_from_dict(fewer))}
    assert found == {("wire W8", "there", "-")}
    assert not changes(CASE, case_from_dict({**RAW, "case": {**RAW["case"], "title": "other"}}))


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
