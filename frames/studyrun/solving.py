"""The designs of a chunk, each to its row.  No design stops a study: it has its reason instead."""

from collections.abc import Generator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from frames.bulk import Row, evaluate
from frames.casefile import Case, CaseError
from frames.studyfile import Unbuildable
from frames.studyfile.study import Value
from frames.studyrun.spans import Span

if TYPE_CHECKING:
    from frames.studyfile import Study

LONGEST_REASON = 500


@dataclass(frozen=True)
class Solved:
    """One row: values of the parameters, numbers of the outputs (None where there are none), and
    the reason of a design without them."""

    values: tuple[Value, ...]
    outputs: tuple[float | None, ...]
    reason: str | None = None


Rows = list[Solved]
Results = Generator[tuple[Span, Rows], None, None]
"""Chunks with their rows, as they are finished."""


def solve(study: "Study", start: int, stop: int) -> Rows:
    """Rows of designs start … stop − 1, those that can be built solved side by side."""
    values = study.values(start, stop)
    none = (None,) * len(study.outputs)
    built: list[Case | str] = [_build(study, v) for v in values]
    rows = iter(_evaluate(study, [case for case in built if not isinstance(case, str)]))
    solved = []
    for v, case in zip(values, built, strict=True):
        row = Row(none, case) if isinstance(case, str) else next(rows)
        reason = None if row.reason is None else one_line(row.reason)
        solved.append(Solved(tuple(v), tuple(row.values), reason))
    return solved


def without_numbers(study: "Study", start: int, stop: int, reason: str) -> Rows:
    """Rows of designs that all have the same reason."""
    none = (None,) * len(study.outputs)
    return [Solved(tuple(v), none, reason) for v in study.values(start, stop)]


def one_line(text: str) -> str:
    flat = " ".join(text.split())
    return flat if len(flat) <= LONGEST_REASON else flat[: LONGEST_REASON - 1] + "…"


def _build(study: "Study", values: tuple[Value, ...]) -> Case | str:
    """The case of a design, or why there is none."""
    try:
        return study.build(values)
    except (Unbuildable, CaseError) as error:
        return str(error)
    except Exception as error:  # noqa: BLE001  whatever it is, the other designs go on
        return _unexpected(error)


def _evaluate(study: "Study", cases: list[Case]) -> list[Row]:
    if not cases:
        return []
    try:
        return evaluate(cases, study.outputs)
    except Exception:  # noqa: BLE001  found out one by one which design it is
        return [_evaluate_one(study, case) for case in cases]


def _evaluate_one(study: "Study", case: Case) -> Row:
    try:
        return evaluate([case], study.outputs)[0]
    except Exception as error:  # noqa: BLE001  whatever it is, the other designs go on
        return Row((None,) * len(study.outputs), _unexpected(error))


def _unexpected(error: Exception) -> str:
    return f"unexpected error: {type(error).__name__}: {error}"
