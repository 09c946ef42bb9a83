"""The invented cases that come with the program, and what is said of the one with everything."""

import json
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from frames import case_from_text, case_to_toml, check, replace
from frames.demo import EXAMPLES, demo_text
from frames.lines import WIDTH
from frames.printout import printout
from frames.result import Result

COMMAND = [str(Path(sys.executable).with_name("tautring"))]


@pytest.fixture(scope="module")
def hybrid() -> Result:
    case = case_from_text(demo_text("hybrid"))
    return check(replace(case, {"history.standing.cycles": 2, "model.load_steps": 5}))


@pytest.mark.parametrize("name", EXAMPLES)
def test_examples_are_cases(name: str) -> None:
    case = case_from_text(demo_text(name))
    assert case_from_text(case_to_toml(case)) == case
    assert "invented" in case.case.title and "CAUTION" in demo_text(name)


def test_everything_is_told_within_the_page(hybrid: Result) -> None:
    lines = [line.text for line in printout(hybrid)]
    assert max(map(len, lines)) <= WIDTH
    said = "\n".join(lines)
    for heading in ("Tensioned in 4 stages", "Nuts turned", "Between the bone ends", "First touch"):
        assert heading in said
    for heading in ("Half-pins: moment", "After 'standing' came and went", "sticks"):
        assert heading in said


def test_everything_is_in_the_result_file(hybrid: Result) -> None:
    data = json.loads(hybrid.to_json())
    assert [len(stage["tensioned"]) for stage in data["tensioning"]] == [1, 1, 1, 1]
    assert [turn["name"] for turn in data["nut_turns"]] == ["press the ends together"]
    assert {t["side"] for t in data["touches"]} == {"anterior", "medial", "posterior", "lateral"}
    (past,) = data["histories"]
    assert past["load"] == "standing" and 1 <= past["cycles"] <= 2
    for load in data["loads"]:
        assert [pin["name"] for pin in load["pins"]] == ["P1", "P2", "P3", "P4"]
        assert 0.0 < load["bone_share_percent"] < 100.0
        assert load["faces"]["pressed_N"] > load["faces"]["rubbed_N"] > 0.0
    assert data["sticking"] is True


def test_pressed_ends_carry_and_the_frame_the_rest(hybrid: Result) -> None:
    """Along the bone, what the faces carry more than at rest and what the frame carries make the
    load: by definition of the share; pressing and rubbing are the faces' force along the bone.
    """
    load = hybrid.load("standing")
    assert load.bone_N is not None and load.axial_N is not None and load.faces is not None
    assert load.bone_share_percent is not None
    pressed_before = hybrid.nut_turns[-1].bone_N
    assert pressed_before is not None
    more = load.bone_N - pressed_before
    assert more == pytest.approx(load.axial_N * load.bone_share_percent / 100.0, rel=1e-9)
    along = (load.faces.pressed_N**2 + load.faces.rubbed_N**2) ** 0.5
    assert load.bone_N <= along


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGINT to another process there")
def test_stopped_by_the_user(tmp_path: Path) -> None:
    """Ctrl-C in the middle: a word, status 130, no file, no traceback."""
    (tmp_path / "case.toml").write_text(
        demo_text("hybrid").replace("cycles = 10", "cycles = 1000"), encoding="utf-8"
    )
    command = [*COMMAND, "check", "case.toml", "--json", "result.json"]
    child = subprocess.Popen(command, cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    time.sleep(4.0)
    child.send_signal(signal.SIGINT)
    _, said = child.communicate(timeout=60)
    assert child.returncode == 130
    assert said.decode().strip() == "tautring: stopped; no file was written."
    assert not (tmp_path / "result.json").exists()


def test_new_writes_the_example_asked_for(tmp_path: Path) -> None:
    for words, status in ((["--example", "hybrid"], 0), (["--example", "none"], 2)):
        file = tmp_path / f"{status}.toml"
        done = subprocess.run(
            [*COMMAND, "new", str(file), *words], capture_output=True, text=True, check=False
        )
        assert done.returncode == status, done.stderr
        if status == 0:
            assert file.read_text(encoding="utf-8") == demo_text("hybrid")
        else:
            assert not file.exists() and "four_rings, hybrid" in done.stderr
