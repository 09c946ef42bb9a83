"""A published trend: what was found, the study that repeats it, what must then be seen.

Statements stand with the study and come from the words of the paper, not from answers; the verdict
follows from them.  One that is known not to be met carries the reason, and the tests hold it to
that: a trend that begins to be met is noticed like one that is met no more.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from frames.picture.graph import Graph
from frames.trends.study import Answers, Study

Found = Mapping[str, Answers]
"""Answers of a trend's studies by the name of the study."""

ABSTRACT, PART, TABLE = "seen as abstract", "part of the abstract seen", "one table seen"


@dataclass(frozen=True)
class Source:
    """A paper, and how much of it was seen (ABSTRACT, PART or TABLE)."""

    paper: str
    seen: str


@dataclass(frozen=True)
class Statement:
    """One sign or order. text : in words; holds : whether the answers show it; missed : why the
    published finding is not met by the model, empty for one that is. published : it was found by
    experiment, as against one that the mechanics of the model demand."""

    text: str
    holds: Callable[[Found], bool]
    missed: str = ""
    published: bool = True


@dataclass(frozen=True)
class Table:
    """Numbers for print; the first row is the heading."""

    heading: Sequence[str]
    rows: Sequence[Sequence[str | float]]


@dataclass(frozen=True)
class Trend:
    """key : name of its figure's file. published : what was found. frame : what was run, and which
    part of it is own choice. says : what the numbers come to, in words, numbers filled in."""

    key: str
    title: str
    published: str
    sources: tuple[Source, ...]
    frame: str
    studies: Mapping[str, Study]
    statements: tuple[Statement, ...]
    table: Callable[[Found], Table]
    graph: Callable[[Found], Graph]
    says: Callable[[Found], str]


def verdict(trend: Trend, found: Found) -> str:
    """ "holds", "holds in part" or "does not hold", by its published statements."""
    met = [s.holds(found) for s in trend.statements if s.published]
    if all(met):
        return "holds"
    return "holds in part" if any(met) else "does not hold"


def rises(values: Sequence[float]) -> bool:
    """Every value is larger than the one before it."""
    return all(b > a for a, b in pairwise(values))


def falls(values: Sequence[float]) -> bool:
    """Every value is smaller than the one before it."""
    return rises([-v for v in values])


def gains(values: Sequence[float]) -> list[float]:
    """Step by step."""
    return [b - a for a, b in pairwise(values)]


def percent_gains(values: Sequence[float]) -> list[float]:
    """Step by step, in percent of the value before."""
    return [100.0 * (b / a - 1.0) for a, b in pairwise(values)]
