"""The page that ``tautring check`` prints."""

import json
from pathlib import Path

import pytest

from frames.caution import CAUTION
from frames.lines import WIDTH
from tests.frames import cases
from tests.frames.cases import Raw, axial, wrench
from tests.frames.commands import Run, asking, put


def _long() -> Raw:
    """Forty wires, ten loads, names as long as may be."""
    long = "name-that-is-as-long-as-names-may-be-in-a-case-file-60-chars"
    raw = cases.frame(
        bearings=((20.0, 50.0, 80.0, 110.0, 140.0),) * 2,
        levels=(150.0, 120.0, 90.0, 50.0, -50.0, -90.0, -120.0, -150.0),
        loads=[
            *(axial(f"{i} {long}"[:60], 60.0 * i) for i in range(8)),
            wrench(f"8 {long}"[:60], (0.0, 0.0, 0.0), (1.0, -2.0, 0.5)),
            wrench("back", (0.0, -30.0, 0.0), at="distal face"),
        ],
    )
    raw["case"]["title"] = ("A title of two hundred characters, as many as there may be. " * 4)[
        :199
    ]
    for r in raw["ring"]:
        new = f"{r['name']} {long}"[:60]
        for w in raw["wire"]:
            w["ring"] = new if w["ring"] == r["name"] else w["ring"]
        for rod in raw["rod"]:
            rod["rings"] = [new if n == r["name"] else n for n in rod["rings"]]
        r["name"] = new
    for w in raw["wire"]:
        w["name"] = f"{w['name']} {long}"[:60]
    raw["target"] = [
        {"quantity": q, "load": f"7 {long}"[:60], "at_least": -1e9, "at_most": 123456.789}
        for q in ("secant_axial_N_per_mm", "wire_peak_stress_MPa", "bending_ml_Nm_per_deg")
    ]
    return raw


def test_the_page_is_eighty_columns_wide(run: Run) -> None:
    raw = _long()
    assert (len(raw["wire"]), len(raw["load"])) == (40, 10)
    ran = run("check", put(raw))
    assert ran.exit_code in (0, 1)
    too_long = [line for line in ran.stdout.splitlines() if len(line) > WIDTH]
    assert too_long == []


def test_the_page_says_all(run: Run) -> None:
    ran = run("check", put({**asking(1.0), "load": cases.demo()["load"]}))
    for words in (
        "invented, right leg",
        "Stiffness at the fracture gap",
        "axial stiffness",
        "torsional stiffness",
        "N·m/deg",
        "Movement at the gap under load",
        "full weight",
        "Wires: tension in N",
        "Warnings (",
    ):
        assert words in ran.stdout
    told = " ".join(ran.stdout.split())
    assert CAUTION in told


def test_numbers_on_the_page_are_those_of_the_file(run: Run) -> None:
    ran = run("check", put(asking(1.0)), "--json", "out.json")
    data = json.loads(Path("out.json").read_text(encoding="utf-8"))
    lines = {line[:36].strip(): line[36:].split() for line in ran.stdout.splitlines()}
    value, unit = lines["axial stiffness"]
    assert unit == "N/mm"
    assert float(value) == pytest.approx(data["stiffness"]["axial_N_per_mm"], rel=2e-3)
    (row,) = [line.split() for line in ran.stdout.splitlines() if line.startswith("  a ")]
    assert row[1] == "20"
    assert float(row[2]) == pytest.approx(data["loads"][0]["closing_mm"], abs=5e-3)
    wire = next(line.split() for line in ran.stdout.splitlines() if line.startswith("  W3 "))
    assert float(wire[3]) == pytest.approx(data["wires"][2]["tension_N"], abs=0.5)
    assert wire[2] == "/".join(f"{f:.0f}" for f in data["wires"][2]["tone_Hz"])


@pytest.mark.parametrize("environment", [{}, {"NO_COLOR": "1"}, {"NO_COLOR": ""}])
def test_no_escape_codes_away_from_a_terminal(run: Run, environment: dict[str, str]) -> None:
    ran = run("check", put(asking(1e4)), **environment)
    assert "\x1b" not in ran.output


def test_names_of_any_script(run: Run) -> None:
    raw = asking(1.0)
    raw["case"]["title"] = "Перелом голени, 脛骨, ἀντικνήμιον"
    raw["wire"][0]["name"] = "Проволока 1"
    raw["load"][0]["name"] = "Ходьба 歩行"
    path = put(raw, "случай 脛骨.toml")
    ran = run("check", path, "--json", "итог.json")
    assert ran.exit_code == 0
    assert "Перелом голени" in ran.stdout
    data = json.loads(Path("итог.json").read_text(encoding="utf-8"))
    assert data["case"]["file"] == "случай 脛骨.toml"
    assert data["wires"][0]["name"] == "Проволока 1"
    assert "Ходьба 歩行" in Path("итог.json").read_text(encoding="utf-8")  # not as \u escapes
