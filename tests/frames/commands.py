"""Running the command in tests."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from typer.testing import CliRunner

from frames import case_from_dict, case_to_toml
from frames.commandline import app
from tests.frames import cases
from tests.frames.cases import Raw, axial

Ran = Any  # typer keeps the class of its results to itself
Run = Callable[..., Ran]


def invoke(*arguments: object, **environment: str) -> Ran:
    """The command with these words; what is no orderly end is raised."""
    result = CliRunner().invoke(app, [str(a) for a in arguments], env=environment)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert "Traceback" not in result.output
    return result


def put(raw: Raw, name: str = "case.toml") -> Path:
    path = Path(name)
    path.write_text(case_to_toml(case_from_dict(raw)), encoding="utf-8")
    return path


def one_line(text: str) -> str:
    """The text, which must be one line that ends."""
    assert text.endswith("\n")
    assert len(text.splitlines()) == 1, text
    return text.rstrip("\n")


def asking(least: float) -> Raw:
    """A small frame with a light load that is asked for this axial stiffness, N/mm."""
    raw = cases.small(loads=[axial("a", 20.0)])
    raw["target"] = [{"quantity": "axial_N_per_mm", "at_least": least}]
    return raw
