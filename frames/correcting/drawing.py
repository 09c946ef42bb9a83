"""One olive wire: pulled until the fragment is there, locked, tensioned, the other wires after it.

The wire is laid where the frame stands, loose at the bead's end, and pulled at the other. The pull
rises in steps that double, always on from the step before, since friction and beads remember the
way; when a step goes too far, the pull between it and the one before is sought (Illinois rule) at
which

    max(along / wanted, stress / yield, slope / its limit, pull / slip load of the clamp) = 1,

and solved again from the step before. If the first of these is the one that is reached, the wire
does it.

Then: the tensioner comes off (with its drop), the clamp holds; the other end is tensioned to what
the case says of it; the remaining wires of the fragment are laid straight and tensioned. What is
left of the movement tells the spring-back.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import inf, isinf, pi

import numpy as np

from fem.algebra import Array
from frames.casefile import Case
from frames.casefile.correction import Correction
from frames.casefile.wires import ENDS
from frames.correcting.directions import Way, bearing_of
from frames.correcting.measuring import Limits, Measure, Moved, limits
from frames.correcting.sequence import (
    Bench,
    Rows,
    Standing,
    later_wires,
    lay_wire,
    locked,
    pulled,
    raised,
    stand,
    wires_now,
)
from frames.holding import drops, tensioning_order, wire_pulls

FIRST_SHARE = 1.0 / 256.0
"""First pull, as a share of the wire's yield load."""

CLOSE = 2e-4
MOST_TRIES = 25


@dataclass(frozen=True)
class Pulled:
    """One step: pull; movement along the wanted way; worst stress of a wire against its yield."""

    pull_N: float
    along_mm: float
    yield_percent: float


@dataclass(frozen=True)
class Drawn:
    """What a wire did. before: wires that held the fragment already; reached: whether it got there;
    limit: what was reached first, in words, "" when nothing was. At that point pull_N, take_up_mm
    drawn out at the tensioner, moved. locked: tensioner off and clamp closed; tensioned: other end
    tensioned to bead_end_N; finished: all other wires of the fragment tensioned (None where it did
    not get that far); legs_N at bead's and pulled end then. later: a limit passed on the way there.
    remains_mm: see ``rest``.
    """

    way: Way
    before: tuple[str, ...]
    after: tuple[str, ...]
    reached: bool
    limit: str
    steps: tuple[Pulled, ...]
    pull_N: float | None
    take_up_mm: float | None
    moved: Moved | None
    bead_end_N: float | None
    locked: Moved | None
    tensioned: Moved | None
    finished: Moved | None
    legs_N: tuple[float, float] | None
    later: str
    remains_mm: float | None


def rest(moved: Moved, by_mm: float) -> float:
    """mm that the fragment is still off: short of the wanted way, across it, and the swing of its
    far end, as the root of the sum of squares. Wires are ranked by it."""
    return float(np.sqrt((by_mm - moved.along_mm) ** 2 + moved.across_mm**2 + moved.far_end_mm**2))


def not_drawn(way: Way, why: str, before: tuple[str, ...] = ()) -> Drawn:
    """A wire that cannot do it, with the reason."""
    none = None
    return Drawn(
        way, before, (), False, why, (), none, none, none, none, none, none, none, none, "", none
    )


def others(case: Case, own: list[str], wire: str) -> tuple[list[str], list[list[str]]]:
    """Wires of the fragment (own) that come before a wire, and stages of those after it."""
    names = [w.name for w in case.wire]
    order = [[names[i] for i in stage if names[i] in own] for stage in tensioning_order(case)]
    at = next(k for k, stage in enumerate(order) if wire in stage)
    before = [n for stage in order[:at] for n in stage]
    beside = [n for n in order[at] if n != wire]
    return before, [stage for stage in (beside, *order[at + 1 :]) if stage]


def draw(
    work: Bench, wanted: Correction, way: Way, own: list[str], say: Callable[[str], None]
) -> Drawn:
    """work : its case keeps to the general law. own : names of the fragment's wires."""
    case = work.parts.construct.case
    before, after = others(case, own, way.wire)
    if not before and wanted.soft_tissue_N_per_mm == 0.0:
        return not_drawn(way, _NOTHING_HOLDS)
    i = work.names.index(way.wire)
    work = work.with_bead(i, way.bead)
    there = np.array([n in before or n not in own for n in work.names])
    state = stand(work, there)
    measure = Measure(work, wanted.fragment, bearing_of(wanted), state)
    state = lay_wire(work, state, [i])
    say(f"{way.wire}: drawing the bone")
    state, pull, steps, at = _search(work, wanted, way, i, state, measure)
    moved = measure.moved(state)
    reached = measure.along(state) >= (1.0 - 2.0 * CLOSE) * wanted.by_mm
    took = float(_taken_up(state, i)[ENDS.index(way.pulled)])
    found = Drawn(
        way=way,
        before=tuple(before),
        after=tuple(n for stage in after for n in stage),
        reached=reached,
        limit="" if reached else _first(at, _slip(case, i), pull),
        steps=steps,
        pull_N=pull,
        take_up_mm=took,
        moved=moved,
        bead_end_N=None,
        locked=None,
        tensioned=None,
        finished=None,
        legs_N=None,
        later="",
        remains_mm=rest(moved, wanted.by_mm),
    )
    return _held(work, wanted, found, i, after, state, measure, say) if reached else found


_NOTHING_HOLDS = (
    "no other wire of the fragment is tensioned before it: it slides along this wire, so "
    "that the pull is that of friction and soft tissue only and the movement is not determined; "
    "tension another wire first (order), or give soft_tissue_N_per_mm"
)


