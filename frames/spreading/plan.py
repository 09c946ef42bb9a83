"""Which numbers vary, and how draws of chance move them.

Each tolerance is one draw x (all numbers together) or one for each of its numbers. A draw has mean
0 and lies within ±1 ("normal": 95 % of it, standard deviation 1/2). The numbers of the case are

    p = p₀ + W x

with W = plus_minus, or plus_minus_percent of the size of p₀, where a draw moves a number, else 0.
A number that several tolerances name moves by the sum of them.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from fem.algebra import Array
from frames.casefile import Case
from frames.casefile.numbers import limits, unit_of, value_at
from frames.casefile.paths import Slot, slots_of
from frames.casefile.places import parts_of
from frames.casefile.tables import SINGLE
from frames.casefile.tolerance import Tolerance
from frames.distributions import Distribution, Normal, Triangular, Uniform
from frames.mending.parameters import Parameter, parameters

STEP = 0.002
"""Step of difference quotients over the size of a number, where none is known for its key."""

STANDARD: dict[str, Distribution] = {
    "normal": Normal(0.0, 0.5),
    "uniform": Uniform(-1.0, 1.0),
    "triangular": Triangular(-1.0, 0.0, 1.0),
}
"""Draws by the word in the case file; plus_minus is 1."""


@dataclass(frozen=True)
class Number:
    """slot and component of the number that varies (as `Parameter` has them, with its value); low,
    high: limits of the case file; turns: an angle that begins again after 360 degrees."""

    slot: Slot
    parameter: Parameter
    low: float
    high: float
    turns: bool


@dataclass(frozen=True)
class Plan:
    """tolerances; numbers (m); weights: W (m, d); tolerance_of (d,): number of the tolerance that
    each draw belongs to; draws: (d) their distributions."""

    tolerances: tuple[Tolerance, ...]
    numbers: tuple[Number, ...]
    weights: Array
    tolerance_of: Array
    draws: tuple[Distribution, ...]

    @property
    def planned(self) -> Array:
        """(m,) p₀."""
        return np.array([n.parameter.value for n in self.numbers])

    @property
    def sd(self) -> Array:
        """(d,) standard deviations of the draws."""
        return np.array([d.sd for d in self.draws])

    def count(self, tolerance: int) -> int:
        """How many numbers a tolerance moves."""
        return int(np.any(self.weights[:, self.tolerance_of == tolerance] != 0.0, axis=1).sum())


def plan_of(case: Case, tolerances: tuple[Tolerance, ...]) -> Plan:
    """Numbers and draws of tolerances whose paths the case has."""
    known = {(p.path, p.component): p for p in parameters(case)}
    numbers: dict[tuple[Slot, int | None], Number] = {}
    columns: list[dict[tuple[Slot, int | None], float]] = []
    belongs: list[int] = []
    given = {slot for t in tolerances for path in t.all_paths for slot in slots_of(case, path)}
    for index, t in enumerate(tolerances):
        moves: list[dict[tuple[Slot, int | None], float]] = []
        for slot in dict.fromkeys(s for path in t.all_paths for s in slots_of(case, path)):
            for number in _numbers(case, slot, known):
                at = (slot, number.parameter.component)
                numbers.setdefault(at, number)
                move = {at: _size(t, number.parameter.value)}
                for other in _taken_along(case, slot, given, known):
                    by = (other.slot, other.parameter.component)
                    numbers.setdefault(by, other)
                    move[by] = move[at] * other.parameter.value / number.parameter.value
                moves.append(move)
        if t.together:
            moves = [{at: size for move in moves for at, size in move.items()}]
        columns += moves
        belongs += [index] * len(moves)
    rows = {at: i for i, at in enumerate(numbers)}
    weights = np.zeros((len(numbers), len(columns)))
    for j, column in enumerate(columns):
        for at, size in column.items():
            weights[rows[at], j] = size
    draws = tuple(STANDARD[tolerances[i].distribution] for i in belongs)
    return Plan(tolerances, tuple(numbers.values()), weights, np.array(belongs, dtype=int), draws)


def _size(tolerance: Tolerance, value: float) -> float:
    if tolerance.plus_minus is not None:
        return tolerance.plus_minus
    return (tolerance.plus_minus_percent or 0.0) / 100.0 * abs(value)


_Known = dict[tuple[str, int | None], Parameter]


def _numbers(case: Case, slot: Slot, known: _Known) -> Iterator[Number]:
    value = value_at(case, slot)
    if value is None:
        return
    low, high = limits(slot)
    turns = "bearing" in slot.key
    path = _path(case, slot)
    whole = value if isinstance(value, tuple) else ()
    for component, each in enumerate(whole) if whole else [(None, value)]:
        assert isinstance(each, float)
        step = STEP * max(abs(each), 1e-3 * max(abs(low), 1.0) if abs(low) < 1e9 else 1e-3)
        part, what, unit = path.rpartition(".")[0], slot.key, unit_of(slot.key)
        own = Parameter(path, component, part, what, unit, each, step, whole)
        yield Number(slot, known.get((path, component), own), low, high, turns)


def _taken_along(case: Case, slot: Slot, given: set[Slot], known: _Known) -> Iterator[Number]:
    """The tension at a wire's other end, in proportion, where the case gives it by itself."""
    if slot.kind != "wire" or slot.key not in ("tension_N", "tension_kgf"):
        return
    other = slot._replace(key="end_tension_N")
    if case.wire[slot.number].end_tension_N is not None and other not in given:
        yield from _numbers(case, other, known)


def _path(case: Case, slot: Slot) -> str:
    """The path of one part's key: by its name where no other has it, else by its number."""
    if slot.kind in SINGLE:
        return ".".join(word for word in (slot.kind, slot.inner, slot.key) if word)
    names = [getattr(p, "name", None) or getattr(p, "label", "") for p in parts_of(case, slot.kind)]
    own = names[slot.number]
    called = own if own and names.count(own) == 1 else str(slot.number + 1)
    return f"{slot.kind}.{called}.{slot.key}"
