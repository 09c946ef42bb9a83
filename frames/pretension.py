"""The frame with all wires at their final tensions, before any load; rings giving way.

With the tensions given, equilibrium under the wires' pull alone is found; then each wire is locked
at the natural length that goes with its tension and place.  From there on its tension follows from
the load.
"""

from dataclasses import dataclass

import numpy as np

from fem import Solution, System, WireLaw, lock, make_system, respond, solve
from fem.algebra import Array
from fem.system import Response
from frames.discretise import POINTS, Discretised
from frames.supports import held_at_ankle

STATE = "pretension"


@dataclass(frozen=True)
class Pretensioned:
    """system; u (n,) at pretension; law: wires locked; response there (locked tangent); solution:
    how it was found."""

    parts: Discretised
    system: System
    u: Array
    law: WireLaw
    response: Response
    solution: Solution


def pretension(parts: Discretised) -> Pretensioned:
    """Tension, find equilibrium, lock."""
    system = make_system(parts.model, keep=[parts.point_node[p] for p in POINTS])
    tension = np.array([w.wire.tension for w in parts.construct.wires])
    zero = np.zeros((1, system.size))
    held = held_at_ankle(parts, system)
    found = solve(system, zero, WireLaw(tension=tension), zero, [STATE], held=held)
    u = found.u[0]
    natural = lock(system, found.response).natural
    assert natural is not None
    law = WireLaw(natural=natural[0])
    return Pretensioned(parts, system, u, law, respond(system, u, law), found)
