"""Every command block of README.md and DEVELOPERS.md is run, and what they print is what is written
there.
"""

import os
import re
import shlex
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")

# the suite cannot run itself or the benchmark inside itself: these lines are checked in their own
# tests
NOT_FROM_HERE = {
    "python3 scripts/test",
    "python3 scripts/test tests/fem -x",
    "python3 scripts/benchmark",
    "python3 scripts/picture",
    "python3 scripts/trends",
}


def blocks(text: str, language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", text, flags=re.DOTALL)


def tautring() -> str:
    name = "tautring.exe" if os.name == "nt" else "tautring"
    return str(Path(sys.executable).with_name(name))


def run(command: list[str], folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command,
        cwd=folder,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=600,
        check=False,
    )


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the README's commands run."""
    return tmp_path_factory.mktemp("readme")


@pytest.fixture(scope="module")
def printed(folder: Path) -> str:
    """Output of the README's commands in a folder of their own."""
    said = ""
    for block in blocks(README, "bash"):
        for line in block.splitlines():
            if line in NOT_FROM_HERE:
                continue
            words = shlex.split(line)
            if words[0] == "tautring":
                done = run([tautring(), *words[1:]], folder)
                assert done.returncode == (1 if words[1] == "check" else 0), done.stderr
            else:
                assert words == ["python3", "scripts/demo"], f"no test runs the line {line!r}"
                done = run([sys.executable, str(ROOT / "scripts" / "demo")], folder)
                assert done.returncode == 0, done.stdout + done.stderr
            said += done.stdout
    for name in (
        "demo_result.json",
        "demo_frame.png",
        "my_frame.toml",
        "my_result.json",
        "my_frame.png",
        "my_best.toml",
        "my_charts/map_axial_N_per_mm.png",
    ):
        assert (folder / name).stat().st_size > 1000
    return said


def test_commands_run_and_print_what_the_readme_shows(printed: str) -> None:
    shown = blocks(README, "text")[0]
    for line in filter(None, map(str.strip, shown.splitlines())):
        assert line in printed


def test_study_in_python_prints_what_the_readme_shows(printed: str, folder: Path) -> None:
    """On the folder that the commands have left."""
    done = run([sys.executable, "-c", blocks(README, "python")[0]], folder)
    assert done.returncode == 0, done.stderr
    assert done.stdout == blocks(README, "text")[1]


def test_cases_in_python_print_what_the_readme_shows() -> None:
    done = run([sys.executable, "-c", blocks(README, "python")[1]], ROOT)
    assert done.returncode == 0, done.stderr
    assert done.stdout == blocks(README, "text")[2]


def test_developers_commands_exist() -> None:
    for block in blocks(DEVELOPERS, "bash"):
        for line in block.splitlines():
            words = shlex.split(line)
            assert words[0] == "python3" and (ROOT / words[1]).is_file()
            assert line in NOT_FROM_HERE
            for word in words[2:]:
                assert word.startswith("-") or (ROOT / word).exists()


def test_ci_runs_the_test_command_of_the_readme() -> None:
    ci = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert "exec python3 scripts/test\n" in ci
    assert "python3 scripts/test\n" in README


def test_readme_opens_with_the_job_a_picture_and_two_commands() -> None:
    parts = README.split("\n\n")
    assert parts[0].startswith("# tautring")
    assert len(parts[1]) > 300
    picture = re.search(r"\(([^)]*\.png)\)", parts[2])
    assert picture and (ROOT / picture.group(1)).stat().st_size > 10_000
    assert blocks(README, "bash")[0].splitlines() == [
        "python3 scripts/demo",
        "python3 scripts/test",
    ]


def test_files_named_in_the_documents_exist() -> None:
    for path in re.findall(r"`((?:tests|scripts|frames|fem)/[\w./]+)`", README + DEVELOPERS):
        assert (ROOT / path).exists(), path


def test_caution_stands_in_readme_as_on_every_output() -> None:
    from frames.caution import CAUTION

    assert " ".join(CAUTION.split()) in " ".join(README.split())


def test_licence_is_one_expression() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["license"] == "MIT"
    assert "Licence: MIT" in README
