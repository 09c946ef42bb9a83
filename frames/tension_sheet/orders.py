"""The order of tensioning that leaves the wires nearest to each other, none tensioned twice.

Every wire is dialled at the tension it should have. When unit j (a wire, or wires tensioned at
once) is pulled while the set S is locked already, the rings give and the wires of S change by

    Δ_S,j  (one number for each wire of S).

Δ depends on which wires are in S, hardly on the order in which they came, since their tensions
differ by some percent only between orders. With Δ_S,j measured once for every S and j, each S at
its wanted tensions (full nonlinear solutions, 2^n sets), the wires of an order π end at

    T_i = T_i(dialled, after the drop) + Σ over the units j after i of Δ_{before j},j [i],

sums that are formed for all n! orders. The best ones are then tensioned in full, one after the
other in the order of their sums; the largest difference ε between sum and full answer in scatter is
noted on the way. The search ends when the next sum lies more than ε above the best full answer:
no order left can be better unless it differs by more than any that was solved.

With more than ``EXACT`` units the number of sets is too large: exchanges of neighbours improve the
case's order and the reverse of it, with the same sums, measured where they are needed. That order
is not proven to be the best, and the answer says so.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import combinations, permutations

import numpy as np

from fem.algebra import Array
from frames.holding import tensioning_order
from frames.staging import Stages
from frames.tension_sheet.naive import Bench, in_turn, scatter

EXACT = 8
MOST_SOLVED = 60
FEWEST_SOLVED = 5

Order = tuple[int, ...]
"""Numbers of the units, the first to be tensioned first."""


@dataclass(frozen=True)
class Ordered:
    """An order: names of the wires of each stage; tension left in every wire, N, in the order of
    the case; largest less smallest, and standard deviation, in percent of the wanted tension."""

    stages: tuple[tuple[str, ...], ...]
    left_N: tuple[float, ...]
    scatter_percent: float
    deviation_percent: float


@dataclass(frozen=True)
class BestOrder:
    """case_order and best, both solved in full; pairs: the best when the wires of a ring are
    tensioned at once, ring after ring (None where no ring has two); compared: how many orders;
    solved: how many of them in full; error_percent: largest difference in scatter between the sums
    and the full answers; proven: no other order can be better, within that error."""

    case_order: Ordered
    best: Ordered
    pairs: Ordered | None
    compared: int
    solved: int
    error_percent: float
    proven: bool


@dataclass
class Influences:
    """Δ_S,j, measured when first asked for; sets are bit patterns of units."""

    bench: Bench
    units: Sequence[Sequence[int]]
    say: Callable[[str], None]
    locked: dict[int, Stages] = field(default_factory=dict)
    found: dict[tuple[int, int], Array] = field(default_factory=dict)

    def of(self, S: int, j: int) -> Array:
        """(w,) N: change of the wires of S, and what j itself has afterwards."""
        if (S, j) not in self.found:
            self.found[S, j] = self._measure(S, j)
        return self.found[S, j]

    def _measure(self, S: int, j: int) -> Array:
        bench = self.bench
        before = np.zeros(len(bench.wanted))
        if S:
            if S not in self.locked:
                stages = bench.start()
                rows = [i for k, unit in enumerate(self.units) if S >> k & 1 for i in unit]
                kept = bench.pulls * (1.0 - bench.drop[:, None])
                stages.run(rows, kept, np.zeros_like(bench.drop))
                self.locked[S] = stages
                self.say(f"sets of wires tensioned: {len(self.locked)}")
            stages = self.locked[S].branch()
            before = bench.left(stages)
        else:
            stages = bench.start()
        stages.run(self.units[j], bench.pulls, bench.drop)
        return np.asarray(bench.left(stages) - before)

    def left(self, order: Order) -> Array:
        """(w,) N in every wire at the end of an order, by the sums."""
        total, S = np.zeros(len(self.bench.wanted)), 0
        for j in order:
            total = total + self.of(S, j)
            S |= 1 << j
        return total


def best_order(bench: Bench, say: Callable[[str], None]) -> BestOrder:
    """Units are the wires; those with the same ``order`` in the case stay together."""
    case = bench.parts.construct.case
    units = tensioning_order(case)
    own = in_turn(bench, units)
    found, compared, solved, error, proven = _search(bench, units, say)
    if len(units) > 1 and found.scatter_percent > scatter(bench.left(own), bench.wanted):
        found = _ordered(bench, units, own)
    pairs = None
    rings = _rings(bench)
    if any(len(unit) > 1 for unit in rings) and rings != units and len(rings) <= EXACT:
        say("the wires of a ring at once")
        pairs = _search(bench, rings, say)[0]
    return BestOrder(_ordered(bench, units, own), found, pairs, compared, solved, error, proven)


def _search(
    bench: Bench, units: Sequence[Sequence[int]], say: Callable[[str], None]
) -> tuple[Ordered, int, int, float, bool]:
    influences = Influences(bench, units, say)
    exact = len(units) <= EXACT
    orders, compared = _all_orders(influences) if exact else _exchanged(influences)
    best: Ordered | None = None
    error, solved = 0.0, 0
    for predicted, order in orders:
        enough = solved >= min(FEWEST_SOLVED, len(orders))
        if best is not None and enough and predicted > best.scatter_percent + error:
            break
        if solved >= MOST_SOLVED:
            exact = False
            break
        say(f"orders tensioned in full: {solved + 1}")
        stages = in_turn(bench, [units[j] for j in order])
        answer = _ordered(bench, [units[j] for j in order], stages)
        error = max(error, abs(answer.scatter_percent - predicted))
        solved += 1
        if best is None or answer.scatter_percent < best.scatter_percent:
            best = answer
    assert best is not None
    return best, compared, solved, error, exact


def _ordered(bench: Bench, order: Sequence[Sequence[int]], stages: Stages) -> Ordered:
    names = bench.parts.wire_names
    left = bench.left(stages)
    return Ordered(
        tuple(tuple(names[i] for i in unit) for unit in order),
        tuple(left.tolist()),
        scatter(left, bench.wanted),
        100.0 * float(np.std(left / bench.wanted)),
    )


def _all_orders(influences: Influences) -> tuple[list[tuple[float, Order]], int]:
    """All orders by the scatter of their sums, and how many."""
    n, wanted = len(influences.units), influences.bench.wanted
    for size in range(n):
        for members in combinations(range(n), size):
            S = sum(1 << k for k in members)
            for j in set(range(n)) - set(members):
                influences.of(S, j)
    orders = list(permutations(range(n)))
    sums = np.zeros((len(orders), len(wanted)))
    table = np.zeros((1 << n, n, len(wanted)))
    for (S, j), change in influences.found.items():
        table[S, j] = change
    chosen = np.array(orders).reshape(len(orders), n)
    before = np.zeros(len(orders), dtype=np.intp)
    for k in range(n):
        pulled = chosen[:, k]
        sums += table[before, pulled]
        before = before | (1 << pulled)
    share = sums / wanted
    spread = 100.0 * (share.max(axis=1) - share.min(axis=1))
    ranked = np.argsort(spread, kind="stable")
    return [(float(spread[i]), orders[i]) for i in ranked], len(orders)


def _exchanged(influences: Influences) -> tuple[list[tuple[float, Order]], int]:
    """The best orders met on the way down by exchanges of neighbours, the best first, and how many
    were met."""
    n, wanted = len(influences.units), influences.bench.wanted
    seen: dict[Order, float] = {}

    def value(order: Order) -> float:
        if order not in seen:
            seen[order] = scatter(influences.left(order), wanted)
        return seen[order]

    for begin in (tuple(range(n)), tuple(reversed(range(n)))):
        now, better = begin, True
        while better:
            better = False
            for a in range(n - 1):
                swapped = list(now)
                swapped[a], swapped[a + 1] = swapped[a + 1], swapped[a]
                if value(tuple(swapped)) < value(now) - 1e-9:
                    now, better = tuple(swapped), True
    ranked = sorted((spread, order) for order, spread in seen.items())
    return ranked[:FEWEST_SOLVED], len(seen)


def _rings(bench: Bench) -> list[tuple[int, ...]]:
    """Wires of each ring, rings in the order in which the case comes to them."""
    of: dict[str, list[int]] = {}
    case = bench.parts.construct.case
    for unit in tensioning_order(case):
        for i in unit:
            of.setdefault(case.wire[i].ring, []).append(i)
    return [tuple(rows) for rows in of.values()]
