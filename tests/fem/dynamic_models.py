"""Models to vibrate and buckle: beams in a line, polygons of arcs, and their states."""

from collections.abc import Mapping

import numpy as np

from fem import Law, Model, ModelBuilder, Section, System, make_system, respond, solve
from fem.bowing import Stressed
from fem.frequency import Frequencies, frequencies
from fem.mass import mass_matrix
from fem.uncondensed import stressed
from tests.fem.linear_models import NO_WIRES, STEEL, Array

RHO = 8e-9  # tonne/mm³


def line(
    section: Section,
    length: float,
    pieces: int,
    supports: Mapping[int, tuple[str, ...]],
    *,
    column: bool = False,
    root: float = np.inf,
    tip: float = np.inf,
    along: Array | None = None,
) -> Model:
    """Beams one after another from the origin, local z in the global x-z plane when along z.

    supports : fixed freedoms by number of the node.  root, tip : turning stiffness of the joints at
    the first and last node.  along : (3,) unit direction, global z when not given.
    """
    build, e = ModelBuilder(), np.array([0.0, 0.0, 1.0]) if along is None else along
    for i in range(pieces + 1):
        build.node(f"{i}", length * i / pieces * e)
    up = None if along is not None else [1.0, 0.0, 0.0]
    for i in range(pieces):
        ends = (root if i == 0 else np.inf, tip if i == pieces - 1 else np.inf)
        build.beam(f"b{i}", f"{i}", f"{i + 1}", section, STEEL, up=up, column=column, ends=ends)
    for node, freedoms in supports.items():
        build.fix(f"{node}", freedoms)
    return build.build()


def at_rest(system: System) -> Stressed:
    """The state without displacement of a system without wires."""
    u = np.zeros(system.size)
    return stressed(system, u, respond(system, u, NO_WIRES).tangent)


def under(system: System, loads: dict[str, Array], law: Law = NO_WIRES) -> Stressed:
    """The state under loads (6,) on kept nodes."""
    p = np.zeros((1, system.size))
    for node, load in loads.items():
        p[0, system.dofs(node)] += load
    u = solve(system, p, law, np.zeros_like(p), ["load"]).u[0]
    return stressed(system, u, respond(system, u, law).tangent)


def vibrate(
    model: Model, count: int, *, density: float = RHO, lumped: bool = False, rotary: bool = True
) -> Frequencies:
    """Lowest frequencies of a model without wires, at rest."""
    system = make_system(model, keep=[model.names[0]])  # something to hold on to when it is free
    mass = mass_matrix(model, density, lumped=lumped, rotary=rotary)
    return frequencies(system, at_rest(system), mass, count)


def ring(section: Section, radius: float, pieces: int) -> Model:
    """A free ring of arcs about the z axis."""
    build = ModelBuilder()
    angle = 2 * np.pi * np.arange(pieces) / pieces
    for i, a in enumerate(angle):
        build.node(f"{i}", [radius * np.cos(a), radius * np.sin(a), 0.0])
    for i in range(pieces):
        to = f"{(i + 1) % pieces}"
        build.arc(f"a{i}", f"{i}", to, [0, 0, 0], [0, 0, 1], section, STEEL)
    return build.build()
