"""Bearings, to whole degrees, at which a wire may lie on a face of a ring.

A wire is allowed where ``fit`` finds nothing wrong with it alone: both ends in corridors, no wound,
room to the leg, clear of rods, pins and rings, a hole of its own. Many bearings are laid
at once, and what ``fit`` says of two of them is passed over. How wires meet each other is
judged when they are put together.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frames.casefile import Case, CaseError
from frames.construct import construct
from frames.fitting import fit
from frames.fitting.findings import FitProblem
from frames.searching.layout import FACES, HALF_TURN, Laid, Layer, Setting

FLAT = "flat crossing"
"""Kind of the problem that is about how wires meet."""
_AT_ONCE = 30  # more would only make more pairs to pass over


@dataclass(frozen=True)
class Allowed:
    """by_slot: ring and face → (180,) whether each whole degree is allowed. fragment: of a ring's
    wires by ring and face. always: what does not fit whatever the wires."""

    by_slot: dict[tuple[int, int], NDArray[np.bool_]]
    fragment: dict[tuple[int, int], str]
    always: tuple[str, ...]

    def holds(self, laid: Laid) -> bool:
        """Whether a wire at whole degrees is allowed."""
        return bool(self.by_slot[laid.slot][round(laid.bearing_deg) % HALF_TURN])

    def grid(self, slot: tuple[int, int], step: int) -> tuple[int, ...]:
        """Multiples of the step that are allowed, and the middle of a range without one."""
        own = self.by_slot[slot]
        chosen = {b for b in range(0, HALF_TURN, step) if own[b]}
        for start, length in _runs(own):
            inside = {(start + i) % HALF_TURN for i in range(length)}
            if not inside & chosen:
                chosen.add((start + length // 2) % HALF_TURN)
        return tuple(sorted(chosen))

    def around(self, laid: Laid) -> tuple[float, float]:
        """The range of allowed bearings round an allowed one, not folded into 0 to 180."""
        own = self.by_slot[laid.slot]
        middle = round(laid.bearing_deg)
        reach = []
        for way in (-1, 1):
            far = 0
            while far < HALF_TURN // 2 and own[(middle + way * (far + 1)) % HALF_TURN]:
                far += 1
            reach.append(float(middle + way * far))
        return reach[0], reach[1]


def _runs(own: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Start and length of every range of allowed degrees; 179 is followed by 0."""
    if own.all():
        return [(0, HALF_TURN)]
    starts = [b for b in range(HALF_TURN) if own[b] and not own[b - 1]]
    runs = []
    for start in starts:
        length = 1
        while own[(start + length) % HALF_TURN]:
            length += 1
        runs.append((start, length))
    return runs


def allowed(layer: Layer, say: Callable[[str], None]) -> Allowed:
    """Judge every face of every ring."""
    by_slot: dict[tuple[int, int], NDArray[np.bool_]] = {}
    fragment: dict[tuple[int, int], str] = {}
    always: dict[str, None] = {}
    for ring in range(len(layer.case.ring)):
        say(f"directions allowed on ring {layer.case.ring[ring].name}")
        for face in range(len(FACES)):
            able = np.zeros(HALF_TURN, dtype=bool)
            for start in range(0, HALF_TURN, _AT_ONCE):
                for bearings, laid in _laid(layer, ring, face, range(start, start + _AT_ONCE)):
                    able[bearings] = True
                    fragment[ring, face] = construct(laid).wires[0].fragment
                    for problem in fit(laid).problems:
                        own = _named(problem, [w.name for w in laid.wire])
                        if len(own) == 1:
                            able[bearings[own[0]]] = False
                        elif not own and not problem.unknown and problem.kind != FLAT:
                            always[problem.message] = None
            by_slot[ring, face] = able
    return Allowed(by_slot, fragment, tuple(always))


def _laid(
    layer: Layer, ring: int, face: int, bearings: Sequence[int]
) -> Iterator[tuple[list[int], Case]]:
    """The bearings that the case file takes at all, with a case that has a wire at each; none when
    there are none."""
    setting = Setting(max(layer.diameters), layer.case.search.tension_kgf[1])

    def case(those: Sequence[int]) -> Case:
        return layer.alike(tuple(Laid(ring, face, float(b)) for b in those), setting)

    try:
        yield list(bearings), case(bearings)
        return
    except CaseError:
        pass
    taken = []
    for b in bearings:
        try:
            case([b])
        except CaseError:
            continue
        taken.append(b)
    if taken:
        yield taken, case(taken)


def _named(problem: FitProblem, names: list[str]) -> list[int]:
    """Numbers of the laid wires that a problem is about."""
    words = set(" ".join(problem.parts).split())
    return [i for i, name in enumerate(names) if name in words]
