"""The installed command in a process of its own: streams, terminal, broken pipe, odd systems."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from frames import case_from_dict, case_to_toml
from tests.frames import cases

COMMAND = [sys.executable, "-c", "from frames.commandline import main; main()"]
ROOT = Path(__file__).parents[2]


def ran(*arguments: str, cwd: Path, **environment: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [*COMMAND, *arguments],
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(ROOT), "OPENBLAS_NUM_THREADS": "1", **environment},
        capture_output=True,
        timeout=120,
        check=False,
    )


@pytest.fixture
def case(tmp_path: Path) -> Path:
    raw = cases.small(loads=[cases.axial("a", 90.0)])
    raw["target"] = [{"quantity": "axial_N_per_mm", "at_least": 1e4}]
    raw["case"]["title"] = "脛骨 Ω"
    path = tmp_path / "case.toml"
    path.write_text(case_to_toml(case_from_dict(raw)), encoding="utf-8")
    return path


def test_check(case: Path) -> None:
    done = ran("check", "case.toml", "--json", "out.json", cwd=case.parent)
    assert done.returncode == 1
    assert done.stderr == b""
    assert b"\x1b" not in done.stdout
    assert "脛骨 Ω, right leg" in done.stdout.decode()
    assert json.loads((case.parent / "out.json").read_text(encoding="utf-8"))["version"] == 1


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252"])
def test_a_system_with_another_encoding(case: Path, encoding: str) -> None:
    """Output is UTF-8 whatever the locale says."""
    done = ran("check", "case.toml", cwd=case.parent, PYTHONUTF8="0", PYTHONIOENCODING=encoding)
    assert done.returncode == 1
    assert "脛骨 Ω, right leg" in done.stdout.decode()
    assert "N·m/deg" in done.stdout.decode()


def test_errors_go_to_the_error_stream(tmp_path: Path) -> None:
    done = ran("check", "none.toml", cwd=tmp_path)
    assert done.returncode == 2
    assert done.stdout == b""
    assert done.stderr.decode().splitlines() == [
        "tautring: none.toml: there is no such file: none.toml"
    ]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes as files are needed")
def test_a_reader_that_goes_away(case: Path) -> None:
    """tautring check … | head -1: no traceback."""
    process = subprocess.Popen(
        [*COMMAND, "check", "case.toml"],
        cwd=case.parent,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    message = process.stderr.read().decode()
    process.stderr.close()
    process.wait(timeout=120)
    assert "Traceback" not in message
    assert "Exception ignored" not in message


@pytest.mark.skipif(sys.platform == "win32", reason="a terminal of its own is needed")
@pytest.mark.parametrize("no_colour", [False, True])
def test_colours_on_a_terminal(case: Path, no_colour: bool) -> None:
    """Coloured there, unless NO_COLOR is set (no-color.org)."""
    import pty

    environment = {k: v for k, v in os.environ.items() if k != "NO_COLOR"}
    environment |= {"PYTHONPATH": str(ROOT), "TERM": "xterm"}
    if no_colour:
        environment["NO_COLOR"] = "1"
    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [*COMMAND, "check", "case.toml"], cwd=case.parent, env=environment, stdout=theirs
    )
    os.close(theirs)
    text = b""
    try:
        while part := os.read(ours, 65536):
            text += part
    except OSError:  # the other end is closed
        pass
    os.close(ours)
    assert process.wait(timeout=120) == 1
    assert b"FALLS SHORT" in text
    assert (b"\x1b[" in text) is not no_colour


@pytest.mark.skipif(sys.platform == "win32" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written(case: Path) -> None:
    case.parent.chmod(0o500)
    try:
        done = ran("check", "case.toml", "--json", "out.json", cwd=case.parent)
    finally:
        case.parent.chmod(0o700)
    assert done.returncode == 4
    assert b"Traceback" not in done.stderr
    assert b"cannot write out.json" in done.stderr


def test_installed_command() -> None:
    """`tautring` is the same function, where it is installed."""
    from importlib.metadata import distribution

    points = distribution("tautring").entry_points
    (point,) = [p for p in points if p.group == "console_scripts"]
    assert (point.name, point.value) == ("tautring", "frames.commandline:main")
