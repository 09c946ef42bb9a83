"""The result file: its keys, its numbers, and the table that says the same."""

import csv
import hashlib
import io
import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from frames import Result, case_from_text, check, check_file
from frames.demo import demo_text
from frames.quantities import QUANTITIES, STIFFNESSES
from frames.result import plain, quantity
from tests.frames import cases
from tests.frames.cases import Raw, answers, axial, wrench
from tests.frames.comparing import numbers_in


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> Result:
    path = tmp_path_factory.mktemp("case") / "demo.toml"
    path.write_text(demo_text(), encoding="utf-8")
    return check_file(path)


@pytest.fixture(scope="module")
def data(result: Result) -> dict[str, Any]:
    read: dict[str, Any] = json.loads(result.to_json())
    return read


def test_keys(data: dict[str, Any]) -> None:
    """The part of the format that is fixed; more keys may be added, these stay."""
    top = ("format", "version", "case", "software", "verdict", "stiffness", "loads", "wires")
    assert {*top, "targets", "warnings", "caution"} <= data.keys()
    assert (data["format"], data["version"]) == ("tautring result", 1)
    assert {"title", "file", "sha256"} <= data["case"].keys()
    assert "version" in data["software"]
    assert data["verdict"] in ("meets targets", "falls short", "no targets")
    assert set(data["stiffness"]) == {
        "axial_N_per_mm",
        "shear_ap_N_per_mm",
        "shear_ml_N_per_mm",
        "bending_ap_Nm_per_deg",
        "bending_ml_Nm_per_deg",
        "torsion_Nm_per_deg",
        "matrix",
    }
    assert np.array(data["stiffness"]["matrix"]).shape == (6, 6)
    assert [load["name"] for load in data["loads"]] == ["first steps", "half weight", "full weight"]
    for load in data["loads"]:
        assert set(load["gap_movement"]) == {
            "anterior_mm",
            "medial_mm",
            "axial_mm",
            "about_anterior_deg",
            "about_medial_deg",
            "about_axis_deg",
        }
        assert set(load["tangent"]) == set(STIFFNESSES)
        assert set(load["secant"]) == {"axial_N_per_mm"}
        for w in load["wires"]:
            assert {"name", "tension_N", "peak_stress_MPa", "slack"} <= w.keys()
            assert w["legs_N"] == [w["tension_N"]] * 2  # ideal wires
    for w in data["wires"]:
        assert {"name", "tension_N", "tone_Hz"} <= w.keys()
        assert w["legs_N"] == [w["tension_N"]] * 2
        assert len(w["tone_Hz"]) == 2
    for t in data["targets"]:
        assert {"quantity", "value", "at_least", "at_most", "meets", "margin"} <= t.keys()
    for w in data["warnings"]:
        assert {"kind", "message", "parts", "load", "load_N", "share"} == w.keys()


def test_where_it_comes_from(data: dict[str, Any]) -> None:
    assert data["case"]["title"] == "Four rings, eight wires (invented demo)"
    assert data["case"]["side"] == "left"
    assert data["case"]["file"] == "demo.toml"
    assert data["case"]["sha256"] == hashlib.sha256(demo_text().encode()).hexdigest()


def test_a_case_without_a_file() -> None:
    data = json.loads(check(case_from_text(demo_text())).to_json())
    assert data["case"]["file"] is None
    assert data["case"]["sha256"] is None


def test_every_number_is_finite(data: dict[str, Any]) -> None:
    numbers = list(numbers_in(data))
    assert len(numbers) > 100
    assert all(math.isfinite(v) for v in numbers)
    assert not any(v == 0.0 and math.copysign(1.0, v) < 0.0 for v in numbers)  # no "-0.0"


def test_a_number_that_is_none_is_refused(result: Result) -> None:
    """Better no file than one that other programs cannot read."""
    broken = replace(result, stiffness={**result.stiffness, "axial_N_per_mm": math.nan})
    with pytest.raises(ValueError, match="not JSON compliant"):
        broken.to_json()


def test_negative_zero_is_plain_zero() -> None:
    assert math.copysign(1.0, plain(-0.0)) == 1.0
    assert type(plain(np.float64(1.5))) is float


def test_table_says_what_the_file_says(result: Result, data: dict[str, Any]) -> None:
    """Every number of the one is in the other, to the last digit."""
    rows = list(csv.reader(io.StringIO(result.to_csv())))
    assert rows[0] == ["what", "load", "part", "quantity", "value"]
    table = {tuple(r[:4]): float(r[4]) for r in rows[1:]}
    assert len(table) == len(rows) - 1  # no row twice
    expected: dict[tuple[str, ...], float] = {}
    for name in STIFFNESSES:
        expected["stiffness", "", "", name] = data["stiffness"][name]
    for w in data["wires"]:
        key = ("wire", "", w["name"])
        expected[*key, "tension_N"] = w["tension_N"]
        expected[*key, "tension_start_N"], expected[*key, "tension_end_N"] = w["legs_N"]
        expected[*key, "peak_stress_MPa"] = w["peak_stress_MPa"]
        expected[*key, "tone_start_Hz"], expected[*key, "tone_end_Hz"] = w["tone_Hz"]
    for load in data["loads"]:
        moved = {**load["gap_movement"], **{k: load[k] for k in ("closing_mm", "shear_mm")}}
        for what, numbers in (("movement", moved), *((k, load[k]) for k in ("secant", "tangent"))):
            for name, value in numbers.items():
                expected[what, load["name"], "", name] = value
        for v in load["wires"]:
            key = ("wire", load["name"], v["name"])
            for name in ("tension_N", "peak_stress_MPa", "bow_mm"):
                expected[*key, name] = v[name]
            expected[*key, "tension_start_N"], expected[*key, "tension_end_N"] = v["legs_N"]
    for t in data["targets"]:
        expected["target", t["load"] or "", "", t["quantity"]] = t["value"]
        expected["target margin", t["load"] or "", "", t["quantity"]] = t["margin"]
    assert table == expected


