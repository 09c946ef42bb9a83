"""Forces, stresses, displacements along members against statics, closed forms, finer meshes."""

import numpy as np
import pytest

from fem import (
    Material,
    Model,
    ModelBuilder,
    make_system,
    node_displacements,
    rectangle,
    solve,
    tube,
)
from fem.recovery import Along, along_members
from tests.fem.linear_models import NO_WIRES, Array, random_rotation

STEEL = Material(E=193_000.0, nu=0.3, name="steel")
BAR = rectangle(14.0, 5.0, 0.3, "bar")


def moved(model: Model, loads: dict[str, Array]) -> Array:
    """(n, 6) displacements under loads on some nodes."""
    system = make_system(model, keep=list(loads))
    p = np.zeros((1, system.size))
    for node, load in loads.items():
        p[0, system.dofs(node)] += load
    return node_displacements(system, solve(system, p, NO_WIRES, np.zeros_like(p), ["load"]).u[0])


def cantilever(L: float, R: Array | None = None) -> Model:
    """From the origin along local x, z of the section along R's third row."""
    R = np.eye(3) if R is None else R
    build = ModelBuilder()
    build.node("root", (0.0, 0.0, 0.0))
    build.node("tip", L * R[0])
    build.beam("bar", "root", "tip", BAR, STEEL, up=R[2])
    build.fix("root")
    return build.build()


def at_tip(R: Array, P: Array, M: Array) -> Array:
    """Load (6,) given in local axes (rows of R)."""
    return np.concatenate([P @ R, M @ R])


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_section_forces_of_a_cantilever(seed: int) -> None:
    """N, V constant, M = M_tip + (L - s) e × P: statics, whatever way the bar points."""
    L, R = 150.0, random_rotation(seed)
    P, M = np.array([300.0, 20.0, -35.0]), np.array([900.0, -500.0, 700.0])
    model = cantilever(L, R)
    along = along_members(model, moved(model, {"tip": at_tip(R, P, M)}), 7)
    s = np.linspace(0.0, L, 7)
    np.testing.assert_allclose(along.points[0], s[:, None] * R[0], atol=1e-12)
    np.testing.assert_allclose(along.forces[0, :, :3], np.tile(P, (7, 1)), rtol=1e-9)
    arm = (L - s)[:, None] * np.array([1.0, 0.0, 0.0])
    np.testing.assert_allclose(along.forces[0, :, 3:], M + np.cross(arm, P), rtol=1e-9, atol=1e-6)


def test_deflection_of_a_cantilever() -> None:
    """Timoshenko's bar under a tip force: v = P (3 L s² - s³) / 6EI + P s / κGA."""
    L, P = 150.0, 40.0
    model = cantilever(L)
    along = along_members(model, moved(model, {"tip": np.array([0, P, 0, 0, 0, 0.0])}), 11)
    s = np.linspace(0.0, L, 11)
    bent = P * (3.0 * L * s**2 - s**3) / (6.0 * STEEL.E * BAR.I_z)
    sheared = P * s / (STEEL.G * BAR.shear_area_y)
    np.testing.assert_allclose(along.displacement[0, :, 1], bent + sheared, rtol=1e-9, atol=1e-12)


def test_stress_at_the_outermost_fibre() -> None:
    """|N|/A + |M_y| h/2 / I_y + |M_z| b/2 / I_z at a corner of the rectangle, b = 14, h = 5 mm."""
    model = cantilever(100.0)
    load = np.array([-800.0, 30.0, 12.0, 500.0, 200.0, -900.0])
    along = along_members(model, moved(model, {"tip": load}), 3)
    M_y, M_z = 200.0 - 100.0 * 12.0, -900.0 + 100.0 * 30.0  # at the root
    expected = 800.0 / 70.0 + abs(M_y) * 6.0 / (14.0 * 25.0) + abs(M_z) * 6.0 / (5.0 * 196.0)
    assert along.stress[0, 0] == pytest.approx(expected, rel=1e-9)
    assert along.stress[0, 2] == pytest.approx(
        800.0 / 70.0 + 200.0 * 6.0 / 350.0 + 900.0 * 6.0 / 980.0, rel=1e-9
    )


