"""The command: what it writes, what it says, and the status it ends with."""

import json
import os
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from frames import case_from_dict, case_to_toml
from frames.caution import CAUTION
from frames.commandline import app
from frames.demo import demo_text
from tests.frames import cases
from tests.frames.cases import Raw, axial, wrench

WIDTH = 80  # of a terminal
Ran = Any  # typer keeps the class of its results to itself
Run = Callable[..., Ran]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run the command in an empty folder."""
    monkeypatch.chdir(tmp_path)

    def ran(*arguments: object, **environment: str) -> Ran:
        result = CliRunner().invoke(app, [str(a) for a in arguments], env=environment)
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        assert "Traceback" not in result.output
        return result

    return ran


def put(raw: Raw, name: str = "case.toml") -> Path:
    path = Path(name)
    path.write_text(case_to_toml(case_from_dict(raw)), encoding="utf-8")
    return path


def one_line(text: str) -> str:
    """The text, which must be one line that ends."""
    assert text.endswith("\n")
    assert len(text.splitlines()) == 1, text
    return text.rstrip("\n")


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


def _target(least: float) -> Raw:
    raw = cases.small(loads=[axial("a", 20.0)])
    raw["target"] = [{"quantity": "axial_N_per_mm", "at_least": least}]
    return raw


@pytest.mark.parametrize(
    ("raw", "status", "words"),
    [
        (_target(1.0), 0, "MEETS all 1 targets"),
        (_target(1e4), 1, "FALLS SHORT: 1 of 1 targets is missed."),
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
    ran = run("check", put(_target(1.0)), "--picture", "out.png", "--picture-load", "b")
    assert ran.exit_code == 2
    assert "no load is called 'b'; the case has 'a'" in one_line(ran.stderr)
    assert os.listdir() == ["case.toml"]


# check: files ---------------------------------------------------------------------------------


def test_files(run: Run) -> None:
    ran = run("check", put(_target(1.0)), "--json", "out.json", "--csv", "out.csv")
    assert ran.exit_code == 0
    data = json.loads(Path("out.json").read_text(encoding="utf-8"))
    assert data["case"]["file"] == "case.toml"
    assert Path("out.csv").read_text(encoding="utf-8").startswith("what,load,part,quantity,value\n")
    assert ran.stdout.rstrip().endswith("Wrote out.json\nWrote out.csv")
    assert sorted(os.listdir()) == ["case.toml", "out.csv", "out.json"]


def test_files_are_written_when_a_target_is_missed(run: Run) -> None:
    assert run("check", put(_target(1e4)), "--json", "out.json").exit_code == 1
    assert json.loads(Path("out.json").read_text(encoding="utf-8"))["verdict"] == "falls short"


@pytest.mark.parametrize("least", [1.0, 1e4])
@pytest.mark.parametrize("option", ["--json", "--csv", "--picture"])
def test_a_file_that_cannot_be_written(run: Run, option: str, least: float) -> None:
    """The answers are still on the screen and in the other files."""
    suffix = {"--json": "json", "--csv": "csv", "--picture": "png"}[option]
    other = "--csv" if option == "--json" else "--json"
    bad = f"no folder/out.{suffix}"
    ran = run("check", put(_target(least)), option, bad, other, "good.txt")
    assert ran.exit_code == 4
    assert bad in one_line(ran.stderr)
    assert "axial stiffness" in ran.stdout
    assert Path("good.txt").stat().st_size > 100


def test_a_folder_in_the_way(run: Run) -> None:
    Path("out.json").mkdir()
    (Path("out.json") / "inside").write_text("keep", encoding="utf-8")
    ran = run("check", put(_target(1.0)), "--json", "out.json")
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
    ran = run("check", put(_target(1.0)), "--json", "out.json")
    assert ran.exit_code == 4
    assert one_line(ran.stderr) == "tautring: cannot write out.json: No space left on device."
    assert Path("out.json").read_text(encoding="utf-8") == "last week's"
    assert sorted(os.listdir()) == ["case.toml", "out.json"]


def test_an_old_file_is_replaced(run: Run) -> None:
    Path("out.json").write_text("last week's" * 10_000, encoding="utf-8")
    assert run("check", put(_target(1.0)), "--json", "out.json").exit_code == 0
    json.loads(Path("out.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("option", ["--json", "--csv"])
@pytest.mark.parametrize("spelling", ["case.toml", "./case.toml", "folder/../case.toml"])
def test_the_case_file_is_never_written_over(run: Run, option: str, spelling: str) -> None:
    Path("folder").mkdir()
    path = put(_target(1.0))
    before = path.read_bytes()
    ran = run("check", "case.toml", option, spelling)
    assert path.read_bytes() == before
    assert ran.exit_code in (2, 4)
    assert "case.toml" in one_line(ran.stderr)


def test_two_outputs_do_not_share_a_file(run: Run) -> None:
    ran = run("check", put(_target(1.0)), "--json", "out", "--csv", "./out")
    assert ran.exit_code == 2
    assert "--csv" in one_line(ran.stderr)


# check: the printed page ----------------------------------------------------------------------


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
    ran = run("check", put({**_target(1.0), "load": cases.demo()["load"]}))
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
    ran = run("check", put(_target(1.0)), "--json", "out.json")
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
    ran = run("check", put(_target(1e4)), **environment)
    assert "\x1b" not in ran.output


def test_names_of_any_script(run: Run) -> None:
    raw = _target(1.0)
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
