"""A study: a case, what varies in it, and what is asked of every design."""

import math
from dataclasses import dataclass
from typing import Any

from frames.casefile import Case
from frames.outputs import Output
from frames.studyfile.building import built
from frames.studyfile.parameters import Parameter
from frames.studyfile.sampling import Rows, uniforms
from frames.studyfile.tables import StudyTables
from frames.studyfile.writing import study_to_toml

Value = float | int | str | bool


@dataclass(frozen=True)
class Study:
    """case : the base. case_name : its file. total : number of designs. count : number of rows
    that are drawn (of each base sample with method "saltelli"). tables : the study file. mix : see
    ``frames.studyfile.correlating``."""

    title: str
    case: Case
    case_name: str
    parameters: tuple[Parameter, ...]
    outputs: tuple[Output, ...]
    method: str
    seed: int
    total: int
    count: int
    tables: StudyTables
    mix: Rows | None = None

    def values(self, start: int, stop: int) -> list[tuple[Value, ...]]:
        """Values of the parameters in the designs start to stop - 1, as far as there are; the same
        however the rows are cut. In a grid the last parameter changes fastest."""
        if start < 0:
            raise ValueError(f"designs are counted from 0, not from {start}")
        rows = range(start, min(stop, self.total))
        if not rows:
            return []
        if self.method == "grid":
            columns = self._grid(rows)
        elif self.method == "list":
            columns = [[level[row] for row in rows] for level in self._levels]
        else:
            u = uniforms(
                self.method, self.seed, self.count, len(self.parameters),
                rows.start, rows.stop, self.mix,
            )  # fmt: skip
            columns = [p.draw.at(u[:, i]) for i, p in enumerate(self.parameters)]
        return list(zip(*columns, strict=True))

    @property
    def _levels(self) -> list[tuple[Any, ...]]:
        return [p.levels or () for p in self.parameters]

    def _grid(self, rows: range) -> list[list[Any]]:
        columns = []
        sizes = [len(levels) for levels in self._levels]
        for i, levels in enumerate(self._levels):
            stride = math.prod(sizes[i + 1 :])
            columns.append([levels[row // stride % len(levels)] for row in rows])
        return columns

    def build(self, values: tuple[Value, ...]) -> Case:
        """The case of a design. Raises ``Unbuildable`` with the reason."""
        collide = self.tables.study.collisions == "ignore"
        return built(self.case, self.parameters, values, collide)

    def to_toml(self) -> str:
        """The study file, as ``study_from_text`` reads it with the case."""
        return study_to_toml(self.tables)
