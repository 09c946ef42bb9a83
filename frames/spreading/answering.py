"""How far the answers of a frame spread when it is built within tolerances.

A sample of frames (Monte Carlo, ``sampling``) gives chances and percentiles as they are, kinks
included; slopes at the planned frame (``frames.mending``) give a first-order estimate beside it
and say which tolerance matters (``shares``).
"""

from collections.abc import Callable, Sequence
from math import nan

import numpy as np

from fem import FemError
from fem.algebra import Array
from frames.bulk import evaluate
from frames.casefile import Case, CaseError
from frames.casefile.problems import Problem
from frames.mending import sensitivities
from frames.mending.answers import Asked, asked_of
from frames.outputs import Output
from frames.quantities import STIFFNESSES
from frames.spreading.defaults import default_tolerances
from frames.spreading.designs import Designs, solved
from frames.spreading.plan import Plan, plan_of
from frames.spreading.sampling import draw
from frames.spreading.spread_result import Spread
from frames.spreading.summary import summary

MOST_DESIGNS = 1_000_000


def spread(
    case: Case,
    designs: int = 1000,
    seed: int = 0,
    workers: int = 1,
    say: Callable[[str], None] = lambda _words: None,
) -> Spread:
    """Chances of meeting the targets, spread of what they ask for and of stiffness and closing.

    Tolerances are those of the case ([[tolerance]]), else ``default_tolerances``. Designs that
    cannot be built or solved meet no target. The same seed gives the same answer, whatever the
    number of ``workers`` (processes; with more than 1, call it below ``if __name__ == "__main__":``
    in a script). Raises ``FemError`` when the planned frame cannot be solved, ``CaseError`` for
    numbers out of range, ``frames.studyrun.ClusterError`` when no process can be started.
    """
    if not 1 <= designs <= MOST_DESIGNS:
        problem = Problem("designs", f"must be 1 to {MOST_DESIGNS}", designs)
        raise CaseError([problem], "spread")
    if workers < 1:
        raise CaseError([Problem("workers", "must be 1 or more", workers)], "spread")
    if seed < 0:
        raise CaseError([Problem("seed", "must not be negative", seed)], "spread")
    # loads that come and go leave the answers as they are, and take long
    bare = case.model_copy(update={"history": (), "tolerance": ()})
    plan = plan_of(bare, case.tolerance or default_tolerances(case))
    asked = _asked(case)
    planned = _planned(bare, asked)
    slopes, left_out = _slopes(bare, plan, asked, say)
    sample = draw(plan, designs, seed)
    outputs = tuple(Output(*a) for a in asked)
    values, failures = solved(Designs(bare, plan, seed, outputs), designs, workers, say)
    return summary(case, plan, sample, asked, planned, slopes, values, seed, failures, left_out)


def _asked(case: Case) -> tuple[Asked, ...]:
    """The six stiffnesses, what targets ask for, closing under each load: by loads."""
    asked: list[Asked] = [(name, None) for name in STIFFNESSES]
    by_targets = asked_of(case.target)
    for load in case.load:
        asked += [a for a in by_targets if a[1] == load.name]
        asked.append(("closing_mm", load.name))
    return tuple(dict.fromkeys(asked))


def _planned(case: Case, asked: Sequence[Asked]) -> Array:
    (row,) = evaluate([case], [Output(*a) for a in asked])
    if row.reason is not None:
        raise FemError(f"the frame as planned cannot be solved: {row.reason}")
    return np.array([nan if v is None else v for v in row.values])


def _slopes(
    case: Case, plan: Plan, asked: Sequence[Asked], say: Callable[[str], None]
) -> tuple[Array, tuple[str, ...]]:
    """(k, d) slopes of what is asked for by the draws, and the numbers without slopes."""
    wanted = [n.parameter for n in plan.numbers]
    by = {(s.parameter.path, s.parameter.component): s.by
          for s in sensitivities(case, asked, wanted, say)}  # fmt: skip
    none = (0.0,) * len(asked)
    rows = np.array([by.get((p.path, p.component), none) for p in wanted])
    missing = tuple(p.path for p in wanted if (p.path, p.component) not in by)
    return rows.T @ plan.weights, missing
