"""The answer: chances of targets, spread of quantities, which tolerance matters."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from frames.assumptions import Assumption
from frames.caution import CAUTION
from frames.lines import Line


@dataclass(frozen=True)
class Taken:
    """A tolerance as it was taken. name: its paths; size: "±5 %"; distribution, together, source as
    in the case file; numbers: how many it moves; cut: how often one of them lay beyond a limit of
    the case file and was set to the limit."""

    name: str
    size: str
    distribution: str
    together: bool
    source: str | None
    numbers: int
    cut: int


@dataclass(frozen=True)
class Share:
    """Part of the variance of a quantity that a tolerance brings: first_order, by slopes; sample,
    by a fit of straight lines to the sample, None with too few designs."""

    tolerance: str
    first_order: float
    sample: float | None


@dataclass(frozen=True)
class Distributed:
    """A quantity over all designs that were solved. planned: of the frame as planned; mean, sd and
    percentiles of the sample, None without designs; sd_first_order: by slopes; shares: largest
    first; explained: R² of straight lines in the sample."""

    quantity: str
    load: str | None
    label: str
    unit: str
    planned: float
    solved: int
    mean: float | None
    sd: float | None
    percentile_5: float | None
    percentile_50: float | None
    percentile_95: float | None
    sd_first_order: float
    shares: tuple[Share, ...]
    explained: float | None


@dataclass(frozen=True)
class Chance:
    """met of all designs; chance: their share; low, high: its 95 % confidence interval."""

    met: int
    chance: float
    low: float
    high: float


@dataclass(frozen=True)
class TargetChance:
    """A target and the chance of meeting it; first_order: by slopes and a normal distribution;
    apart: why that may lie outside the confidence interval, None when it lies inside."""

    quantity: str
    load: str | None
    label: str
    unit: str
    at_least: float | None
    at_most: float | None
    planned: float
    planned_meets: bool
    sample: Chance
    first_order: float
    apart: str | None


@dataclass(frozen=True)
class Failure:
    """Why designs could not be built or solved, and how many."""

    reason: str
    designs: int


@dataclass(frozen=True)
class Spread:
    """designs drawn from ``seed`` and what became of them. together: chance of meeting all targets
    at once, None without targets; left_out: numbers that the slopes leave out, since they may not
    be moved to both sides."""

    title: str
    designs: int
    seed: int
    tolerances: tuple[Taken, ...]
    targets: tuple[TargetChance, ...]
    together: Chance | None
    quantities: tuple[Distributed, ...]
    failures: tuple[Failure, ...]
    left_out: tuple[str, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def failed(self) -> int:
        """Designs that could not be built or solved."""
        return sum(f.designs for f in self.failures)

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file."""
        return {
            "format": "tautring spread",
            "version": 1,
            "title": self.title,
            "designs": self.designs,
            "seed": self.seed,
            "tolerances": [asdict(t) for t in self.tolerances],
            "targets": [_named(t) for t in self.targets],
            "all_targets": None if self.together is None else asdict(self.together),
            "quantities": [_named(q) for q in self.quantities],
            "failures": [asdict(f) for f in self.failures],
            "left_out": list(self.left_out),
            "assumptions": [asdict(a) for a in self.assumptions],
            "caution": CAUTION,
        }

    def lines(self) -> Iterator[Line]:
        """As text."""
        from frames.spreading.text import spread_lines

        return spread_lines(self)


def _named(answer: Distributed | TargetChance) -> dict[str, Any]:
    """With the name its column would have, by which a table of all numbers calls it."""
    under = "" if answer.load is None else f" under {answer.load}"
    content = asdict(answer)
    for share in content.get("shares", ()):
        share["name"] = share.pop("tolerance")
    return {"name": f"{answer.quantity}{under}", **content}