def _search(
    work: Bench, wanted: Correction, way: Way, i: int, start: Standing, measure: Measure
) -> tuple[Standing, float, tuple[Pulled, ...], Limits]:
    """State, pull, steps and limits where the first of the bounds is met."""
    case = work.parts.construct.case
    wire, slip = case.wire[i], _slip(case, i)
    most = wire.yield_MPa * pi * wire.diameter_mm**2 / 4.0
    steps: list[Pulled] = []

    rows: Rows = np.arange(len(work.names)) == i

    def tried(base: Standing, before: float, pull: float) -> tuple[Standing, Limits, float]:
        less, more = (_dial(work, way, i, 0.0, p) for p in (before, pull))
        state = raised(work, base, rows, less, more, f"drawing {way.wire}")
        at = limits(work, state)
        along = measure.along(state)
        steps.append(Pulled(pull, along, 100.0 * at.yields))
        return state, at, max(along / wanted.by_mm, at.worst, pull / slip) - 1.0

    base, low, g_low = start, 0.0, -1.0
    high = FIRST_SHARE * most
    state, at, g_high = tried(base, low, high)
    while g_high < 0.0:
        base, low, g_low = state, high, g_high
        start_pull, high = high, min(2.0 * high, 1.01 * most)
        state, at, g_high = tried(base, start_pull, high)
    start_pull, pull, last, g = low, high, 0, g_high
    for _ in range(MOST_TRIES):
        if abs(g) <= CLOSE:
            break
        pull = (low * g_high - high * g_low) / (g_high - g_low)
        state, at, g = tried(base, start_pull, pull)
        if g > 0.0:
            high, g_high = pull, g
            g_low = g_low / 2.0 if last > 0 else g_low
            last = 1
        else:
            low, g_low = pull, g
            g_high = g_high / 2.0 if last < 0 else g_high
            last = -1
    shown = sorted((s for s in steps if s.pull_N < pull), key=lambda s: s.pull_N)
    done = next(s for s in reversed(steps) if s.pull_N == pull)
    return state, pull, (*_spread(shown), done), at


def _spread(steps: list[Pulled]) -> list[Pulled]:
    """Steps that lie apart: each at least a tenth more pull than the one before."""
    kept: list[Pulled] = []
    for step in steps:
        if not kept or step.pull_N > 1.1 * kept[-1].pull_N:
            kept.append(step)
    return kept


def _held(
    work: Bench,
    wanted: Correction,
    found: Drawn,
    i: int,
    after: list[list[str]],
    state: Standing,
    measure: Measure,
    say: Callable[[str], None],
) -> Drawn:
    """Locked, its other end tensioned, and the wires after it."""
    case, way = work.parts.construct.case, found.way
    rows: Rows = np.arange(len(work.names)) == i
    keep = 1.0 - float(drops(case)[i])
    assert found.pull_N is not None
    words = f"locking {way.wire}"
    if keep < 1.0:
        dial = _dial(work, way, i, 0.0, keep * found.pull_N)
        state = pulled(work, state, rows, dial, words)
    state = locked(work, state, rows, words)
    found = replace(found, locked=measure.moved(state))
    wire = case.wire[i]
    other = wire.tension if way.bead == "start" else wire.end_tension
    words = f"tensioning the other end of {way.wire}"
    say(words)
    loose, tight = (_dial(work, way, i, pull, np.nan) for pull in (0.0, other))
    state = raised(work, state, rows, loose, tight, words)
    at = limits(work, state)
    if keep < 1.0:
        state = pulled(work, state, rows, _dial(work, way, i, keep * other, np.nan), words)
    state = locked(work, state, rows, words)
    found = replace(found, bead_end_N=other, tensioned=measure.moved(state))
    later = "" if at.worst <= 1.0 else f"{_passed(at)} when its other end is tensioned"
    for stage in after:
        say(f"{way.wire}: tensioning {', '.join(stage)} after it")
        state = later_wires(work, state, [work.names.index(n) for n in stage])
        at = limits(work, state, found.after)
        if at.worst > 1.0 and not later:
            later = f"{_passed(at)} when {', '.join(stage)} is tensioned"
    legs = wires_now(state.response).tensions[0, i, [0, -1]].tolist()
    if way.bead == "end":
        legs.reverse()
    finished = measure.moved(state)
    return replace(
        found,
        finished=finished,
        legs_N=(float(legs[0]), float(legs[1])),
        later=later,
        remains_mm=rest(finished, wanted.by_mm),
    )


def _dial(work: Bench, way: Way, i: int, at_bead: float, at_pulled: float) -> Array:
    """(w, 2)."""
    dial = wire_pulls(work.parts.construct.case)
    dial[i, ENDS.index(way.bead)] = at_bead
    dial[i, ENDS.index(way.pulled)] = at_pulled
    return dial


def _taken_up(state: Standing, i: int) -> Array:
    past = state.law.held_wires
    assert past is not None
    return np.asarray(past.taken_up[0, i])


def _slip(case: Case, i: int) -> float:
    """Pull (N) beyond which the closed clamp would let the wire go."""
    slip = case.wire[i].slip
    return inf if isinf(slip) else slip / (1.0 - float(drops(case)[i]))


def _first(at: Limits, slip: float, pull: float) -> str:
    if pull / slip >= at.worst:
        return f"its clamp would not hold more than {slip:.0f} N"
    return _passed(at)


def _passed(at: Limits) -> str:
    if at.slope > at.yields:
        return "wires slope further than the model is good for"
    return f"{at.wire} yields"
