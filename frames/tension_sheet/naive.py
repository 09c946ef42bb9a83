"""Every wire dialled at the tension it should have, in turn: what is left, and what to tension once
more."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fem import System, make_system
from fem.algebra import Array
from fem.law import Law
from frames.discretise import POINTS, Discretised
from frames.holding import drops, tensioning_order, wire_pulls
from frames.staging import Stages, loose


@dataclass(frozen=True)
class Bench:
    """A frame with its wires loose, ready to be tensioned in any order. wanted (w,) N: what every
    wire should have; pulls (w, 2), drop (w,): what is dialled, and the share that is lost."""

    parts: Discretised
    system: System
    law: Law
    u: Array
    wanted: Array
    pulls: Array
    drop: Array

    def start(self) -> Stages:
        """Before the first wire."""
        return Stages(self.parts, self.system, self.law, self.u)

    def left(self, stages: Stages) -> Array:
        """(w,) N in every wire after the last stage, its leg at an end that is pulled."""
        left = stages.stages[-1].left
        at_start = np.isfinite(self.pulls[:, 0])
        return np.where(at_start, left[:, 0], left[:, 1])


def bench_of(parts: Discretised) -> Bench:
    """parts: of a case with ``pretension = "dialled"``."""
    case = parts.construct.case
    system = make_system(parts.model, keep=[parts.point_node[p] for p in POINTS])
    law, u = loose(parts, system)
    pulls = wire_pulls(case)
    wanted = np.where(np.isfinite(pulls[:, 0]), pulls[:, 0], pulls[:, 1])
    return Bench(parts, system, law, u, wanted, pulls, drops(case))


def in_turn(bench: Bench, order: Sequence[Sequence[int]]) -> Stages:
    """All wires, stage by stage in an order."""
    stages = bench.start()
    for wires in order:
        stages.run(wires, bench.pulls, bench.drop)
    return stages


def scatter(left: Array, wanted: Array) -> float:
    """Largest less smallest share of the wanted tension that wires end with, percent."""
    share = left / wanted
    return 100.0 * float(share.max() - share.min())


@dataclass(frozen=True)
class NaiveWire:
    """A wire dialled at wanted_N: left_N after the last stage, off in percent; left once more
    tensioned, after the second round, None without one."""

    name: str
    wanted_N: float
    left_N: float
    off_percent: float
    again: bool
    second_N: float | None


def naive_round(bench: Bench, within_percent: float) -> tuple[NaiveWire, ...]:
    """In the case's order; wires off by more than within_percent are tensioned once more, in the
    same order."""
    order = tensioning_order(bench.parts.construct.case)
    stages = in_turn(bench, order)
    left = bench.left(stages)
    off = 100.0 * (left / bench.wanted - 1.0)
    again = np.abs(off) > within_percent
    second = None
    if again.any():
        more = stages.branch()
        for wires in order:
            rows = [i for i in wires if again[i]]
            if rows:
                more.run(rows, bench.pulls, bench.drop, again=True)
        second = bench.left(more)
    return tuple(
        NaiveWire(
            name,
            float(bench.wanted[i]),
            float(left[i]),
            float(off[i]),
            bool(again[i]),
            None if second is None else float(second[i]),
        )
        for i, name in enumerate(bench.parts.wire_names)
    )
