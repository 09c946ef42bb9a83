"""A frame before load and under all of its loads: what every file here starts from."""

from collections.abc import Callable
from dataclasses import dataclass

from fem import MechanismError
from fem.algebra import Array
from fem.newton import Solution
from fem.system import Response
from frames.built import built
from frames.casefile import Case
from frames.construct import Construct
from frames.discretise import Discretised
from frames.freedom import explained
from frames.load_states import solve_loads
from frames.loading import LoadVector, load_vector
from frames.pretension import Pretensioned, pretension

AT_REST = "no load"


@dataclass(frozen=True)
class Solved:
    """pre : the frame at rest.  vectors : its c loads.  solution : under each, None without any."""

    pre: Pretensioned
    vectors: tuple[LoadVector, ...]
    solution: Solution | None

    @property
    def parts(self) -> Discretised:
        """The model and how it maps to the parts."""
        return self.pre.parts

    @property
    def place(self) -> Construct:
        """Where the parts are."""
        return self.pre.parts.construct

    @property
    def states(self) -> tuple[str, ...]:
        """(c + 1) names: rest, then every load."""
        return (AT_REST, *(v.name for v in self.vectors))

    @property
    def displacements(self) -> list[Array]:
        """(1, n) at rest, then (c, n) under the loads, if there are any."""
        return [self.pre.u[None], *([] if self.solution is None else [self.solution.u])]

    @property
    def responses(self) -> list[Response]:
        """At rest, without an axis of loads, then under the loads, if there are any."""
        loaded = [] if self.solution is None else [self.solution.response]
        return [self.pre.response, *loaded]


def solved(case: Case, say: Callable[[str], None] | None = None) -> Solved:
    """Raises ``FemError`` when the frame cannot be solved; ``say`` is told how far it is."""
    parts = built(case)
    try:
        pre = pretension(parts)
        vectors = tuple(load_vector(load, parts, pre.system) for load in case.load)
        if say is not None and vectors:
            say("loads")
        return Solved(pre, vectors, solve_loads(pre, vectors).solution if vectors else None)
    except MechanismError as error:
        raise explained(error, parts) from error
