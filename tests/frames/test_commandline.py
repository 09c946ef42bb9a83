"""The command: what it writes, what it says, and the status it ends with."""

import json
import os
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from frames import case_from_dict, case_to_toml
from frames.demo import demo_text
from frames.lines import WIDTH
from tests.frames import cases
from tests.frames.cases import Raw, axial
from tests.frames.commands import Run, asking, one_line, put

# new ------------------------------------------------------------------------------------------


def test_new_writes_the_demo(run: Run) -> None:
    ran = run("new", "mine.toml")
    assert ran.exit_code == 0
    assert Path("mine.toml").read_text(encoding="utf-8") == demo_text()
    assert "mine.toml" in one_line(ran.stdout)
    assert "tautring check mine.toml" in ran.stdout
    assert os.listdir() == ["mine.toml"]


def test_new_does_not_replace(run: Run) -> None:
    Path("mine.toml").write_text("keep me", encoding="utf-8")
    ran = run("new", "mine.toml")
    assert ran.exit_code == 2
    assert "exists already" in one_line(ran.stderr)
    assert ran.stdout == ""
    assert Path("mine.toml").read_text(encoding="utf-8") == "keep me"
    assert run("new", "mine.toml", "--force").exit_code == 0
    assert Path("mine.toml").read_text(encoding="utf-8") == demo_text()


@pytest.mark.parametrize("where", ["no/such/folder/mine.toml", "folder"])
def test_new_where_nothing_can_be_written(run: Run, where: str) -> None:
    Path("folder").mkdir()
    ran = run("new", where, "--force")
    assert ran.exit_code == 4
    assert f"cannot write {where}" in one_line(ran.stderr)
    assert os.listdir() == ["folder"]
    assert os.listdir("folder") == []


def test_what_new_writes_can_be_checked(run: Run) -> None:
    run("new", "mine.toml")
    assert run("check", "mine.toml").exit_code in (0, 1)
    assert tomllib.loads(Path("mine.toml").read_text(encoding="utf-8"))["case"]["title"]


# check: status and words ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("raw", "status", "words"),
    [
        (asking(1.0), 0, "MEETS all 1 targets"),
        (asking(1e4), 1, "FALLS SHORT: 1 of 1 targets is missed."),
        (cases.small(), 0, "No targets are set"),
    ],
)
def test_status_of_a_verdict(run: Run, raw: Raw, status: int, words: str) -> None:
    ran = run("check", put(raw))
    assert ran.exit_code == status
    assert words in ran.stdout
    assert ran.stderr == ""


def test_wrong_case_lists_every_mistake(run: Run) -> None:
    raw = cases.small()
    raw["bone"]["gap_mm"] = -1.0
    raw["wire"][0]["ring"] = "R9"
    text = case_to_toml(case_from_dict(cases.small()))
    text = text.replace("gap_mm = 2.0", "gap_mm = -1.0").replace('ring = "R1"', 'ring = "R9"', 1)
    Path("case.toml").write_text(text, encoding="utf-8")
    ran = run("check", "case.toml", "--json", "out.json")
    assert ran.exit_code == 2
    assert ran.stdout == ""
    assert "gap_mm" in ran.stderr
    assert '"R9"' in ran.stderr
    assert len(ran.stderr.splitlines()) >= 2
    assert not Path("out.json").exists()


def _file(content: bytes) -> Callable[[Path], None]:
    return lambda path: path.write_bytes(content) and None


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda path: None, "no such file"),
        (Path.mkdir, "folder"),
        (_file(b""), "case.toml"),
        (_file(b"\x00\x01\xfe\xff" * 400), "case.toml"),
        (_file("title = 'schräg'".encode("latin-1")), "UTF-8"),
        (_file(b"[case\n"), "line 1"),
        (_file(b"x" * 2_000_000), "longer than 1 MB"),
    ],
    ids=["missing", "folder", "empty", "binary", "latin", "syntax", "huge"],
)
def test_files_that_are_no_case(run: Run, make: Callable[[Path], None], words: str) -> None:
    make(Path("case.toml"))
    ran = run("check", "case.toml")
    assert ran.exit_code == 2
    assert ran.stdout == ""
    assert words in ran.stderr
    assert all(line.isprintable() for line in ran.stderr.splitlines())
    assert len(ran.stderr) < 2000


@pytest.mark.parametrize("content", [b"", b"\x00\x01\xfe", b"[case\n"])
def test_unreadable_files_take_one_line(run: Run, content: bytes) -> None:
    Path("case.toml").write_bytes(content)
    ran = run("check", "case.toml")
    if content:  # an empty file lacks every table, and is told so
        one_line(ran.stderr)
    assert ran.stderr.startswith("tautring: case.toml: ")


def test_mechanism(run: Run) -> None:
    raw = cases.small(loads=[axial("a", 20.0)])
    del raw["wire"][3]
    ran = run("check", put(raw), "--json", "out.json", "--picture", "out.png")
    assert ran.exit_code == 3
    assert ran.stdout == ""
    assert "Distal fragment is free to move" in one_line(ran.stderr)
    assert os.listdir() == ["case.toml"]


def test_no_equilibrium(run: Run) -> None:
    """Rings as soft as jelly collapse under the wires."""
    raw = cases.every(cases.small(), "ring", E_MPa=10.0, nu=0.3)
    ran = run("check", put(raw))
    assert ran.exit_code == 3
    assert "pretension" in one_line(ran.stderr)


