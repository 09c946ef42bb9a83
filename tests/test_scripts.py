"""The scripts that make the environment, without a network: no program is really started."""

import importlib.machinery
import importlib.util
import json
import subprocess
import sys
from pathlib import Path
from types import ModuleType, SimpleNamespace

import pytest

SCRIPTS = Path(__file__).resolve().parent.parent / "scripts"


def load(name: str, file: str) -> ModuleType:
    loader = importlib.machinery.SourceFileLoader(name, str(SCRIPTS / file))
    module = importlib.util.module_from_spec(importlib.util.spec_from_loader(name, loader))
    loader.exec_module(module)
    return module


@pytest.fixture
def environment(monkeypatch):
    module = load("_environment", "_environment.py")
    monkeypatch.setitem(sys.modules, "_environment", module)
    return module


class Machine:
    """Stands for the programs that are started: venv makes a Python, pip succeeds or fails."""

    def __init__(self, environment, root: Path) -> None:
        self.environment, self.root = environment, root
        self.asked: list[str] = []
        self.pip_status = self.venv_status = 0
        self.python_works = True

    def call(self, command, **_) -> int:
        words = [Path(command[0]).stem, *command[1:]]
        self.asked.append(" ".join(words))
        if "venv" in command:
            if self.venv_status == 0:
                self.add_python()
            return self.venv_status
        return self.pip_status if "pip" in command else 0

    def run(self, command, **_) -> SimpleNamespace:
        if not Path(command[0]).exists():
            raise FileNotFoundError(command[0])
        return SimpleNamespace(returncode=0 if self.python_works else 1)

    def add_python(self) -> None:
        python = self.environment.program("python", self.root)
        python.parent.mkdir(parents=True, exist_ok=True)
        python.write_text("")
        self.python_works = True

    def made(self) -> int:
        return sum("-m venv" in line for line in self.asked)

    def installed(self) -> list[str]:
        return [line.split()[-1] for line in self.asked if "-m pip install" in line]


@pytest.fixture
def machine(environment, monkeypatch, tmp_path):
    (tmp_path / "pyproject.toml").write_text("[project]\n")
    stand_in = Machine(environment, tmp_path)
    monkeypatch.setattr(subprocess, "call", stand_in.call)
    monkeypatch.setattr(subprocess, "run", stand_in.run)
    return stand_in


def test_made_once_and_then_left_alone(environment, machine):
    python = environment.prepare(root=machine.root)
    assert python == environment.program("python", machine.root)
    assert (machine.made(), machine.installed()) == (1, ["."])
    environment.prepare(root=machine.root)
    assert (machine.made(), machine.installed()) == (1, ["."])


def test_extras_are_added_and_kept(environment, machine):
    environment.prepare(root=machine.root)
    environment.prepare(("tests",), root=machine.root)
    assert machine.installed() == [".", ".[tests]"]
    environment.prepare(root=machine.root)
    environment.prepare(("tests",), root=machine.root)
    assert machine.installed() == [".", ".[tests]"], "more than is asked for is enough"
    (machine.root / "pyproject.toml").write_text("[project]\nname = 'new'\n")
    environment.prepare(root=machine.root)
    assert machine.installed()[-1] == ".[tests]", "what was there is brought up to date"
    assert machine.made() == 1


def test_moved_folder_is_installed_again(environment, machine):
    environment.prepare(root=machine.root)
    stamp = machine.root / ".venv" / environment.STAMP
    told = json.loads(stamp.read_text())
    stamp.write_text(json.dumps(told | {"root": str(machine.root / "elsewhere")}))
    environment.prepare(root=machine.root)
    assert (machine.made(), machine.installed()) == (1, [".", "."])


def test_half_made_is_made_anew(environment, machine, monkeypatch):
    def stopped(*_):
        raise KeyboardInterrupt

    with monkeypatch.context() as at_install:
        at_install.setattr(environment, "install", stopped)
        with pytest.raises(KeyboardInterrupt):
            environment.prepare(root=machine.root)
    left_over = machine.root / ".venv" / "half a package"
    left_over.write_text("")
    environment.prepare(root=machine.root)
    assert machine.made() == 2 and not left_over.exists()


