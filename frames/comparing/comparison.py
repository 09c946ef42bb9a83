"""Two or more frames side by side."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from fem import FemError
from frames.casefile import Case, CaseError, Problem
from frames.caution import CAUTION
from frames.checking import check
from frames.comparing.changes import Change, changes
from frames.lines import Line
from frames.quantities import QUANTITIES
from frames.result import Result


@dataclass(frozen=True)
class Row:
    """One number of all frames: label, load (None without), unit; values, None where a frame has
    none; change_percent against the first frame."""

    quantity: str
    label: str
    load: str | None
    unit: str
    values: tuple[float | None, ...]
    change_percent: tuple[float | None, ...]


@dataclass(frozen=True)
class FrameVerdict:
    """name of the frame; verdict of its own targets; targets missed of how many; reason why it
    could not be solved, None when it was; changes against the first frame."""

    name: str
    verdict: str
    missed: int
    targets: int
    unsolved: str | None
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Comparison:
    """frames in the order given, rows of numbers."""

    frames: tuple[FrameVerdict, ...]
    rows: tuple[Row, ...]

    @property
    def solved(self) -> bool:
        """At least one frame was solved."""
        return any(f.unsolved is None for f in self.frames)

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file."""
        return {"format": "tautring comparison", "version": 1, **asdict(self), "caution": CAUTION}

    def lines(self) -> Iterator[Line]:
        """As text."""
        from frames.comparing.text import comparison_lines

        return comparison_lines(self)


def compare(
    cases: Sequence[Case],
    names: Sequence[str] | None = None,
    say: Callable[[str], None] = lambda _words: None,
) -> Comparison:
    """Check every case; one that cannot be solved tells why. Raises ``CaseError`` for fewer than
    two."""
    if len(cases) < 2:
        raise CaseError([Problem("", "give at least two cases to compare")])
    called = _unique([c.case.title for c in cases] if names is None else names)
    results: list[Result | None] = []
    reasons: list[str | None] = []
    for case, name in zip(cases, called, strict=True):
        say(f"checking {name}")
        try:
            results.append(check(case))
            reasons.append(None)
        except FemError as error:
            results.append(None)
            reasons.append(str(error))
    frames = tuple(
        FrameVerdict(
            name,
            "not solved" if result is None else result.verdict,
            0 if result is None else sum(not t.meets for t in result.targets),
            len(case.target),
            reason,
            changes(cases[0], case),
        )
        for case, name, result, reason in zip(cases, called, results, reasons, strict=True)
    )
    return Comparison(frames, tuple(_rows(results)))


def _unique(names: Sequence[str]) -> list[str]:
    """Names, those that are there already with a number."""
    found: list[str] = []
    for name in names:
        number, own = 2, name
        while own in found:
            own, number = f"{name} ({number})", number + 1
        found.append(own)
    return found


_UNDER_LOAD = ("closing_mm", "shear_mm", "wire_tension_min_N", "wire_peak_stress_MPa")


def _rows(results: Sequence[Result | None]) -> Iterator[Row]:
    solved = [r for r in results if r is not None]
    if not solved:
        return
    for name in solved[0].stiffness:
        yield _row(name, None, [None if r is None else r.stiffness[name] for r in results])
    for load in dict.fromkeys(one.name for r in solved for one in r.loads):
        for name in _UNDER_LOAD:
            values = [_under(r, load, name) for r in results]
            if any(v is not None for v in values):
                yield _row(name, load, values)


def _under(result: Result | None, load: str, name: str) -> float | None:
    from frames.result import quantity

    if result is None:
        return None
    try:
        return quantity(result, name, load)
    except KeyError:
        return None


def _row(name: str, load: str | None, values: list[float | None]) -> Row:
    first = values[0]
    change = tuple(None if v is None or not first else 100.0 * (v / first - 1.0) for v in values)
    q = QUANTITIES[name]
    return Row(name, q.label, load, q.unit, tuple(values), change)
