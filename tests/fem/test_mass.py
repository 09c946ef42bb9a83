"""Masses against mass, centre and inertia that geometry gives, and the matrices of the books."""

import numpy as np
import pytest

from fem import Model, ModelBuilder, ModelError, make_system, respond
from fem.frequency import frequencies
from fem.law import Law
from fem.mass import PointMass, mass_matrix, member_mass
from fem.uncondensed import stressed
from tests.fem.dynamic_models import RHO, line, ring
from tests.fem.linear_models import STEEL, Array, plain_section, random_rotation

L = 300.0
BAR = plain_section(area=60.0, I_y=300.0, I_z=900.0, J=500.0)


def rigid(model: Model) -> Array:
    """(6, 6n) unit shifts, then unit turns about the origin."""
    out = np.zeros((6, len(model.names), 6))
    for i, axis in enumerate(np.eye(3)):
        out[i, :, :3] = axis
        out[i + 3, :, :3] = np.cross(axis, model.points)
        out[i + 3, :, 3:] = axis
    return out.reshape(6, -1)


def of_a_body(mass: float, centre: Array, about_centre: Array) -> Array:
    """(6, 6) mass of a rigid body about the origin."""
    c = np.cross(np.eye(3), centre)  # rows: e_i × c, velocities for unit turns
    lever = mass * (centre @ centre * np.eye(3) - np.outer(centre, centre))
    return np.block([[mass * np.eye(3), mass * c.T], [mass * c, about_centre + lever]])


@pytest.mark.parametrize("lumped", [False, True])
def test_a_bar_weighs_what_it_weighs(lumped: bool) -> None:
    """Moved as a whole the bar is a rigid body: ρAL at the middle, ρAL L²/12 and the sections'
    inertia ρIL about it; two halves at the ends make ρAL L²/4 instead.
    """
    R = random_rotation(2)
    build = ModelBuilder()
    a = np.array([10.0, -20.0, 5.0])
    build.node("a", a)
    build.node("b", a + L * R[:, 0])
    build.beam("bar", "a", "b", BAR, STEEL, up=R[:, 2])
    model = build.build()
    got = rigid(model) @ (mass_matrix(model, RHO, lumped=lumped) @ rigid(model).T)
    m = RHO * 60.0 * L
    slim = m * L**2 / (4.0 if lumped else 12.0)
    own = RHO * L * np.diag([1200.0, 300.0, 900.0]) + np.diag([0.0, slim, slim])
    want = of_a_body(m, a + L / 2 * R[:, 0], R @ own @ R.T)
    np.testing.assert_allclose(got, want, rtol=1e-9, atol=1e-9 * np.abs(want).max())


def test_an_arc_weighs_what_it_weighs() -> None:
    """A half circle of radius r without sections' inertia: m = ρAπr, centre 2r/π off, m r² about
    the axis, m r²/2 about the diameter through its ends and square to it.
    """
    r = 80.0
    build = ModelBuilder()
    build.node("a", [r, 0, 0])
    build.node("b", [-r, 0, 0])
    build.arc("arc", "a", "b", [0, 0, 0], [0, 0, 1], BAR, STEEL)
    model = build.build()
    got = rigid(model) @ (mass_matrix(model, RHO, rotary=False) @ rigid(model).T)
    m = RHO * 60.0 * np.pi * r
    centre = np.array([0.0, 2 * r / np.pi, 0.0])
    lever = m * (centre @ centre * np.eye(3) - np.outer(centre, centre))
    about_centre = m * r**2 * np.diag([0.5, 0.5, 1.0]) - lever
    want = of_a_body(m, centre, about_centre)
    np.testing.assert_allclose(got, want, rtol=1e-9, atol=1e-9 * np.abs(want).max())


def test_consistent_matrix_of_the_books() -> None:
    """ρAL/420 [156, 22L, 54, -13L; …] and rotary ρI/30L [36, 3L, …] (Przemieniecki 1968, §11.4)."""
    model = line(BAR, L, 1, {})
    v = [0, 4, 6, 10]  # ux and ry: local y of the section is along -y, bending about I_y
    M = member_mass(model, np.array([RHO]), rotary=False)[0][np.ix_(v, v)]
    book = np.array(
        [
            [156, 22 * L, 54, -13 * L],
            [22 * L, 4 * L**2, 13 * L, -3 * L**2],
            [54, 13 * L, 156, -22 * L],
            [-13 * L, -3 * L**2, -22 * L, 4 * L**2],
        ]
    )
    size = RHO * 60.0 * L / 420.0
    np.testing.assert_allclose(M, size * book, atol=1e-9 * size * L**2)
    R = member_mass(model, np.array([RHO]))[0][np.ix_(v, v)] - M
    rotary = np.array(
        [
            [36, 3 * L, -36, 3 * L],
            [3 * L, 4 * L**2, -3 * L, -(L**2)],
            [-36, -3 * L, 36, -3 * L],
            [3 * L, -(L**2), -3 * L, 4 * L**2],
        ]
    )
    size = RHO * 300.0 / (30.0 * L)
    np.testing.assert_allclose(R, size * rotary, atol=1e-7 * size * L**2)