def test_stress_of_a_tube_in_bending() -> None:
    """M r / I, both axes alike."""
    section = tube(26.0, 14.0, 0.3)
    build = ModelBuilder()
    build.node("a", (0, 0, 0))
    build.node("b", (0, 0, 120.0))
    build.beam("bone", "a", "b", section, STEEL)
    build.fix("a")
    model = build.build()
    for moment in ([0, 0, 0, 5e3, 0, 0], [0, 0, 0, 0, 5e3, 0]):
        stress = along_members(model, moved(model, {"b": np.array(moment, float)}), 3).stress[0]
        np.testing.assert_allclose(stress, 5e3 * 13.0 / section.I_z, rtol=1e-9)


def ring_arc(pieces: int, angle: float, R: Array, straight: bool = False) -> Model:
    """An arc of radius 87 mm, held at its start; of ``pieces`` arcs or straight bars."""
    build = ModelBuilder()
    radius = 87.0
    for k in range(pieces + 1):
        a = angle * k / pieces
        build.node(f"n{k}", radius * np.array([np.cos(a), np.sin(a), 0.0]) @ R)
    for k in range(pieces):
        if straight:
            build.beam(f"bar {k}", f"n{k}", f"n{k + 1}", BAR, STEEL, up=R[2])
        else:
            build.arc(f"arc {k}", f"n{k}", f"n{k + 1}", (0, 0, 0), R[2], BAR, STEEL)
    build.fix("n0")
    return build.build()


LOAD = np.array([15.0, -22.0, 9.0, 400.0, 300.0, -800.0])


@pytest.mark.parametrize("angle", [0.4, 1.9, 4.0])
def test_arc_against_shorter_arcs(angle: float) -> None:
    """What one arc says of the places along it is what nodes there say: exact, but for the rule
    of integration between two places."""
    R, pieces = random_rotation(4), 8
    load = at_tip(R, LOAD[:3], LOAD[3:])
    whole = ring_arc(1, angle, R)
    along = along_members(whole, moved(whole, {"n1": load}), pieces + 1)
    fine = ring_arc(pieces, angle, R)
    d = moved(fine, {f"n{pieces}": load})
    np.testing.assert_allclose(along.points[0], fine.points, atol=1e-11)
    size = np.abs(d[:, :3]).max()
    np.testing.assert_allclose(along.displacement[0], d[:, :3], atol=1e-6 * size)


