"""The Python environment of the project, made when needed: ``.venv`` at the root.

Standard library only, and in words that an old Python still understands, so that it can say that
it is too old. A stamp in ``.venv`` tells what was installed: for which pyproject.toml, with which
extras, for which folder. While an environment is being made the stamp says so; one that was left
so is half made and is made anew.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
OLDEST = (3, 11)
NOT_PREPARED = 4  # exit status; 0 to 3 are those of the tautring command
STAMP = "tautring-installed.json"


class SetupError(Exception):
    """The environment cannot be made; the message says why and what to do."""


def check_python(version: tuple[int, ...] = tuple(sys.version_info)) -> None:
    if tuple(version[:2]) < OLDEST:
        raise SetupError(
            "Python {}.{} or newer is needed, this is {}.{} ({}).\n"
            "Install a newer one from your system or python.org and start the script with it, "
            "for example: python3.12 {}".format(
                *OLDEST, version[0], version[1], sys.executable, " ".join(sys.argv[:1])
            )
        )


def folder(root: Path = ROOT) -> Path:
    return root / ".venv"


def program(name: str, root: Path = ROOT) -> Path:
    """Path of a program of the environment: "python", "tautring"."""
    if os.name == "nt":
        return folder(root) / "Scripts" / (name + ".exe")
    return folder(root) / "bin" / name


def prepare(extras: tuple[str, ...] = (), root: Path = ROOT) -> Path:
    """Path of a Python in which the project is installed, made or brought up to date if needed.

    Raises SetupError, for instance without a network when something has to be installed.
    """
    check_python()
    stamp = read_stamp(root)
    if not works(root) or (stamp or {}).get("state") == "being made":
        make(root)
        stamp = None
    wanted = {
        "state": "installed",
        "root": str(root),
        "pyproject": hashlib.sha256((root / "pyproject.toml").read_bytes()).hexdigest(),
    }
    there = set((stamp or {}).get("extras", []))
    same = stamp is not None and all(stamp.get(key) == value for key, value in wanted.items())
    if not (same and there.issuperset(extras)):
        wanted["extras"] = sorted(there.union(extras))
        install(wanted["extras"], root)
        (folder(root) / STAMP).write_text(json.dumps(wanted, indent=1), encoding="utf-8")
    return program("python", root)


def read_stamp(root: Path) -> dict | None:
    """What the stamp says; None if there is none that can be read."""
    try:
        stamp = json.loads((folder(root) / STAMP).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return stamp if isinstance(stamp, dict) else None


def works(root: Path) -> bool:
    """Whether the environment has a Python that starts, is new enough and has pip."""
    test = "import sys, pip; sys.exit(sys.version_info < {!r})".format(OLDEST)  # noqa: UP032
    try:
        child = subprocess.run(
            [str(program("python", root)), "-c", test],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            check=False,
        )
    except OSError:
        return False
    return child.returncode == 0


def make(root: Path) -> None:
    """A new, empty environment in place of what is there."""
    place = folder(root)
    try:
        if place.is_symlink() or place.is_file():
            place.unlink()
        elif place.exists():
            say("The environment in .venv is broken or half made: making it anew.")
            shutil.rmtree(str(place))
        place.mkdir()
        (place / STAMP).write_text(json.dumps({"state": "being made"}), encoding="utf-8")
    except OSError as error:
        raise SetupError(
            f"The environment {place} cannot be made ({error}). Remove that folder by hand, or "
            "see whether you may write there."
        ) from error
    if run([sys.executable, "-m", "venv", str(place)], root) != 0:
        raise SetupError(
            f"The environment {place} could not be made, see above. On Debian-like systems the "
            "package python3-venv is needed for it."
        )


def install(extras: list[str], root: Path) -> None:
    what = ".[{}]".format(",".join(extras)) if extras else "."
    say("Installing the project and what it needs into .venv (about 1 GB, some minutes) ...")
    command = [str(program("python", root)), "-m", "pip", "install", "--quiet"]
    status = run([*command, "--disable-pip-version-check", "--editable", what], root)
    if status != 0:
        raise SetupError(
            f"pip could not install the project (status {status}), see above. It needs a "
            "connection to the package index the first time, and again when pyproject.toml has "
            "changed. Without one nothing can be run; start this script again when there is."
        )


def run(command: list[str], cwd: Path, extra_environment: dict[str, str] | None = None) -> int:
    """Exit status of ``command``; what it writes is shown as it comes."""
    sys.stdout.flush()
    environment = dict(os.environ, **(extra_environment or {}))
    try:
        return subprocess.call(command, cwd=str(cwd), env=environment)
    except OSError as error:
        say(f"{command[0]} could not be started: {error}")
        return NOT_PREPARED


def say(line: str) -> None:
    print(line, flush=True)


def started(main) -> int:
    """Exit status of ``main()``, with what stops it told in words."""
    try:
        return main()
    except SetupError as error:
        print(error, file=sys.stderr, flush=True)
        return NOT_PREPARED
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr, flush=True)
        return 130
