"""From a refined frame to one that can be built: whole degrees and whole kgf.

Rounded to the nearest, then moved by 5 degrees or kgf, then by single ones, as long as the smallest
margin grows; so the frame is the best among its neighbours on that fine grid. The wide moves lead
away from where slopes are nought by symmetry but the margin is not at its highest. Where two
targets balance, one number alone can only make one of them worse: two are then moved together by
single degrees or kgf. Every step is solved and keeps directions and crossings; ``fit`` is asked
before a step is taken.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import combinations, product
from math import ceil, floor

import numpy as np

from fem.algebra import Array
from frames.casefile import Case, CaseError
from frames.fitting import fit
from frames.searching.layout import HALF_TURN, Laid, Layout
from frames.searching.margins import solved
from frames.searching.refining import Point, Refiner

MOVES = ((5.0, 1, 25), (1.0, 1, 25), (1.0, 2, 4))
"""Degrees or kgf, how many numbers move together, so many moves at most."""
GAIN = 5e-5
"""Moves that gain less (share of the bound) are not made."""
_MOST_CORNERS = 64


def rounded(
    refiner: Refiner,
    point: Point,
    taken: Array,
    always: tuple[str, ...],
    say: Callable[[str], None],
) -> Point | None:
    """The best whole-numbered frame near a point that fits, None where none does. taken: (b,) what
    tolerances take from every margin. always: what does not fit whatever the wires."""
    bench = _Bench(refiner, taken, always)
    best = bench.best_of(_corners(refiner, point), None)
    if best is None:
        return None
    for width, together, most in MOVES:
        for _ in range(most):
            say(f"rounding {len(point.layout)} wires: margin {100.0 * best.margin:.1f} %")
            near = list(_neighbours(refiner, best, width, together))
            better = bench.best_of(near, best.margin + GAIN)
            if better is None:
                break
            best = better
    return best


class _Bench:
    """Solves whole-numbered frames, each once."""

    def __init__(self, refiner: Refiner, taken: Array, always: tuple[str, ...]) -> None:
        self.refiner, self.taken, self.always = refiner, taken, set(always)
        self._known: dict[tuple[object, ...], float] = {}
        self._misfit: set[tuple[object, ...]] = set()

    def best_of(self, points: list[Point], above: float | None) -> Point | None:
        """The best that fits, with a margin above the one given; None without one."""
        told = [replace(p, margin=m) for p, m in zip(points, self._margins(points), strict=True)]
        for p in sorted(told, key=lambda p: (-p.margin, p.layout, p.tensions_kgf)):
            if not np.isfinite(p.margin) or (above is not None and p.margin <= above):
                return None
            if self._fits(p):
                return p
        return None

    def _margins(self, points: list[Point]) -> list[float]:
        new, cases = [], []
        for p in points:
            if _key(p) in self._known:
                continue
            self._known[_key(p)] = -np.inf
            if self.refiner.choices.keeps(p.layout):
                case = self._case(p)
                if case is not None:
                    new.append(p)
                    cases.append(case)
        bounds = self.refiner.bounds
        for p, row in zip(new, solved(cases, bounds), strict=True):
            self._known[_key(p)] = float((bounds.margins(row) - self.taken).min())
        return [self._known[_key(p)] for p in points]

    def _case(self, p: Point) -> Case | None:
        try:
            return self.refiner.layer.lay(p.layout, p.diameter_mm, p.tensions_kgf)
        except CaseError:
            return None

    def _fits(self, p: Point) -> bool:
        case = self._case(p)
        return case is not None and all(m.message in self.always for m in fit(case).problems)


def _key(p: Point) -> tuple[object, ...]:
    return p.layout, p.diameter_mm, p.tensions_kgf


def _corners(refiner: Refiner, point: Point) -> list[Point]:
    """Rounded to the nearest, then with single wires and the tension rounded the other way."""
    bearings = [float(round(w.bearing_deg)) for w in point.layout]
    low, high = refiner.reach[point.diameter_mm]
    tensions = [
        {min(max(float(f(t)), low), high) for f in (floor, ceil)}
        for t in (point.tensions_kgf if refiner.each else point.tensions_kgf[:1])
    ]
    choices = list(product(*(sorted(t) for t in tensions)))[:_MOST_CORNERS]
    ways = [bearings]
    for i, w in enumerate(point.layout):
        other = floor(w.bearing_deg) + ceil(w.bearing_deg) - bearings[i]
        ways.append([*bearings[:i], float(other), *bearings[i + 1 :]])
    return [_point(point, way, choice) for way in ways for choice in choices]


def _neighbours(refiner: Refiner, point: Point, width: float, together: int) -> Iterator[Point]:
    """With so many bearings or tensions moved by the width, up or down each."""
    low, high = refiner.reach[point.diameter_mm]
    wires = len(point.layout)
    own = point.tensions_kgf if refiner.each else point.tensions_kgf[:1]
    now = np.array([*(w.bearing_deg for w in point.layout), *own])
    for moved in combinations(range(len(now)), together):
        for steps in product((-width, width), repeat=together):
            there = now.copy()
            there[list(moved)] += steps
            if np.all(there[wires:] >= low) and np.all(there[wires:] <= high):
                yield _point(point, there[:wires].tolist(), tuple(there[wires:].tolist()))


def _point(point: Point, bearings: list[float], tensions: tuple[float, ...]) -> Point:
    layout: Layout = tuple(
        Laid(w.ring, w.face, b % HALF_TURN) for w, b in zip(point.layout, bearings, strict=True)
    )
    each = tensions if len(tensions) == len(layout) else tensions * len(layout)
    return replace(point, layout=layout, tensions_kgf=tuple(each))
