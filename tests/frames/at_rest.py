"""A frame tensioned and locked straight in the kernel, not by the program's own way of checking:
its stiffness at the gap and the states behind it."""

from dataclasses import dataclass, replace

import numpy as np

from fem import Law, System, lock, make_system, node_displacements, respond, solve
from fem.algebra import Array
from frames import case_from_dict
from frames.construct import construct
from frames.discretise import POINTS, Discretised, discretise
from frames.gap import gap_compliance, named_stiffnesses
from frames.supports import held_at_ankle
from tests.frames.cases import Raw


@dataclass(frozen=True)
class AtRest:
    """compliance (6, 6) at the gap; stiffness by name; moved (n, 6) of all nodes by pretension."""

    parts: Discretised
    system: System
    u: Array
    compliance: Array
    stiffness: dict[str, float]
    moved: Array

    def place(self, node: str) -> Array:
        """(3,) where a node is in the tensioned frame."""
        n = self.parts.model.node(node)
        return np.asarray(self.parts.model.points[n] + self.moved[n, :3])


def parts_of(raw: Raw) -> Discretised:
    """The model of a case."""
    return discretise(construct(case_from_dict(raw)))


def at_rest(raw: Raw) -> AtRest:
    """Tensioned at once, then locked."""
    parts = parts_of(raw)
    system = make_system(parts.model, keep=[parts.point_node[p] for p in POINTS])
    held = held_at_ankle(parts, system)
    tension = np.array([w.wire.tension for w in parts.construct.wires])
    zero = np.zeros((1, system.size))
    u, law = zero[0], Law(natural=np.zeros(0))
    if len(tension):
        found = solve(system, zero, Law(tension=tension), zero, ["pretension"], held=held)
        natural = lock(system, found.response).natural
        assert natural is not None
        u, law = found.u[0], Law(natural=natural[0])
    law = replace(law, late=u[system.late_dofs])
    C = gap_compliance(parts, system, respond(system, u, law).tangent, "pretension", held)
    return AtRest(parts, system, u, C, named_stiffnesses(C), node_displacements(system, u))


def stiffness(raw: Raw) -> dict[str, float]:
    """The six named stiffnesses."""
    return at_rest(raw).stiffness
