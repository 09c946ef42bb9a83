"""Frames before load and on the way to it, without a whole check's search for limits."""

from collections.abc import Sequence

import numpy as np

from fem.algebra import Array
from fem.stepping import Step, follow
from frames.loading import load_vector
from frames.pretension import Pretensioned, pretension
from frames.supports import held_at_ankle
from tests.frames.at_rest import parts_of
from tests.frames.cases import Raw


def before_load(raw: Raw) -> Pretensioned:
    """Tensioned, locked, nuts turned."""
    return pretension(parts_of(raw))


def out_of_balance(pre: Pretensioned) -> float:
    """Largest force (N, moments over the length of the system) that nothing bears."""
    free = pre.system.free & ~held_at_ankle(pre.parts, pre.system)
    force = pre.response.force * pre.system.units * free
    return float(np.abs(force).max())


def walk(pre: Pretensioned, levels: Sequence[float]) -> list[Step]:
    """All loads of the case side by side through shares of them, from the unloaded frame."""
    case = pre.parts.construct.case
    vectors = [load_vector(load, pre.parts, pre.system) for load in case.load]
    forces = np.array([v.force for v in vectors])
    start = np.repeat(pre.u[None], len(vectors), axis=0)
    names = [v.name for v in vectors]
    held = np.array([v.held for v in vectors])
    ways = np.array([level * forces for level in levels])
    return follow(pre.system, ways, pre.law, start, names, held=held)


def steps_to_one(n: int) -> Array:
    """(n,) 1/n … 1."""
    return np.arange(1, n + 1) / n
