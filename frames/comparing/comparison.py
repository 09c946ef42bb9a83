"""Two or more frames side by side."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from fem import FemError
from frames.assumptions import Assumption
from frames.casefile import Case, CaseError, Problem
from frames.caution import CAUTION
from frames.checking import check
from frames.comparing.differences import Difference, differences
from frames.comparing.rows import Row, TargetRow, number_rows, target_rows
from frames.lines import Line
from frames.result import Result


@dataclass(frozen=True)
class FrameVerdict:
    """One frame. letter: it goes by in tables; name: made different from the others'; verdict of
    its own targets; warnings: kinds of them; sticking: as in ``Result``; unsolved: why it could
    not be solved, None when it was."""

    letter: str
    name: str
    title: str
    verdict: str
    warnings: tuple[str, ...]
    sticking: bool
    unsolved: str | None


@dataclass(frozen=True)
class Comparison:
    """Frames in the order given, what differs between their cases, rows of numbers, targets."""

    frames: tuple[FrameVerdict, ...]
    differences: tuple[Difference, ...]
    rows: tuple[Row, ...]
    targets: tuple[TargetRow, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def solved(self) -> bool:
        """At least one frame was solved."""
        return any(f.unsolved is None for f in self.frames)

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file; values stand under the names of the frames that have one."""
        return {
            "format": "tautring comparison",
            "version": 1,
            "frames": [asdict(f) for f in self.frames],
            "differences": [
                {"kind": d.kind, "parts": list(d.parts), "key": d.key, "values": self._by(d.values)}
                for d in self.differences
            ],
            "rows": [
                {
                    "name": row.name,
                    "quantity": row.quantity,
                    "load": row.load,
                    "unit": row.unit,
                    "values": self._by(row.values),
                    "change_percent": self._by(row.change_percent),
                }
                for row in self.rows
            ],
            "targets": [
                {
                    "name": target.label,
                    "unit": target.unit,
                    "at_least": target.at_least,
                    "at_most": target.at_most,
                    "values": self._by([r and r.value for r in target.results]),
                    "meets": self._by([r and r.meets for r in target.results]),
                }
                for target in self.targets
            ],
            "assumptions": [asdict(a) for a in self.assumptions],
            "caution": CAUTION,
        }

    def _by(self, values: Sequence[Any]) -> dict[str, Any]:
        pairs = zip(self.frames, values, strict=True)
        return {frame.name: value for frame, value in pairs if value is not None}

    def lines(self) -> Iterator[Line]:
        """As text."""
        from frames.comparing.text import comparison_lines

        return comparison_lines(self)


def compare(
    cases: Sequence[Case],
    names: Sequence[str] | None = None,
    say: Callable[[str], None] = lambda _words: None,
) -> Comparison:
    """Check every case; one that cannot be solved keeps its place and tells why.

    names : what the frames are called, their titles unless given; names that come again get a
    number. Raises ``CaseError`` for fewer than two cases, ValueError when there is not one name for
    each.
    """
    if len(cases) < 2:
        raise CaseError([Problem("", "give at least two cases to compare")])
    if names is not None and len(names) != len(cases):
        raise ValueError(f"there are {len(cases)} cases and {len(names)} names for them")
    results: list[Result | None] = []
    frames: list[FrameVerdict] = []
    called = _unique([c.case.title for c in cases] if names is None else names)
    for number, (case, name) in enumerate(zip(cases, called, strict=True)):
        say(f"checking {name}")
        result, reason = _checked(case)
        results.append(result)
        frames.append(_verdict(_letter(number), name, case, result, reason))
    return Comparison(
        tuple(frames),
        differences(cases),
        tuple(number_rows(results)),
        tuple(target_rows(results)),
        _assumptions(results),
    )


def _checked(case: Case) -> tuple[Result | None, str | None]:
    # loads that come and go leave what is compared as it is, and take long
    try:
        return check(case.model_copy(update={"history": ()})), None
    except FemError as error:
        return None, str(error)


def _verdict(
    letter: str, name: str, case: Case, result: Result | None, reason: str | None
) -> FrameVerdict:
    kinds = () if result is None else tuple(dict.fromkeys(w.kind for w in result.warnings))
    verdict = "not solved" if result is None else result.verdict
    sticks = result is not None and result.sticking
    return FrameVerdict(letter, name, case.case.title, verdict, kinds, sticks, reason)


def _unique(names: Sequence[str]) -> list[str]:
    """Names, those that are there already with a number."""
    found: list[str] = []
    for name in names:
        number, own = 2, name
        while own in found:
            own, number = f"{name} ({number})", number + 1
        found.append(own)
    return found


def _letter(number: int) -> str:
    """A to Z, then AA, AB and so on."""
    before, own = divmod(number, 26)
    return (_letter(before - 1) if before else "") + chr(ord("A") + own)


def _assumptions(results: Sequence[Result | None]) -> tuple[Assumption, ...]:
    """Of all frames, each once."""
    taken = [a for r in results if r is not None for a in r.assumptions]
    return tuple(dict.fromkeys(Assumption(a.key, a.value, a.source) for a in taken))
