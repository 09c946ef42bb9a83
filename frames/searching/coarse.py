"""The coarse search among frames with a given number of wires.

Where there are few, every frame of the grid is solved at every setting: what it finds is then all
there is on the grid. Where there are many, they are estimated half by half
(``frames.searching.estimating``) and the best by estimate are solved.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fem.algebra import Array
from frames.casefile import Case, CaseError
from frames.construct import FRAGMENTS
from frames.searching.choices import Choices, Halves
from frames.searching.estimating import Estimates
from frames.searching.layout import Layer, Layout, Setting
from frames.searching.margins import Bounds, solved
from frames.searching.mirror import Mirror

MOST_SOLVED = 400
"""So many frames, settings counted, are all solved."""
BEST_ESTIMATED = 60
"""So many of the best by estimate are solved, where not all are."""
AT_ONCE = 50


@dataclass(frozen=True)
class Solved:
    """A frame of the grid that was solved: where its wires lie, setting, smallest margin (share of
    the bound)."""

    layout: Layout
    setting: Setting
    margin: float


@dataclass(frozen=True)
class Stage:
    """The grid with a number of wires. frames: how many there are (mirror images once where all
    are solved); solved: how many were solved; complete: all of them, at every setting; drawn: some
    halves were left out by chance. best: solved ones, best first, each layout once.
    estimate_off: how far the estimated margin of those solved was off at most, None where nothing
    was estimated."""

    wires: int
    frames: int
    solved: int
    complete: bool
    drawn: bool
    best: tuple[Solved, ...]
    estimate_off: float | None

    @property
    def margin(self) -> float:
        """The best one's; -∞ when there is none."""
        return self.best[0].margin if self.best else -np.inf


Say = Callable[[str], None]


@dataclass(frozen=True)
class Coarse:
    """layer, choices, bounds, settings (the base of estimates last), mirror, seed."""

    layer: Layer
    choices: Choices
    bounds: Bounds
    settings: tuple[Setting, ...]
    mirror: Mirror
    estimates: Estimates
    seed: int

    def stage(self, wires: int, say: Say, found: Callable[[Solved], None]) -> Stage:
        """Search among frames with so many wires. found: told of each frame that is solved."""
        splits = self._splits(wires)
        total = sum(d.total * p.total for d, p in splits)
        drawn = not all(h.complete for pair in splits for h in pair)
        if drawn or total * len(self.settings) > 2 * MOST_SOLVED or not self.estimates.usable:
            return self._by_estimate(wires, splits, total, drawn, say, found)
        frames = list(
            dict.fromkeys(
                self.mirror.first(tuple(sorted((*d, *p))))
                for distal, proximal in splits
                for d in distal.layouts
                for p in proximal.layouts
            )
        )
        if len(frames) * len(self.settings) > MOST_SOLVED:
            return self._by_estimate(wires, splits, total, drawn, say, found)
        wanted = [(layout, s) for layout in frames for s in self.settings]
        told = self._solve(wanted, wires, say, found)
        return Stage(wires, len(frames), len(frames), True, False, _best(told), None)

    def _splits(self, wires: int) -> list[tuple[Halves, Halves]]:
        """Halves of both fragments (distal, proximal) whose wires add up."""
        distal, proximal = FRAGMENTS
        found = []
        for n in range(self.choices.least(distal), self.choices.most(distal) + 1):
            if self.choices.least(proximal) <= wires - n <= self.choices.most(proximal):
                pair = (
                    self.choices.halves(distal, n, self.seed),
                    self.choices.halves(proximal, wires - n, self.seed),
                )
                if pair[0].layouts and pair[1].layouts:
                    found.append(pair)
        return found

    def _by_estimate(
        self,
        wires: int,
        splits: list[tuple[Halves, Halves]],
        total: int,
        drawn: bool,
        say: Say,
        found: Callable[[Solved], None],
    ) -> Stage:
        ranked: list[tuple[float, Layout, Setting]] = []
        for distal, proximal in splits:
            say(f"{wires} wires: halves of frames")
            ranked += self._ranked(distal, proximal)
        ranked.sort(key=lambda r: (-r[0], r[1]))
        chosen: dict[Layout, tuple[float, Setting]] = {}
        for margin, layout, setting in ranked:
            chosen.setdefault(self.mirror.first(layout), (margin, setting))
            if len(chosen) == BEST_ESTIMATED:
                break
        wanted = [(layout, s) for layout, (_, s) in chosen.items()]
        told = self._solve(wanted, wires, say, found)
        off = [abs(t.margin - chosen[t.layout][0]) for t in told if np.isfinite(t.margin)]
        return Stage(
            wires, total, len(wanted), False, drawn, _best(told), max(off) if off else None
        )

    def _ranked(self, distal: Halves, proximal: Halves) -> list[tuple[float, Layout, Setting]]:
        margins = self.estimates.margins(distal.layouts, proximal.layouts)
        setting = margins.argmax(axis=0)
        best: Array = margins.max(axis=0)
        # twice as many, since some are mirror images of others
        order = np.argsort(-best, axis=None, kind="stable")[: 2 * BEST_ESTIMATED]
        found = []
        for d, p in zip(*np.unravel_index(order, best.shape), strict=True):
            if np.isfinite(best[d, p]):
                layout = tuple(sorted((*distal.layouts[d], *proximal.layouts[p])))
                found.append((float(best[d, p]), layout, self.settings[int(setting[d, p])]))
        return found

    def _solve(
        self,
        wanted: list[tuple[Layout, Setting]],
        wires: int,
        say: Say,
        found: Callable[[Solved], None],
    ) -> list[Solved]:
        told = []
        for start in range(0, len(wanted), AT_ONCE):
            say(f"{wires} wires: frame {start} of {len(wanted)}")
            cases: list[Case] = []
            those = []
            for layout, setting in wanted[start : start + AT_ONCE]:
                try:
                    cases.append(self.layer.alike(layout, setting))
                except CaseError:
                    continue
                those.append((layout, setting))
            margins = self.bounds.worst(solved(cases, self.bounds))
            for (layout, setting), margin in zip(those, margins, strict=True):
                one = Solved(layout, setting, float(margin))
                found(one)
                told.append(one)
        return told


def _best(told: list[Solved]) -> tuple[Solved, ...]:
    """Best first, every layout at its best setting; what cannot be solved is left out."""
    found: dict[Layout, Solved] = {}
    for one in sorted(told, key=lambda t: -t.margin):
        if np.isfinite(one.margin):
            found.setdefault(one.layout, one)
    return tuple(found.values())
