"""The frame at rest, as small loads find it: what grips, grips.

After tensioning, nut turns or a cycle of load much of what holds by friction stands right at its
limit: the bone on wires that slid through it, clamps that slipped. More of the same would slide
further at once, anything else would not; which of the two is "the" stiffness is not a question of
rounding. At rest everything sticks, as faces of the fracture do (``fem.contact``): limits are
raised by a hair, 1e-6 of them and of a newton.
"""

from dataclasses import replace

import numpy as np

from fem import Law, System, respond
from fem.algebra import Array
from fem.system import Response

HAIR = 1e-6


def respond_at_rest(system: System, u: Array, law: Law) -> Response:
    """``fem.respond`` at u (n,) in equilibrium, with the tangent of a frame in which nothing slides
    on."""
    held = system.model.held_wires
    if held is None:
        return respond(system, u, law)
    grip, slip = held.holds.grip, held.holds.slip
    holds = replace(
        held.holds,
        grip=np.where(grip > 0.0, grip * (1.0 + HAIR) + HAIR, 0.0),
        slip=slip * (1.0 + HAIR),
    )
    model = replace(system.model, held_wires=replace(held, holds=holds))
    return respond(replace(system, model=model), u, law)
