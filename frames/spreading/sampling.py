"""Frames drawn within their tolerances."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from fem.algebra import Array
from frames.casefile import Case, CaseError
from frames.casefile.paths import Slot
from frames.casefile.replacing import replace_slots
from frames.spreading.plan import Plan


@dataclass(frozen=True)
class Sample:
    """draws: x (n, d); values: p (n, m) after they were cut; cut (m,): how many of each number lay
    beyond a limit of the case file and were set to it."""

    draws: Array
    values: Array
    cut: Array


def draw(plan: Plan, designs: int, seed: int, first: int = 0) -> Sample:
    """So many designs from the ``first`` on, one after the other out of a stream of random numbers
    (PCG64): the same seed gives the same designs, and more designs begin with the same ones."""
    stream = np.random.PCG64(seed)
    stream.advance(first * len(plan.draws))  # one step for each number
    u = np.random.Generator(stream).random((designs, len(plan.draws)))
    u += 2.0**-54  # random() gives multiples of 2^-53 from 0 on; now 0 < u < 1
    x = np.column_stack([d.quantile(u[:, j]) for j, d in enumerate(plan.draws)])
    wanted = plan.planned + x @ plan.weights.T
    low = np.array([n.low for n in plan.numbers])
    high = np.array([n.high for n in plan.numbers])
    turns = np.array([n.turns for n in plan.numbers])
    beyond = (wanted < low) | (wanted > high)
    # an angle beyond 360 degrees goes on from there
    wanted = np.where(turns & beyond, np.remainder(wanted, 360.0), wanted)
    beyond &= ~turns
    return Sample(x, np.clip(wanted, low, high), beyond.sum(axis=0))


def built(case: Case, plan: Plan, values: Array) -> Iterator[Case | str]:
    """The case with each row of values (n, m); where it cannot be built, the reason in words."""
    for row in values:
        changes: dict[Slot, float | list[float]] = {}
        for number, value in zip(plan.numbers, row, strict=True):
            i = number.parameter.component
            if i is None:
                changes[number.slot] = float(value)
            else:
                pair = changes.setdefault(number.slot, list(number.parameter.whole))
                assert isinstance(pair, list)
                pair[i] = float(value)
        try:
            yield replace_slots(case, changes.items(), "design")
        except CaseError as error:
            first = error.problems[0]
            yield f"{first.place}: {first.message}"
