"""The frame with the fewest wires that meets all targets and, of those, the one with the highest
smallest margin.

1. Directions that ``fit`` allows, for each face of each ring (``allowed``).
2. From the least number of wires upwards, the grid of bearings, diameters and tensions
   (``coarse``); a frame that misses by little may still do off the grid.
3. The best few are refined (``refining``), rounded to what can be built (``rounding``) and
   confirmed by a fresh check and fit (``frame``). The first number of wires with a frame that meets
   all targets ends the search.
"""

from collections.abc import Callable, Sequence
from functools import partial

import numpy as np

from fem.algebra import Array
from frames.assumptions import Assumption, assumed
from frames.casefile import Case
from frames.construct import FRAGMENTS
from frames.mending.groups import MOST_OF_YIELD
from frames.searching.allowed import allowed
from frames.searching.choices import Choices
from frames.searching.coarse import Coarse, Solved, Stage
from frames.searching.estimating import Estimates
from frames.searching.found import Found
from frames.searching.frame import Candidate, candidate
from frames.searching.layout import Layer
from frames.searching.limits import (
    numbers_of_wires,
    reach_of,
    refuse_tolerances_of_one_wire,
    refuse_without_targets,
    settings_of,
)
from frames.searching.margins import bounds_of
from frames.searching.mirror import Mirror
from frames.searching.refining import Point, Refiner
from frames.searching.rounding import rounded
from frames.searching.starts import same, starts_of
from frames.searching.worst_case import taken_by_tolerances

Say = Callable[[str], None]

NEAR = 0.15
"""A frame of the grid that misses a target by less than this share of the bound may meet it when
bearings and tension are let go of the grid."""
ROUNDS = 2
"""So often a frame is refined where there are tolerances: what they take is reckoned anew for
each."""


def _quiet(_words: str) -> None:
    pass


def search(
    case: Case,
    runners_up: int = 2,
    seed: int = 0,
    say: Say = _quiet,
) -> Found:
    """Search among frames that have wires of their own in place of the case's; rings, rods and
    pins stay. seed: of what is left to chance where the grid is too large to look at whole.

    Stopped by ``KeyboardInterrupt`` it answers with what it has. Raises ``CaseError`` for a case
    without targets, with a tolerance of a single wire, or whose [search] leaves nothing to choose
    from.
    """
    refuse_without_targets(case)
    refuse_tolerances_of_one_wire(case)
    run = _Run(case, runners_up, seed, say)
    stopped = False
    try:
        run.through()
    except KeyboardInterrupt:
        stopped = True
    return run.answer(stopped)


class _Run:
    """One search, and what it has found so far."""

    def __init__(self, case: Case, runners_up: int, seed: int, say: Say) -> None:
        self.case, self.seed, self.say, self.count = case, seed, say, runners_up + 1
        self.layer, self.bounds = Layer(case), bounds_of(case.target)
        self.reach = reach_of(self.layer)
        self.settings = settings_of(self.reach)
        self.where = allowed(self.layer, say)
        self.choices = Choices(case, self.where)
        self.numbers = numbers_of_wires(self.choices)
        self.stages: list[Stage] = []
        self.seen: Solved | None = None
        self.confirmed: list[tuple[Point, Candidate]] = []

    def through(self) -> None:
        """Look at one number of wires after the other until one does."""
        self.say("reference frame")
        distal, proximal = (self.choices.richest(f) for f in FRAGMENTS)
        mirror = Mirror(self.case, self.where)
        estimates = Estimates(self.layer, self.bounds, self.settings, (distal, proximal), mirror)
        if len(estimates.whole) <= max(self.numbers):
            for setting, margin in zip(self.settings, estimates.of_whole, strict=True):
                self._note(Solved(estimates.whole, setting, float(margin)))
        coarse = Coarse(
            self.layer, self.choices, self.bounds, self.settings, mirror, estimates, self.seed
        )
        for wires in self.numbers:
            stage = coarse.stage(wires, self.say, self._note)
            self.stages.append(stage)
            if stage.margin >= -NEAR:
                self._refine(starts_of(stage, self.count, 2.0 * self.choices.step))
                if any(c.meets for _, c in self.confirmed):
                    return
        if not self.confirmed:
            best = max(self.stages, key=lambda s: s.margin)
            self._refine(starts_of(best, self.count, 2.0 * self.choices.step))

    def _note(self, one: Solved) -> None:
        """Keep the best frame solved: of those that meet the targets the one with fewest wires."""
        if np.isfinite(one.margin) and (self.seen is None or _rank(one) < _rank(self.seen)):
            self.seen = one

    def _refine(self, starts: Sequence[Solved]) -> None:
        each = self.case.search.tensions == "each"
        refiner = Refiner(self.layer, self.choices, self.bounds, self.reach, each)
        for number, start in enumerate(starts, start=1):
            of = f" (frame {number} of {len(starts)})"
            best = self._whole(refiner, _point(start), partial(self._tell, of))
            if best is not None and not any(same(best.layout, p.layout) for p, _ in self.confirmed):
                self.confirmed.append((best, candidate(self.layer, best, self.bounds)))

    def _tell(self, of: str, words: str) -> None:
        self.say(words + of)

    def _whole(self, refiner: Refiner, point: Point, tell: Say) -> Point | None:
        """The best frame near a point in whole degrees and kgf."""
        taken = self._taken(point)
        for _ in range(ROUNDS if self.case.tolerance else 1):
            point = refiner.refined(point, taken, tell)
            taken = self._taken(point)
        return rounded(refiner, point, taken, self.where.always, tell)

    def _taken(self, point: Point) -> Array:
        case = self.layer.lay(point.layout, point.diameter_mm, point.tensions_kgf)
        return taken_by_tolerances(case, self.bounds)

    def answer(self, stopped: bool) -> Found:
        """From what was found until now."""
        told = [c for _, c in self.confirmed]
        if not told and self.seen is not None:
            told = [candidate(self.layer, _point(self.seen), self.bounds)]
        meeting = [c for c in told if c.meets]
        told = sorted(meeting or told, key=lambda c: (-c.worst_case_percent, len(c.wires)))
        return Found(
            title=self.case.case.title,
            seed=self.seed,
            step_deg=self.choices.step,
            crossing_deg=self.choices.crossing,
            settings=self.settings,
            stages=tuple(self.stages),
            best=told[0] if told else None,
            runners_up=tuple(told[1 : self.count]),
            always=self.where.always,
            left_out=self.layer.unlike,
            tolerances=bool(self.case.tolerance),
            stopped=stopped,
            assumptions=assumptions_of(self.case),
        )


def _rank(one: Solved) -> tuple[float, ...]:
    meets = one.margin >= 0.0
    return (0.0 if meets else 1.0, len(one.layout) if meets else 0.0, -one.margin)


def _point(one: Solved) -> Point:
    tensions = (one.setting.tension_kgf,) * len(one.layout)
    return Point(one.layout, one.setting.diameter_mm, tensions, one.margin)


def assumptions_of(case: Case) -> tuple[Assumption, ...]:
    """What a search takes without being told."""
    most = f"at most {MOST_OF_YIELD:.0%} of yield"
    listed = assumed(case, "bone", "ring", "rod", "wire", "pin", "model", "search")
    crossing = assumed(case, "room") if case.search.crossing_deg is None else ()
    return (
        *listed,
        *(a for a in crossing if a.key == "room.crossing_deg"),
        Assumption("tension stress of a wire", most, "common practice, no source"),
    )
