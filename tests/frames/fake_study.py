"""A study of known numbers that need no solving, and of designs that go wrong in every way.

The thickness of the rings is 4 mm + design / 1000, and the mass of the frame is asked for.
"""

import os
import signal
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from frames import Case, case_from_dict, replace
from frames.outputs import Output
from frames.studyfile import Unbuildable
from tests.frames import cases


@dataclass(frozen=True)
class FakeParameter:
    name: str
    label: str
    unit: str
    levels: tuple[Any, ...] | None = None


@dataclass(frozen=True)
class FakeStudy:
    """unbuildable, raising, killing, slow: designs, by their number. raising stops build with what
    nobody expects, or evaluation where the design is in ``breaking``; killing ends the process, but
    only the first that comes by where ``once`` is a folder for its mark; slow takes 0.1 s."""

    total: int = 40
    title: str = "invented study"
    unbuildable: tuple[int, ...] = ()
    raising: tuple[int, ...] = ()
    breaking: tuple[int, ...] = ()
    killing: tuple[int, ...] = ()
    slow: bool = False
    once: Path | None = None
    method: str = "list"
    seed: int = 3
    outputs: tuple[Output, ...] = (Output("mass_g"), Output("wires"))
    parameters: tuple[FakeParameter, ...] = (
        FakeParameter("thickness", "thickness of the rings", "mm"),
        FakeParameter("number", "which design", ""),
        FakeParameter("word", "a word", "", ("even", "odd")),
    )
    raw: dict[str, Any] = field(default_factory=cases.small)

    case_name = "case.toml"

    @cached_property
    def case(self) -> Case:
        return case_from_dict(self.raw)

    def values(self, start: int, stop: int) -> list[tuple[float, int, str]]:
        return [(4.0 + n / 1000.0, n, ("even", "odd")[n % 2]) for n in range(start, stop)]

    def build(self, values: Sequence[Any]) -> Case:
        thickness, number, _ = values
        if number in self.unbuildable:
            raise Unbuildable(f"ring R1 at {number} mm\n would sit in another")
        if number in self.raising:
            raise ZeroDivisionError("float division by zero")
        if number in self.killing and self._first():
            os.kill(os.getpid(), signal.SIGKILL)
        if self.slow:
            time.sleep(0.1)
        built = replace(self.case, {"ring.*.thickness_mm": thickness})
        # a case that no reader lets through: evaluation trips over it
        return built.model_copy(update={"wire": None}) if number in self.breaking else built

    def _first(self) -> bool:
        if self.once is None:
            return True
        try:
            (self.once / "mark").touch(exist_ok=False)
        except FileExistsError:
            return False
        return True

    def to_toml(self) -> str:
        """Without what goes wrong outside of the study's own affairs."""
        return f'title = "{self.title}"\ntotal = {self.total}\nseed = {self.seed}\n'