def test_table_with_awkward_names() -> None:
    """Commas, quotes and letters of any script come back whole."""
    raw = cases.small(loads=[axial('a, "b"; c', 20.0)])
    raw["wire"][0]["name"] = 'Ω, "環"'
    rows = list(csv.reader(io.StringIO(answers(raw).to_csv())))
    assert all(len(r) == 5 for r in rows)
    assert {r[2] for r in rows} >= {'Ω, "環"', "W2"}
    assert {r[1] for r in rows} >= {'a, "b"; c'}


def _with_target(**target: Any) -> Raw:
    return {**cases.small(loads=[axial("a", 30.0)]), "target": [target]}


def _with_target_and_all(**target: Any) -> Raw:
    """The same with a half-pin and callus, so that every quantity has a value."""
    raw = _with_target(**target)
    pin = {"name": "P", "ring": raw["ring"][0]["name"], "bearing_deg": 20.0, "height_mm": 12.0}
    raw["pin"] = [{**pin, "diameter_mm": 5.0}]
    raw["bone"]["callus"] = {"E_MPa": 1.0}
    return raw


@pytest.mark.parametrize("name", QUANTITIES)
def test_targets_of_every_quantity(name: str) -> None:
    """Value, margin and verdict; the value is the one that the result shows elsewhere."""
    target = {"quantity": name, "load": "a", "at_least": -1e6}
    result = answers(_with_target_and_all(**target))
    (t,) = result.targets
    under = result.loads[0]
    assert under.bone_N is not None
    elsewhere = {
        **under.tangent,
        "secant_axial_N_per_mm": 30.0 / under.closing_mm,
        "closing_mm": -under.gap_movement["axial_mm"],
        "shear_mm": math.hypot(under.gap_movement["anterior_mm"], under.gap_movement["medial_mm"]),
        "wire_tension_min_N": min(w.tension_N for w in under.wires),
        "wire_tension_max_N": max(w.tension_N for w in under.wires),
        "wire_peak_stress_MPa": max(w.peak_stress_MPa for w in under.wires),
        "pin_peak_stress_MPa": under.pins[0].peak_stress_MPa,
        "bone_share_percent": 100.0 * under.bone_N / 30.0,
    }
    assert t.value == pytest.approx(elsewhere[name], rel=1e-12)
    assert quantity(result, name, "a") == t.value
    assert (t.meets, result.verdict) == (True, "meets targets")
    assert t.margin == pytest.approx(t.value + 1e6, rel=1e-12)


@pytest.mark.parametrize("name", STIFFNESSES)
def test_stiffness_without_a_load_is_that_at_pretension(name: str) -> None:
    (t,) = answers(_with_target(quantity=name, at_most=1e6)).targets
    result = answers(cases.small(loads=[axial("a", 30.0)]))
    assert t.value == result.stiffness[name]
    assert t.value != result.loads[0].tangent[name]


@pytest.mark.parametrize(
    ("low", "high", "meets", "margin"),
    [
        (-1.0, None, True, 1.0),
        (1.0, None, False, -1.0),
        (None, 2.0, True, 2.0),
        (None, -2.0, False, -2.0),
        (-1.0, 5.0, True, 1.0),
        (-5.0, 2.0, True, 2.0),
        (3.0, 5.0, False, -3.0),
        (0.0, None, True, 0.0),
        (None, 0.0, True, 0.0),
    ],
)
def test_bounds(low: float | None, high: float | None, meets: bool, margin: float) -> None:
    """Bounds are given from the value; the margin is to the nearest one, negative when missed."""
    value = answers(cases.small()).stiffness["axial_N_per_mm"]
    bounds = {
        key: value + shift
        for key, shift in (("at_least", low), ("at_most", high))
        if shift is not None
    }
    result = answers(_with_target(quantity="axial_N_per_mm", **bounds))
    (t,) = result.targets
    assert t.meets is meets
    assert t.margin == pytest.approx(margin, abs=1e-9)
    assert result.meets is meets
    assert result.verdict == ("meets targets" if meets else "falls short")


def test_one_missed_target_is_enough() -> None:
    raw = cases.small()
    raw["target"] = [
        {"quantity": "axial_N_per_mm", "at_least": 1.0},
        {"quantity": "torsion_Nm_per_deg", "at_least": 100.0},
    ]
    result = answers(raw)
    assert [t.meets for t in result.targets] == [True, False]
    assert result.verdict == "falls short"


def test_loads_by_name() -> None:
    result = answers(cases.small(loads=[axial("a", 20.0), wrench("b", (1.0, 0.0, 0.0))]))
    assert result.load("b").name == "b"
    assert result.load("b").axial_N is None
    with pytest.raises(KeyError, match="no load is called 'c'; there are a, b"):
        result.load("c")


def test_written_and_read_back(result: Result, tmp_path: Path) -> None:
    path = tmp_path / "r.json"
    path.write_text(result.to_json(), encoding="utf-8")
    text = path.read_text(encoding="utf-8")
    assert text.endswith("}\n")
    assert "N·m" not in json.dumps(list(json.loads(text)["stiffness"]))  # keys are plain letters
    assert np.array_equal(np.array(json.loads(text)["stiffness"]["matrix"]), result.matrix)
