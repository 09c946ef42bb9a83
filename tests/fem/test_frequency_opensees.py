"""Frequencies of a frame in space against an independent general-purpose solver (openseespy)."""

from itertools import pairwise

import numpy as np
import openseespy.opensees as ops

from fem import ModelBuilder, make_system, tube
from fem.frequency import frequencies
from fem.mass import PointMass, mass_matrix
from tests.fem.dynamic_models import RHO, at_rest
from tests.fem.linear_models import STEEL, plain_section

HEIGHT, SPAN, PIECES, COUNT, BODY = 400.0, 300.0, 6, 8, 2e-4
# without shear; J = I_y + I_z, so that torsion has the same inertia in both
TUBE = tube(12.0, 10.0, 0.3)
BAR = plain_section(TUBE.area, TUBE.I_y, TUBE.I_z, TUBE.J)


def frame() -> tuple[list[np.ndarray], list[tuple[int, int]], list[int]]:
    """Points, members by their numbers, feet: four posts, four beams on top, one brace."""
    corners = [np.array([x, y, 0.0]) for x, y in ((0, 0), (SPAN, 0), (SPAN, 200.0), (0, 200.0))]
    points: list[np.ndarray] = []
    members: list[tuple[int, int]] = []

    def run(a: np.ndarray, b: np.ndarray) -> None:
        chain = [_number(points, a + (b - a) * i / PIECES) for i in range(PIECES + 1)]
        members.extend(pairwise(chain))

    top = [c + np.array([0.0, 0.0, HEIGHT]) for c in corners]
    for i in range(4):
        run(corners[i], top[i])
        run(top[i], top[(i + 1) % 4])
    run(corners[0], top[1])
    return points, members, [_number(points, c) for c in corners]


def _number(points: list[np.ndarray], x: np.ndarray) -> int:
    for i, p in enumerate(points):
        if np.abs(p - x).max() < 1e-9:
            return i
    points.append(x)
    return len(points) - 1


def by_opensees() -> np.ndarray:
    points, members, feet = frame()
    ops.wipe()
    ops.model("basic", "-ndm", 3, "-ndf", 6)
    for i, x in enumerate(points):
        ops.node(i, *map(float, x))
    for foot in feet:
        ops.fix(foot, *[1] * 6)
    for n, (a, b) in enumerate(members):
        e = points[b] - points[a]
        up = np.eye(3)[np.argmin(np.abs(e))]
        ops.geomTransf("Linear", n, *map(float, up))
        section = (BAR.area, STEEL.E, STEEL.G, BAR.J, BAR.I_y, BAR.I_z)
        mass = ("-mass", RHO * BAR.area, "-cMass")
        ops.element("elasticBeamColumn", n, a, b, *section, n, *mass)
    top = _number(points, np.array([SPAN, 200.0, HEIGHT]))
    ops.mass(top, BODY, BODY, BODY, 0.0, 0.0, 0.0)
    omega2 = np.array(ops.eigen(COUNT))
    ops.wipe()
    return np.sqrt(omega2) / (2 * np.pi)


def test_braced_frame_in_space() -> None:
    """Same mesh, same theory of beams, consistent mass in both. That solver counts the sections'
    inertia in torsion but not in bending: every one of its frequencies lies between ours with all
    of it and with none (Rayleigh), a gap of 0.2 % or less.
    """
    points, members, feet = frame()
    build = ModelBuilder()
    for i, x in enumerate(points):
        build.node(f"{i}", x)
    for n, (a, b) in enumerate(members):
        build.beam(f"m{n}", f"{a}", f"{b}", BAR, STEEL)
    for foot in feet:
        build.fix(f"{foot}")
    model = build.build()
    system = make_system(model)
    top = _number(points, np.array([SPAN, 200.0, HEIGHT]))
    with_all, with_none = (
        frequencies(
            system,
            at_rest(system),
            mass_matrix(model, RHO, points=[PointMass(f"{top}", BODY)], rotary=rotary),
            COUNT,
        ).hertz
        for rotary in (True, False)
    )
    theirs = by_opensees()
    assert (with_all < theirs).all()
    assert (theirs < with_none).all()
    np.testing.assert_allclose(with_all, with_none, rtol=2e-3)
