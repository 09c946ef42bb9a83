"""A changed frame on trial: solved anew, fitted to the leg, its gain reckoned.

Shortfall of a target: how far its value lies outside its nearest bound, over the size of the bound.
Gain of a change: share of the shortfalls of all targets that it takes away, 1 - Σ after / Σ before;
a target that it newly misses counts against it.
"""

from dataclasses import dataclass

from fem import FemError
from frames.casefile import Case
from frames.fitting import fit
from frames.mending.answers import judged
from frames.result_parts import TargetResult


@dataclass(frozen=True)
class Change:
    """One change and what comes of it. change, before, after: words; kind: "continuous" or "step";
    values, meets: of every target, in their order; gain: 1 when nothing is missed any more;
    misfits: sentences about what does not fit any more."""

    change: str
    before: str
    after: str
    kind: str
    values: tuple[float, ...]
    meets: tuple[bool, ...]
    gain: float
    misfits: tuple[str, ...]

    @property
    def meets_all(self) -> bool:
        """No target is missed after it."""
        return all(self.meets)


@dataclass(frozen=True)
class Trial:
    """A change with the changed case."""

    told: Change
    case: Case


def shortfall(target: TargetResult) -> float:
    """How far outside its bound, over the bound's size (1 for a bound of 0)."""
    if target.meets:
        return 0.0
    bounds = [b for b in (target.at_least, target.at_most) if b is not None]
    bound = min(bounds, key=lambda b: abs(target.value - b))
    return -target.margin / (abs(bound) or 1.0)


class Bench:
    """Where trials are made: the case as it is, its targets and its misfits."""

    def __init__(self, case: Case, targets: tuple[TargetResult, ...]) -> None:
        self.case, self.targets = case, targets
        self.known = _misfits(case)
        self.before = sum(shortfall(t) for t in targets)

    def new_misfits(self, case: Case) -> dict[tuple[str, ...], str]:
        """Key and sentence of what does not fit in a changed case and did in the one as it is."""
        return {k: m for k, m in _misfits(case).items() if k not in self.known}

    def clean(self, case: Case) -> bool:
        """Whether a changed case brings no new misfit."""
        return not self.new_misfits(case)

    def trial(self, words: tuple[str, str, str], kind: str, case: Case) -> Trial | None:
        """change, before and after in words, and the changed case; None when it cannot be
        solved."""
        try:
            targets = judged(case)
        except FemError:
            return None
        after = sum(shortfall(t) for t in targets)
        told = Change(
            *words,
            kind,
            tuple(t.value for t in targets),
            tuple(t.meets for t in targets),
            1.0 - after / self.before if self.before > 0.0 else 0.0,
            tuple(self.new_misfits(case).values()),
        )
        return Trial(told, case)


def _misfits(case: Case) -> dict[tuple[str, ...], str]:
    """What is known not to fit."""
    return {p.key: p.message for p in fit(case).problems if not p.unknown}
