"""The commands ``tensioning``, ``modes``, ``tone``: what they say and write, how they fail."""

import json
import math
import os
from pathlib import Path
from typing import Any

import pytest

from frames import case_from_dict
from frames.caution import CAUTION
from frames.dialling import tensioning
from tests.frames import cases
from tests.frames.cases import Raw, axial
from tests.frames.commands import Run, invoke, put

COMMANDS: dict[str, tuple[str, ...]] = {
    "tensioning": (),
    "modes": (),
    "tone": ("--wire", "W1", "--heard", "2100"),
}


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run a command in an empty folder that holds ``case.toml``."""
    monkeypatch.chdir(tmp_path)

    def ran(raw: Raw | None, command: str, *more: str) -> Any:
        if raw is not None:
            put(raw)
        return invoke(command, "case.toml", *COMMANDS[command], *more)

    return ran


def _pins_only() -> Raw:
    raw = cases.small(loads=[axial("a", 50.0)])
    raw["wire"] = []
    raw["pin"] = [
        {"name": f"P{i}", "ring": ring, "bearing_deg": b, "height_mm": h, "diameter_mm": 5.0}
        for i, (ring, b, h) in enumerate(
            (ring, b, h) for ring in ("R1", "R2") for b, h in ((0.0, 10.0), (80.0, -10.0))
        )
    ]
    return raw


def _numbers(value: object) -> list[float]:
    if isinstance(value, dict):
        return [x for v in value.values() for x in _numbers(v)]
    if isinstance(value, list):
        return [x for v in value for x in _numbers(v)]
    return [value] if isinstance(value, float) else []


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize(
    "raw",
    [
        cases.small(loads=[axial("a", 50.0)]),
        {
            **cases.every(cases.small(), "wire", grip_N=30.0, tension_from="end"),
            "model": {"pretension": "dialled"},
        },
    ],
    ids=["smooth", "gripped"],
)
def test_what_is_written_is_json_without_gaps(run: Run, command: str, raw: Raw) -> None:
    """Numbers all finite; absent ones are null."""
    ran = run(raw, command, "--json", "out.json")
    assert ran.exit_code == 0, ran.output
    told = json.loads(Path("out.json").read_text(encoding="utf-8"), parse_constant=pytest.fail)
    assert told["format"] == f"tautring {command}"
    assert told["version"] == 1
    assert told["caution"] == CAUTION
    numbers = _numbers(told)
    assert len(numbers) > 2
    assert all(map(math.isfinite, numbers))
    shown = " ".join(ran.stdout.split())
    assert " ".join(CAUTION.split()) in shown
    assert "nan" not in shown.split()
    assert "inf" not in shown.split()
    assert max(len(line) for line in ran.stdout.splitlines()) <= 80


def test_the_page_tells_dials_and_what_is_left(run: Run) -> None:
    """The numbers of the function, rounded."""
    raw = cases.small()
    answer = tensioning(case_from_dict(raw))
    page = run(raw, "tensioning").stdout
    for number, stage in enumerate(answer.stages, start=1):
        (dial,) = stage.dial_N
        taken = stage.take_up[0]
        assert dial[0] is not None
        row = next(
            line.split()
            for line in page.splitlines()
            if line.split()[:2] == [str(number), stage.tensioned[0]]
        )
        assert row[2] == f"{dial[0]:.0f}"
        assert row[3] == f"{taken.start_mm + taken.end_mm:.2f}"
        assert float(row[4]) + float(row[5]) == pytest.approx(float(row[3]), abs=0.011)
    assert "What to dial" in page
    assert "What comes out" in run({**raw, "model": {"pretension": "dialled"}}, "tensioning").stdout


def test_legs_of_their_own_are_told_both(run: Run) -> None:
    raw = cases.small()
    raw["wire"][3].update(olive="start")
    page = run(raw, "tensioning").stdout
    assert any("/" in line and "W4" in line for line in page.splitlines())


# errors ----------------------------------------------------------------------------------------


def test_a_frame_without_wires(run: Run) -> None:
    """Nothing to tension, no wire to tap; but it rings and may buckle."""
    ran = run(_pins_only(), "tensioning", "--json", "out.json")
    assert ran.exit_code == 2
    assert "no wires" in ran.stderr
    assert run(_pins_only(), "tone").exit_code == 2
    assert run(_pins_only(), "modes").exit_code == 0
    assert os.listdir() == ["case.toml"]


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--wire", "W9"), "W9"),
        (("--leg", "middle"), "middle"),
        (("--heard", "-5"), "-5"),
        (("--heard", "nan"), "nan"),
        (("--free-share", "0"), "0"),
        (("--within", "-1"), "-1"),
    ],
)
def test_a_tone_that_cannot_be(run: Run, options: tuple[str, str], words: str) -> None:
    ran = run(cases.small(), "tone", *options)
    assert ran.exit_code == 2
    assert words in ran.stderr
    assert ran.stdout == ""


@pytest.mark.parametrize("command", COMMANDS)
def test_a_file_that_cannot_be_written(run: Run, command: str) -> None:
    """The answer is on the page all the same."""
    ran = run(cases.small(), command, "--json", "no/such/folder/out.json")
    assert ran.exit_code == 4
    assert "cannot write no/such/folder/out.json" in ran.stderr
    assert " ".join(CAUTION.split()) in " ".join(ran.stdout.split())


@pytest.mark.parametrize("command", COMMANDS)
def test_the_case_file_is_never_written_over(run: Run, command: str) -> None:
    ran = run(cases.small(), command, "--json", "./case.toml")
    assert ran.exit_code == 2
    assert "the case file" in ran.stderr
    assert Path("case.toml").read_text(encoding="utf-8").startswith("[case]")


@pytest.mark.parametrize("command", COMMANDS)
def test_a_case_file_that_is_none(run: Run, command: str) -> None:
    Path("case.toml").write_text("[case\n", encoding="utf-8")
    ran = run(None, command)
    assert ran.exit_code == 2
    assert "line 1" in ran.stderr


@pytest.mark.parametrize("command", ["tensioning", "modes"])
def test_a_mechanism(run: Run, command: str) -> None:
    raw = cases.small()
    raw["wire"].pop()
    ran = run(raw, command, "--json", "out.json")
    assert ran.exit_code == 3
    assert "Distal fragment is free to move" in ran.stderr
    assert len(ran.stderr.splitlines()) == 1
    assert os.listdir() == ["case.toml"]


def test_dials_beyond_the_clamps(run: Run) -> None:
    raw = cases.small()
    for w in raw["wire"]:
        w["slip_N"] = 900.0
    ran = run({**raw, "model": {"pretension": "dialled"}}, "tensioning")
    assert ran.exit_code == 3
    assert "cannot stand" in ran.stderr
    assert "W1" in ran.stderr


def test_the_other_leg_of_a_heard_wire_can_be_given(run: Run) -> None:
    """As the note on a gripped wire asks: it changes the answer a little."""
    raw = cases.small()
    raw["wire"][0]["grip_N"] = 50.0
    told = run(raw, "tone", "--json", "alike.json").stdout
    assert "give the other leg's" in " ".join(told.split())
    told = run(raw, "tone", "--other-leg", "400", "--json", "apart.json").stdout
    assert "give the other leg's" not in " ".join(told.split())
    alike, apart = (json.loads(Path(f"{n}.json").read_text("utf-8")) for n in ("alike", "apart"))
    assert apart["other_leg_N"] == 400.0
    assert 0.0 < abs(apart["tension_N"] / alike["tension_N"] - 1.0) < 0.05
