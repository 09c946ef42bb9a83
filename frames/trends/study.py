"""A study as data: designs with the levels they stand for, and the numbers asked of each.

Answers of all designs of a study come from one call of ``frames.bulk.evaluate``.  A number that is
no output by name (``frames.outputs``) is read off the result of a check.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from frames.bulk import evaluate
from frames.checking import check
from frames.outputs import Output
from frames.result import Result
from frames.trends.constructs import Build

Level = float | str
Asked = Output | Callable[[Result], float]


@dataclass(frozen=True)
class Design:
    """levels : factor and level; build : the frame."""

    levels: Mapping[str, Level]
    build: Build


@dataclass(frozen=True)
class Study:
    """designs, and numbers asked of each by a short name."""

    designs: tuple[Design, ...]
    asked: Mapping[str, Asked]


@dataclass(frozen=True)
class Answers:
    """One row for each design: its levels and its numbers by name."""

    rows: tuple[Mapping[str, Level], ...]

    def one(self, name: str, **levels: Level) -> float:
        """The number of the only design with these levels.  Raises KeyError without one."""
        found = self.all(name, **levels)
        if len(found) != 1:
            raise KeyError(f"{len(found)} designs have {levels}")
        return found[0]

    def all(self, name: str, **levels: Level) -> list[float]:
        """The numbers of all designs with these levels, in their order."""
        chosen = (r for r in self.rows if all(r[k] == v for k, v in levels.items()))
        return [float(row[name]) for row in chosen]


def grid(make: Callable[..., Build], **factors: Sequence[Level]) -> tuple[Design, ...]:
    """Every combination of levels; the last factor runs fastest."""
    rows: Iterator[dict[str, Level]] = (
        dict(zip(factors, levels, strict=True)) for levels in product(*factors.values())
    )
    return tuple(Design(row, make(**row)) for row in rows)


def answers(study: Study) -> Answers:
    """Solve every design.

    Raises ValueError with the reason when a design has no answer: a page with holes would mislead.
    """
    outputs = {name: a for name, a in study.asked.items() if isinstance(a, Output)}
    others = {name: a for name, a in study.asked.items() if not isinstance(a, Output)}
    rows: list[dict[str, Level]] = [dict(d.levels) for d in study.designs]
    cases = [d.build.case() for d in study.designs]
    if outputs:
        found = evaluate(cases, list(outputs.values()))
        for row, answer in zip(rows, found, strict=True):
            row.update(_complete(row, outputs, answer.values, answer.reason))
    if others:
        for row, case in zip(rows, cases, strict=True):
            result = check(case)
            row.update({name: read(result) for name, read in others.items()})
    return Answers(tuple(rows))


def _complete(
    row: Mapping[str, Level],
    names: Iterable[str],
    values: Sequence[float | None],
    reason: str | None,
) -> dict[str, float]:
    if reason is not None or None in values:
        raise ValueError(f"the design with {dict(row)} has no answer: {reason}")
    return {n: v for n, v in zip(names, values, strict=True) if v is not None}