def test_a_body_on_an_arm() -> None:
    """A mass at the end of an arm is m at its place, whatever node carries it."""
    build = ModelBuilder()
    build.node("hub", [0, 0, 0])
    build.node("rim", [0.0, 30.0, 40.0])
    build.arm("rim", "hub")
    model = build.build()
    J = np.array([[5.0, 1.0, 0.0], [1.0, 6.0, 0.0], [0.0, 0.0, 7.0]])
    mass = mass_matrix(model, {}, points=[PointMass("rim", 0.2, J)])
    got = rigid(model) @ (mass @ rigid(model).T)
    np.testing.assert_allclose(got, of_a_body(0.2, np.array([0.0, 30.0, 40.0]), J), atol=1e-12)


def wired(arm: bool = True) -> Model:
    """A wire over four stations, the inner ones on a body; ``arm``: off it."""
    R, c = random_rotation(5), np.array([20.0, -7.0, 3.0])
    build = ModelBuilder()
    build.node("start", c)
    build.node("end", c + 180.0 * R[:, 0])
    build.node("bone", c + R @ (80.0, 9.0 * arm, -4.0 * arm))
    for name, at in (("near", 70.0), ("far", 95.0)):
        build.node(name, c + at * R[:, 0])
        build.arm(name, "bone")
    build.wire("wire", ["start", "near", "far", "end"], [True, False, False, True], 5e5, 1e5)
    return build.build()


def test_a_wire_weighs_what_it_weighs() -> None:
    """A thin straight line of mass μ L: centre in the middle, μL L²/12 across."""
    model, mu = wired(), 2e-8
    got = rigid(model) @ (mass_matrix(model, {}, wires={"wire": mu}) @ rigid(model).T)
    start, end = model.points[0], model.points[1]
    e = (end - start) / 180.0
    about = mu * 180.0 * 180.0**2 / 12.0 * (np.eye(3) - np.outer(e, e))
    want = of_a_body(mu * 180.0, (start + end) / 2.0, about)
    np.testing.assert_allclose(got, want, rtol=1e-9, atol=1e-9 * np.abs(want).max())


def test_a_wire_slides_through_its_inner_stations() -> None:
    """The body moved along the wire moves none of it; across, what hangs on it with hat functions:
    μ (l₁/3 + l₂ + l₃/3).
    """
    model, mu = wired(arm=False), 2e-8
    mass = mass_matrix(model, {}, wires=mu)
    start, end = model.points[0], model.points[1]
    e = (end - start) / 180.0
    across = np.cross(e, [0.0, 0.0, 1.0])
    across /= np.linalg.norm(across)
    for direction, want in ((e, 0.0), (across, mu * (70.0 / 3 + 25.0 + 85.0 / 3))):
        moved = np.zeros((len(model.names), 6))
        moved[2, :3] = direction  # the master; mass lies on masters
        got = moved.ravel() @ (mass @ moved.ravel())
        assert got == pytest.approx(want, rel=1e-9, abs=1e-20)


def test_body_on_a_tensioned_wire() -> None:
    """√(c/(m + μl/3))/2π, c = (4T/l)/(1 - tanh y/y), y = (l/4)√(T/EI): a body in the middle of a
    wire between fixed clamps, the wire's share as of a string bent straight (Rayleigh).
    """
    half, EI, T, mu, m = 90.0, 1e5, 1000.0, 2e-8, 1e-5
    build = ModelBuilder()
    for name, y in (("a", -half), ("m", 0.0), ("b", half)):
        build.node(name, [0.0, y, 0.0])
    for name in "ab":
        build.fix(name)
    build.fix("m", ("ux", "uy", "rx", "ry", "rz"))
    build.wire("wire", ["a", "m", "b"], [True, False, True], 5e5, EI)
    model = build.build()
    system = make_system(model)
    u = np.zeros(system.size)
    state = stressed(system, u, respond(system, u, Law(tension=np.array([T]))).tangent)
    mass = mass_matrix(model, {}, wires=mu, points=[PointMass("m", m)])
    y = half / 2 * np.sqrt(T / EI)
    c = (4 * T / (2 * half)) / (1 - np.tanh(y) / y)
    want = np.sqrt(c / (m + mu * 2 * half / 3)) / (2 * np.pi)
    assert frequencies(system, state, mass, 1).hertz[0] == pytest.approx(want, rel=1e-9)


def test_density_by_name() -> None:
    model = ring(BAR, 50.0, 3)
    one = mass_matrix(model, RHO).toarray()
    named = mass_matrix(model, dict.fromkeys(model.members.names, RHO)).toarray()
    np.testing.assert_array_equal(one, named)


@pytest.mark.parametrize(
    ("density", "points", "words"),
    [
        ({"a0": 1.0, "a1": 1.0}, [], "'a2' is not given"),
        ({"a0": 1.0, "a1": 1.0, "a2": 1.0, "x": 1.0}, [], "'x'.*no such part"),
        (-1.0, [], "not be less than 0"),
        (np.nan, [], "not be less than 0"),
        (0.0, [PointMass("0", -1.0)], "node '0'.*not be less"),
        (0.0, [PointMass("0", 1.0, (1.0, 1.0, -1.0))], "node '0'.*inertia"),
        (0.0, [PointMass("9", 1.0)], "no node"),
    ],
)
def test_bad_masses_are_refused(density: object, points: list[PointMass], words: str) -> None:
    with pytest.raises(ModelError, match=words):
        mass_matrix(ring(BAR, 50.0, 3), density, points=points)  # type: ignore[arg-type]