@pytest.mark.parametrize("fault", ["python gone", "python does not start", "a file", "no python"])
def test_broken_is_made_anew(environment, machine, fault):
    place = machine.root / ".venv"
    if fault == "a file":
        place.write_text("")
    elif fault == "no python":
        place.mkdir()
    else:
        environment.prepare(root=machine.root)
        machine.asked.clear()
        if fault == "python gone":
            environment.program("python", machine.root).unlink()
        machine.python_works = False
    environment.prepare(("tests",), root=machine.root)
    assert (machine.made(), machine.installed()) == (1, [".[tests]"])


def test_environment_of_ones_own_is_kept(environment, machine):
    """One that works and that the scripts did not make is used, not thrown away."""
    machine.add_python()
    environment.prepare(root=machine.root)
    assert (machine.made(), machine.installed()) == (0, ["."])


def test_pip_failure_is_told_and_tried_again(environment, machine, capsys):
    machine.pip_status = 1
    with pytest.raises(environment.SetupError, match=r"status 1.*connection"):
        environment.prepare(root=machine.root)
    machine.pip_status = 0
    environment.prepare(root=machine.root)
    assert machine.installed() == [".", "."]


def test_failed_update_is_tried_again_without_making_anew(environment, machine):
    environment.prepare(root=machine.root)
    (machine.root / "pyproject.toml").write_text("[project]\nname = 'new'\n")
    machine.pip_status = 1
    for _ in range(2):
        with pytest.raises(environment.SetupError):
            environment.prepare(root=machine.root)
    assert (machine.made(), machine.installed()) == (1, [".", ".", "."])


def test_venv_failure_names_the_package(environment, machine):
    machine.venv_status = 1
    with pytest.raises(environment.SetupError, match="python3-venv"):
        environment.prepare(root=machine.root)


def test_old_python_is_refused(environment, capsys):
    with pytest.raises(environment.SetupError, match=r"Python 3\.11 or newer.*this is 3\.9"):
        environment.check_python((3, 9, 18))
    environment.check_python((3, 11, 0))
    environment.check_python((4, 0, 0))

    def main():
        environment.check_python((3, 9, 18))

    assert environment.started(main) == environment.NOT_PREPARED
    assert "Python 3.11 or newer" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("system", "ending"), [("nt", "Scripts/tautring.exe"), ("posix", "bin/tautring")]
)
def test_programs_of_each_system(environment, monkeypatch, system, ending):
    root = Path("project")
    monkeypatch.setattr(environment, "os", SimpleNamespace(name=system))
    assert environment.program("tautring", root).as_posix() == f"project/.venv/{ending}"


# scripts/demo