@pytest.mark.parametrize(
    "arguments",
    [
        (),
        ("check",),
        ("check", "a.toml", "b.toml"),
        ("check", "a.toml", "--jsn", "x"),
        ("chek", "a.toml"),
        ("check", "a.toml", "--json"),
    ],
)
def test_wrong_commands(run: Run, arguments: tuple[str, ...]) -> None:
    ran = run(*arguments)
    assert ran.exit_code == 2
    assert "Error: " in ran.output or "Usage: " in ran.output  # without arguments: the help


@pytest.mark.parametrize("arguments", [(), ("check",), ("new",)])
@pytest.mark.parametrize("flag", ["--help", "-h"])
def test_help(run: Run, arguments: tuple[str, ...], flag: str) -> None:
    ran = run(*arguments, flag)
    assert ran.exit_code == 0
    assert "Usage: " in ran.stdout
    assert ran.stderr == ""
    assert all(len(line) <= WIDTH for line in ran.stdout.splitlines())


def test_help_tells_the_status(run: Run) -> None:
    text = run("check", "--help").stdout
    for status in range(5):
        assert f"\n    {status}  " in text


def test_load_to_draw_that_is_not_there(run: Run) -> None:
    ran = run("check", put(asking(1.0)), "--picture", "out.png", "--picture-load", "b")
    assert ran.exit_code == 2
    assert "no load is called 'b'; the case has 'a'" in one_line(ran.stderr)
    assert os.listdir() == ["case.toml"]


# check: files ---------------------------------------------------------------------------------


def test_files(run: Run) -> None:
    ran = run("check", put(asking(1.0)), "--json", "out.json", "--csv", "out.csv")
    assert ran.exit_code == 0
    data = json.loads(Path("out.json").read_text(encoding="utf-8"))
    assert data["case"]["file"] == "case.toml"
    assert Path("out.csv").read_text(encoding="utf-8").startswith("what,load,part,quantity,value\n")
    assert ran.stdout.rstrip().endswith("Wrote out.json\nWrote out.csv")
    assert sorted(os.listdir()) == ["case.toml", "out.csv", "out.json"]


def test_files_are_written_when_a_target_is_missed(run: Run) -> None:
    assert run("check", put(asking(1e4)), "--json", "out.json").exit_code == 1
    assert json.loads(Path("out.json").read_text(encoding="utf-8"))["verdict"] == "falls short"


@pytest.mark.parametrize("least", [1.0, 1e4])
@pytest.mark.parametrize("option", ["--json", "--csv", "--picture"])
def test_a_file_that_cannot_be_written(run: Run, option: str, least: float) -> None:
    """The answers are still on the screen and in the other files."""
    suffix = {"--json": "json", "--csv": "csv", "--picture": "png"}[option]
    other = "--csv" if option == "--json" else "--json"
    bad = f"no folder/out.{suffix}"
    ran = run("check", put(asking(least)), option, bad, other, "good.txt")
    assert ran.exit_code == 4
    assert bad in one_line(ran.stderr)
    assert "axial stiffness" in ran.stdout
    assert Path("good.txt").stat().st_size > 100


def test_a_folder_in_the_way(run: Run) -> None:
    Path("out.json").mkdir()
    (Path("out.json") / "inside").write_text("keep", encoding="utf-8")
    ran = run("check", put(asking(1.0)), "--json", "out.json")
    assert ran.exit_code == 4
    assert "cannot write out.json" in one_line(ran.stderr)
    assert sorted(os.listdir()) == ["case.toml", "out.json"]
    assert os.listdir("out.json") == ["inside"]


@pytest.mark.parametrize("fails", ["replace", "fsync"])
def test_what_was_there_survives_a_failure(
    run: Run, monkeypatch: pytest.MonkeyPatch, fails: str
) -> None:
    """A full disk, a lock: the old file stays whole, no half file stays behind."""
    Path("out.json").write_text("last week's", encoding="utf-8")

    def fail(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(f"frames.atomic.os.{fails}", fail)
    ran = run("check", put(asking(1.0)), "--json", "out.json")
    assert ran.exit_code == 4
    assert one_line(ran.stderr) == "tautring: cannot write out.json: No space left on device."
    assert Path("out.json").read_text(encoding="utf-8") == "last week's"
    assert sorted(os.listdir()) == ["case.toml", "out.json"]


def test_an_old_file_is_replaced(run: Run) -> None:
    Path("out.json").write_text("last week's" * 10_000, encoding="utf-8")
    assert run("check", put(asking(1.0)), "--json", "out.json").exit_code == 0
    json.loads(Path("out.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("option", ["--json", "--csv"])
@pytest.mark.parametrize("spelling", ["case.toml", "./case.toml", "folder/../case.toml"])
def test_the_case_file_is_never_written_over(run: Run, option: str, spelling: str) -> None:
    Path("folder").mkdir()
    path = put(asking(1.0))
    before = path.read_bytes()
    ran = run("check", "case.toml", option, spelling)
    assert path.read_bytes() == before
    assert ran.exit_code in (2, 4)
    assert "case.toml" in one_line(ran.stderr)


def test_two_outputs_do_not_share_a_file(run: Run) -> None:
    ran = run("check", put(asking(1.0)), "--json", "out", "--csv", "./out")
    assert ran.exit_code == 2
    assert "--csv" in one_line(ran.stderr)
