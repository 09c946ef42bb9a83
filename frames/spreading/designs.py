"""The drawn frames as a run of many designs takes them (``frames.studyrun``), and running them."""

from collections import Counter
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from math import nan
from typing import TYPE_CHECKING, cast

import numpy as np

from fem.algebra import Array
from frames.casefile import Case
from frames.outputs import Output
from frames.spreading.plan import Plan
from frames.spreading.sampling import built, draw
from frames.spreading.spread_result import Failure

if TYPE_CHECKING:
    from frames.studyfile import Study


@dataclass(frozen=True)
class Designs:
    """What a worker needs to know: the planned case without tolerances, plan, seed, outputs."""

    case: Case
    plan: Plan
    seed: int
    outputs: tuple[Output, ...]

    def values(self, start: int, stop: int) -> list[tuple[float, ...]]:
        """Numbers of designs start … stop - 1."""
        sample = draw(self.plan, stop - start, self.seed, start)
        return [tuple(row) for row in sample.values.tolist()]

    def build(self, values: tuple[float, ...]) -> Case:
        """One design. Raises ``Unbuildable``."""
        from frames.studyfile import Unbuildable

        (design,) = built(self.case, self.plan, np.array([values]))
        if isinstance(design, str):
            raise Unbuildable(design)
        return design


def solved(
    designs: Designs, count: int, workers: int, say: Callable[[str], None]
) -> tuple[Array, tuple[Failure, ...]]:
    """(n, k) outputs of all designs, NaN where there is none, and why there is none."""
    from frames.studyrun.pool import solved_by_pool, solved_here
    from frames.studyrun.spans import spans, usual_chunk

    study = cast("Study", designs)  # values, build, outputs: all that a run asks of one
    todo = list(spans(count, usual_chunk(count)))
    processes = min(workers, len(todo))
    found = np.full((count, len(designs.outputs)), nan)
    reasons: Counter[str] = Counter()
    done = 0
    say(f"frames within the tolerances: 0 of {count}")
    if processes > 1:
        chunks = solved_by_pool(study, todo, processes)
    else:
        chunks = solved_here(study, todo)
    with closing(chunks):
        for span, rows in chunks:
            for i, row in enumerate(rows, start=span.start):
                found[i] = [nan if v is None else v for v in row.outputs]
            reasons.update(row.reason for row in rows if row.reason is not None)
            done += span.rows
            say(f"frames within the tolerances: {done} of {count}")
    told = sorted(reasons.items(), key=lambda item: (-item[1], item[0]))
    return found, tuple(Failure(*item) for item in told)
