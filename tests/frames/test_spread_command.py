"""``tautring spread``."""

import csv
import json
from pathlib import Path

import pytest

from tests.frames.commands import asking, invoke, one_line, put


@pytest.fixture(autouse=True)
def _elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def test_prints_and_writes() -> None:
    case = put(asking(20.0))
    ran = invoke("spread", case, "--designs", 8, "--seed", 3, "--json", "s.json", "--csv", "s.csv")
    assert ran.exit_code == 0, ran.output
    assert "8 frames built within tolerances" in ran.output
    assert "Chance of meeting the targets" in ran.output and "own choice, no source" in ran.output
    data = json.loads(Path("s.json").read_text(encoding="utf-8"))
    assert (data["designs"], data["seed"]) == (8, 3)
    (target,) = data["targets"]
    with open("s.csv", encoding="utf-8", newline="") as file:
        rows = {(r["where"], r["quantity"]): r["value"] for r in csv.DictReader(file)}
    where = "targets/axial_N_per_mm/sample"
    assert float(rows[where, "chance"]) == target["sample"]["chance"]


@pytest.mark.parametrize(
    ("words", "said"),
    [(("--designs", 0), "must be 1 to"), (("--seed", -1), "must not be negative")],
)
def test_wrong_numbers_are_refused(words: tuple[object, ...], said: str) -> None:
    ran = invoke("spread", put(asking(20.0)), *words)
    assert ran.exit_code == 2
    assert said in one_line(ran.stderr)