def test_arc_against_many_straight_bars() -> None:
    """Nothing curved in the reference: short bars, whose error falls as their number squared."""
    angle, R = 2.2, np.eye(3)
    whole = ring_arc(1, angle, R)
    along = along_members(whole, moved(whole, {"n1": LOAD}), 11)
    size = np.abs(along.displacement).max()

    def error(pieces: int) -> float:
        fine = ring_arc(pieces, angle, R, straight=True)
        d = moved(fine, {f"n{pieces}": LOAD})
        return float(np.abs(along.displacement[0] - d[:: pieces // 10, :3]).max() / size)

    assert error(200) < 2e-5
    assert error(50) / error(200) == pytest.approx(16.0, rel=0.1)


def test_section_forces_of_an_arc() -> None:
    """Statics: P and M + (X_B - X) × P, in (tangent, outwards, axis)."""
    angle, R = 2.2, random_rotation(7)
    model = ring_arc(1, angle, R)
    load = at_tip(R, LOAD[:3], LOAD[3:])
    along = along_members(model, moved(model, {"n1": load}), 5)
    P, M = load[:3], load[3:]
    for k, a in enumerate(np.linspace(0.0, angle, 5)):
        out = np.array([np.cos(a), np.sin(a), 0.0]) @ R
        axes = np.array([np.cross(R[2], out), out, R[2]])
        moment = M + np.cross(along.points[0, -1] - along.points[0, k], P)
        np.testing.assert_allclose(along.forces[0, k, :3], axes @ P, rtol=1e-8, atol=1e-6)
        np.testing.assert_allclose(along.forces[0, k, 3:], axes @ moment, rtol=1e-8, atol=1e-5)


def _mixed() -> tuple[Model, Array]:
    """A ring of three arcs on a bar, nothing in one plane."""
    build = ModelBuilder()
    R = random_rotation(11)
    for k, a in enumerate((0.1, 1.7, 4.4)):
        build.node(f"r{k}", 87.0 * np.array([np.cos(a), np.sin(a), 0.0]) @ R + [1.0, 2.0, 3.0])
    for a, b in ((0, 1), (1, 2), (2, 0)):
        build.arc(f"arc {a}", f"r{a}", f"r{b}", (1.0, 2.0, 3.0), R[2], BAR, STEEL)
    build.node("foot", (10.0, -150.0, 60.0))
    build.beam("bar", "foot", "r0", tube(8.0, 0.0, 0.3), STEEL)
    build.fix("foot")
    model = build.build()
    return model, moved(model, {"r1": LOAD, "r2": -0.3 * LOAD})


def test_ends_of_members_move_with_their_nodes() -> None:
    model, d = _mixed()
    along = along_members(model, d, 9)
    for m, (a, b) in enumerate(model.members.ends):
        size = np.abs(d[:, :3]).max()
        np.testing.assert_allclose(along.points[m, [0, -1]], model.points[[a, b]], atol=1e-9)
        np.testing.assert_allclose(along.displacement[m, 0], d[a, :3], atol=1e-12 * size)
        np.testing.assert_allclose(along.displacement[m, -1], d[b, :3], atol=1e-6 * size)


def test_end_forces_are_those_of_the_stiffness() -> None:
    """K d of each member is the force that its end B bears; and loads balance at the nodes."""
    model, d = _mixed()
    along = along_members(model, d, 3)
    K = model.members.stiffness()
    for m, (a, b) in enumerate(model.members.ends):
        f = (K[m] @ np.concatenate([d[a], d[b]]))[6:]
        local = along.forces[m, -1]
        assert np.linalg.norm(local[:3]) == pytest.approx(np.linalg.norm(f[:3]), rel=1e-8)
        assert np.linalg.norm(local[3:]) == pytest.approx(np.linalg.norm(f[3:]), rel=1e-8)
    bar = along.forces[model.members.names.index("bar")]
    total = 0.7 * LOAD[:3]
    assert np.linalg.norm(bar[0, :3]) == pytest.approx(np.linalg.norm(total), rel=1e-8)


def test_cases_side_by_side() -> None:
    """Leading axes are load cases; recovery is linear."""
    model, d = _mixed()
    one = along_members(model, d, 5)
    many: Along = along_members(model, np.stack([d, -2.0 * d]), 5)
    assert many.displacement.shape == (2, *one.displacement.shape)
    np.testing.assert_allclose(many.displacement[0], one.displacement, rtol=1e-12)
    np.testing.assert_allclose(many.displacement[1], -2.0 * one.displacement, rtol=1e-12)
    np.testing.assert_allclose(many.forces[1], -2.0 * one.forces, rtol=1e-12)
    np.testing.assert_allclose(many.stress[1], 2.0 * one.stress, rtol=1e-12)


def test_a_body_moved_as_a_whole_bears_nothing() -> None:
    model, _ = _mixed()
    shift, turn = np.array([1.0, -2.0, 0.5]), np.array([1e-3, 2e-3, -5e-4])
    d = np.zeros((len(model.names), 6))
    d[:, :3] = shift + np.cross(turn, model.points)
    d[:, 3:] = turn
    along = along_members(model, d, 5)
    np.testing.assert_allclose(along.stress, 0.0, atol=1e-6)
    np.testing.assert_allclose(
        along.displacement, shift + np.cross(turn, along.points), rtol=1e-9, atol=1e-9
    )