@pytest.fixture
def demo(environment, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(environment, "prepare", lambda *_: None)
    return load("demo", "demo")


def run_demo(demo, monkeypatch, status: int, files: list[str]) -> list[str]:
    asked = []

    def run(command, cwd):
        asked.extend(command)
        for name in files:
            (cwd / name).write_text("")
        return status

    monkeypatch.setattr(demo._environment, "run", run)
    asked.append(demo.main())
    return asked


ALL = ["demo_result.json", "demo_result.csv", "demo_frame.png"]


def test_demo_calls_the_command_and_says_what_was_written(demo, monkeypatch, capsys, tmp_path):
    *command, status = run_demo(demo, monkeypatch, 1, ALL)
    assert status == 0, "the demo misses a target on purpose"
    assert Path(command[0]).stem == "tautring" and command[1] == "check"
    assert Path(command[2]).parts[-3:] == ("frames", "demo", "four_rings.toml")
    assert command[3:] == ["--json", ALL[0], "--csv", ALL[1], "--picture", ALL[2]]
    told = capsys.readouterr().out
    assert str(tmp_path) in told and "on purpose" in told
    assert all(name in told for name in ALL)


@pytest.mark.parametrize("status", [2, 3])
def test_demo_passes_a_failure_on(demo, monkeypatch, capsys, status):
    assert run_demo(demo, monkeypatch, status, [])[-1] == status
    assert f"status {status}" in capsys.readouterr().out


def test_demo_notices_what_was_not_written(demo, monkeypatch, capsys):
    assert run_demo(demo, monkeypatch, 0, ALL[:2])[-1] == demo.NOT_WRITTEN
    assert "Not written, though they were asked for: demo_frame.png" in capsys.readouterr().out


# scripts/test


@pytest.fixture
def script_test(environment, monkeypatch):
    monkeypatch.setattr(environment, "prepare", lambda extras: Path("python"))
    system = load("_system", "_system.py")
    monkeypatch.setattr(system, "provide", lambda: None)
    monkeypatch.setitem(sys.modules, "_system", system)
    return load("script_test", "test")


def test_steps_run_in_order_and_stop_at_the_first_failure(script_test, monkeypatch, capsys):
    asked = []

    def run(command, cwd, extra):
        asked.append(command[2:])
        assert extra["OPENBLAS_NUM_THREADS"] == extra["OMP_NUM_THREADS"] == "1"
        return 7 if command[2] == failing else 0

    monkeypatch.setattr(script_test._environment, "run", run)
    monkeypatch.setattr(sys, "argv", ["scripts/test", "tests/fem", "-k", "wire"])
    failing = ""
    assert script_test.main() == 0
    assert [step[0] for step in asked] == ["ruff", "ruff", "mypy", "pytest"]
    assert asked[-1] == ["pytest", "tests/fem", "-k", "wire"]
    assert capsys.readouterr().out.count("\n== ") == 4
    asked.clear()
    failing = "mypy"
    assert script_test.main() == 7
    assert asked[-1] == ["mypy"]
    monkeypatch.setattr(sys, "argv", ["scripts/test"])
    failing = ""
    asked.clear()
    script_test.main()
    assert asked[-1] == ["pytest", "-n", "auto"]


# scripts/_system.py


@pytest.fixture
def system(environment, monkeypatch):
    module = load("_system", "_system.py")
    monkeypatch.setattr(module.sys, "platform", "linux")
    monkeypatch.setattr(module.shutil, "which", lambda name: "/usr/bin/" + name)
    monkeypatch.setattr(module, "installed", lambda package: package.startswith("libegl"))
    monkeypatch.setattr(module.os, "geteuid", lambda: 0, raising=False)
    return module


@pytest.fixture
def commands(environment, monkeypatch):
    asked = []

    def run(command, *_):
        asked.append(command)
        return 0

    monkeypatch.setattr(environment, "run", run)
    return asked


def test_root_installs_what_is_missing(system, commands):
    system.provide()
    assert commands[0][:2] == ["apt-get", "update"]
    assert commands[1][-3:] == ["libgl1-mesa-dri", "libblas3", "libquadmath0"]
    assert len(commands) == 2


def test_others_are_told_what_to_install(system, commands, monkeypatch, capsys):
    monkeypatch.setattr(system.os, "geteuid", lambda: 1000, raising=False)
    system.provide()
    told = capsys.readouterr().out
    assert not commands
    assert "libgl1-mesa-dri (for pictures)" in told and "libblas3 (for openseespy)" in told
    assert "sudo apt-get install" in told


def test_other_linux_is_told_the_libraries(system, commands, monkeypatch, capsys):
    monkeypatch.setattr(system.shutil, "which", lambda name: None)
    monkeypatch.setattr(system, "loads", lambda library: "EGL" in library)
    system.provide()
    told = capsys.readouterr().out
    assert not commands
    assert "libblas.so.3 (for openseespy)" in told and "libEGL" not in told


@pytest.mark.parametrize("platform", ["darwin", "win32"])
def test_nothing_to_do_elsewhere(system, commands, monkeypatch, capsys, platform):
    monkeypatch.setattr(system.sys, "platform", platform)
    system.provide()
    assert not commands and not capsys.readouterr().out


@pytest.mark.parametrize("name", ["demo", "test", "benchmark", "picture", "trends"])
def test_scripts_can_be_started(name):
    file = SCRIPTS / name
    assert file.read_text(encoding="utf-8").startswith("#!/usr/bin/env python3\n")
    if sys.platform != "win32":
        assert file.stat().st_mode & 0o111
