"""What can lie on a ring, and what can hold a fragment, on the coarse grid of bearings.

A ring has no wire, one wire on either face, or one on each face that cross at the angle asked for
at least. A fragment is held by a half: a choice for each of its rings. Unless a half-pin helps,
some two wires of it cross at that angle too: wires that are all parallel let the bone slide along
them.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np

from frames.casefile import Case
from frames.construct import FRAGMENTS
from frames.searching.allowed import Allowed
from frames.searching.layout import FACES, Laid, Layout, crossing_deg

MOST_HALVES = 800
"""So many halves of a fragment with a number of wires are looked at; of more, as many by chance."""

SLACK_DEG = 1e-6


@dataclass(frozen=True)
class Halves:
    """All halves of a fragment with a number of wires, or some of them. total: how many there
    are."""

    layouts: tuple[Layout, ...]
    total: int

    @property
    def complete(self) -> bool:
        """None was left out."""
        return len(self.layouts) == self.total


class Choices:
    """What the grid offers in a case."""

    def __init__(self, case: Case, where: Allowed) -> None:
        self.case, self.where = case, where
        own = case.search.crossing_deg
        self.crossing = case.room.crossing_deg if own is None else own
        self.step = case.search.bearing_step_deg
        self.pinned = {f for f in FRAGMENTS if _pins(case, f)}
        self.rings: dict[str, list[int]] = {f: [] for f in FRAGMENTS}
        for (ring, _), fragment in where.fragment.items():
            if ring not in self.rings[fragment]:
                self.rings[fragment].append(ring)
        self._of_ring = [self._ring(i) for i in range(len(case.ring))]
        self._halves: dict[tuple[str, int, int], Halves] = {}

    def least(self, fragment: str) -> int:
        """Wires that a fragment needs."""
        return 0 if fragment in self.pinned else self.case.search.least_wires_per_fragment

    def most(self, fragment: str) -> int:
        """Wires that a fragment can have."""
        return sum(len(self._of_ring[ring][-1][0]) for ring in self.rings[fragment])

    def crosses_at_most(self, fragment: str) -> float:
        """The widest crossing that two wires of a fragment can have on the grid."""
        return max(
            (
                crossing_deg(a, b)
                for a, b in combinations(
                    [w for r in self.rings[fragment] for c in self._of_ring[r][1:2] for (w,) in c],
                    2,
                )
                if a.slot != b.slot
            ),
            default=0.0,
        )

    def _ring(self, ring: int) -> list[list[Layout]]:
        """Choices with 0, 1 and 2 wires (fewer lists where there is no room for so many)."""
        single = [
            [Laid(ring, face, float(b)) for b in self.where.grid((ring, face), self.step)]
            if (ring, face) in self.where.fragment
            else []
            for face in range(len(FACES))
        ]
        pairs = [
            pair
            for pair in product(*single)
            if crossing_deg(*pair) >= self.crossing - SLACK_DEG
            and self.where.fragment[pair[0].slot] == self.where.fragment[pair[1].slot]
        ]
        lists: list[list[Layout]] = [[()], [(laid,) for one in single for laid in one], [*pairs]]
        while not lists[-1]:
            lists.pop()
        return lists

    def halves(self, fragment: str, wires: int, seed: int) -> Halves:
        """Halves of a fragment with so many wires."""
        key = fragment, wires, seed
        if key not in self._halves:
            self._halves[key] = self._choose(fragment, wires, seed)
        return self._halves[key]

    def _choose(self, fragment: str, wires: int, seed: int) -> Halves:
        blocks = [
            [self._of_ring[r][k] for r, k in zip(self.rings[fragment], split, strict=True)]
            for split in self._splits(fragment, wires)
        ]
        total = sum(int(np.prod([len(b) for b in block], dtype=np.int64)) for block in blocks)
        if total <= _MOST_LISTED:
            every = [h for block in blocks for h in _joined(block) if self._crosses(fragment, h)]
            if len(every) <= MOST_HALVES:
                return Halves(tuple(every), len(every))
            chance = np.random.default_rng([seed, FRAGMENTS.index(fragment), wires])
            some = sorted(chance.choice(len(every), MOST_HALVES, replace=False).tolist())
            return Halves(tuple(every[i] for i in some), len(every))
        return self._by_chance(fragment, wires, seed, blocks, total)

    def _by_chance(
        self, fragment: str, wires: int, seed: int, blocks: list[list[list[Layout]]], total: int
    ) -> Halves:
        """Of too many to list: a split by its share, then a choice for each ring."""
        chance = np.random.default_rng([seed, FRAGMENTS.index(fragment), wires])
        sizes = np.array([np.prod([float(len(b)) for b in block]) for block in blocks])
        found: dict[Layout, None] = {}
        for _ in range(20 * MOST_HALVES):
            block = blocks[int(chance.choice(len(blocks), p=sizes / sizes.sum()))]
            half = tuple(laid for b in block for laid in b[int(chance.integers(len(b)))])
            if self._crosses(fragment, half):
                found[half] = None
            if len(found) == MOST_HALVES:
                break
        return Halves(tuple(sorted(found)), total)

    def _splits(self, fragment: str, wires: int) -> list[tuple[int, ...]]:
        """Numbers of wires on each ring that make the sum."""
        each = [range(len(self._of_ring[r])) for r in self.rings[fragment]]
        return [
            split
            for split in product(*each)
            if sum(split) == wires
            and all(self._of_ring[r][k] for r, k in zip(self.rings[fragment], split, strict=True))
        ]

    def richest(self, fragment: str) -> Layout:
        """On every ring as many wires as it can take, crossing as widely as they can."""
        found: list[Laid] = []
        for ring in self.rings[fragment]:
            found += max(self._of_ring[ring][-1], key=_widest)
        return tuple(found)

    def keeps(self, layout: Layout) -> bool:
        """Whether a frame off the grid keeps the rules: allowed directions, crossings."""
        if not all(self.where.holds(laid) for laid in layout):
            return False
        for one, other in combinations(layout, 2):
            if one.ring == other.ring and crossing_deg(one, other) < self.crossing - SLACK_DEG:
                return False
        return all(self._crosses(f, self.part(layout, f)) for f in FRAGMENTS)

    def part(self, layout: Layout, fragment: str) -> Layout:
        """The wires of a frame that hold a fragment."""
        return tuple(laid for laid in layout if self.where.fragment[laid.slot] == fragment)

    def _crosses(self, fragment: str, half: Layout) -> bool:
        return fragment in self.pinned or _widest(half) >= self.crossing - SLACK_DEG


_MOST_LISTED = 200_000


def _joined(block: Sequence[Sequence[Layout]]) -> Iterator[Layout]:
    for chosen in product(*block):
        yield tuple(laid for some in chosen for laid in some)


def _widest(layout: Iterable[Laid]) -> float:
    """The widest crossing of any two wires, 0 of fewer than two."""
    return max((crossing_deg(a, b) for a, b in combinations(layout, 2)), default=0.0)


def _pins(case: Case, fragment: str) -> bool:
    from frames.construct import construct

    return any(p.fragment == fragment for p in construct(case).pins)
