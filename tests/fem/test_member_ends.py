"""Elastic joints and hinges at ends of beams, and beams that telescope, against closed forms."""

import numpy as np
import pytest

from fem import MechanismError, Model, ModelBuilder, ModelError, make_system, respond
from fem.assembly import assemble
from fem.chord import chord_state
from fem.recovery import along_members
from tests.fem.linear_models import (
    NO_WIRES,
    STEEL,
    Array,
    deflections,
    plain_section,
    random_rotation,
    turned,
)

L = 120.0
BAR = plain_section(area=60.0, I_y=300.0, I_z=900.0, J=500.0)
EI_Y, EI_Z, GJ, EA = STEEL.E * 300.0, STEEL.E * 900.0, STEEL.G * 500.0, STEEL.E * 60.0
INF = np.inf


def bar(ends: tuple[float, float], R: Array, fixed: tuple[str, ...] = ("a",)) -> Model:
    """One bar from a along R's first column, local z along its third."""
    build = ModelBuilder()
    build.node("a", [0, 0, 0])
    build.node("b", L * R[:, 0])
    build.beam("bar", "a", "b", BAR, STEEL, up=R[:, 2], ends=ends)
    for node in fixed:
        build.fix(node)
    return build.build()


@pytest.mark.parametrize("seed", [0, 1])
def test_cantilever_on_an_elastic_root(seed: int) -> None:
    """v = P L³/3EI + P L²/k, slope P L²/2EI + P L/k (a rigid bar on a spring, added); a joint at
    the tip turns the node only: M/k on top of M L/EI.  Stretch and torsion do not notice.
    """
    R, k_root, k_tip, P, M = random_rotation(seed), 3e5, 7e5, 11.0, 400.0
    model = bar((k_root, k_tip), R)
    tip = turned(R.T, deflections(model, {"b": turned(R, [0, P, 0, 0, 0, 0])})["b"])
    assert tip[1] == pytest.approx(P * L**3 / (3 * EI_Z) + P * L**2 / k_root, rel=1e-10)
    assert tip[5] == pytest.approx(P * L**2 / (2 * EI_Z) + P * L / k_root, rel=1e-10)
    tip = turned(R.T, deflections(model, {"b": turned(R, [0, 0, 0, 0, M, 0])})["b"])
    assert tip[4] == pytest.approx(M * L / EI_Y + M / k_root + M / k_tip, rel=1e-10)
    assert tip[2] == pytest.approx(-M * L**2 / (2 * EI_Y) - M * L / k_root, rel=1e-10)
    tip = turned(R.T, deflections(model, {"b": turned(R, [P, 0, 0, M, 0, 0])})["b"])
    assert tip[0] == pytest.approx(P * L / EA, rel=1e-10)
    assert tip[3] == pytest.approx(M * L / GJ, rel=1e-10)


@pytest.mark.parametrize("k", [1e-3, 1e4, 1e6, 1e12])
def test_sway_of_a_bar_between_equal_joints(k: float) -> None:
    """12 EI/L³ / (1 + 6 EI/kL): slope deflection with M/k at both ends, by hand."""
    K = bar((k, k), np.eye(3)).members.stiffness()[0]
    for sideways, EI in ((7, EI_Z), (8, EI_Y)):
        want = 12 * EI / L**3 / (1 + 6 * EI / (k * L))
        assert K[sideways, sideways] == pytest.approx(want, rel=1e-9)


@pytest.mark.parametrize("seed", [3, 4])
def test_hinges_are_exact(seed: int) -> None:
    """Hinge at B: 3 EI/L³ sideways and no moment at B; hinges at both ends: stretch and torsion
    alone.  (Textbook stiffness of beams with released ends.)
    """
    R = random_rotation(seed)
    turn = np.kron(np.eye(4), R)  # local → global
    one = turn.T @ bar((INF, 0.0), R).members.stiffness()[0] @ turn
    size = 4 * EI_Z / L
    assert one[7, 7] == pytest.approx(3 * EI_Z / L**3, rel=1e-11)
    assert one[8, 8] == pytest.approx(3 * EI_Y / L**3, rel=1e-11)
    assert one[5, 5] == pytest.approx(3 * EI_Z / L, rel=1e-11)
    assert np.abs(one[10:, :]).max() < 1e-12 * size
    two = turn.T @ bar((0.0, 0.0), R).members.stiffness()[0] @ turn
    want = np.zeros((12, 12))
    pair = np.array([[1.0, -1.0], [-1.0, 1.0]])
    want[np.ix_([0, 6], [0, 6])] = EA / L * pair
    want[np.ix_([3, 9], [3, 9])] = GJ / L * pair
    np.testing.assert_allclose(two, want, atol=1e-11 * size)


def test_hinge_is_the_limit_of_soft_joints() -> None:
    """Off by k L / 3 EI, to first order: the shares of k in the closed forms above."""
    hinge = bar((0.0, INF), np.eye(3)).members.stiffness()[0]
    for k in (1e3, 1e1):
        soft = bar((k, INF), np.eye(3)).members.stiffness()[0]
        assert np.abs(soft - hinge).max() < 3.0 * k * L / EI_Y * np.abs(hinge).max()


def tripod(R: Array, planar: bool) -> Model:
    """Bars hinged at both ends from a ground circle to a top node; ``planar``: two, in a plane."""
    build = ModelBuilder()
    build.node("top", R @ [0, 0, 100.0])
    for i, bearing in enumerate([0.0, np.pi] if planar else [0.0, 2.1, 4.4]):
        build.node(f"g{i}", R @ [80 * np.cos(bearing), 80 * np.sin(bearing), 0.0])
        build.beam(f"leg {i}", f"g{i}", "top", BAR, STEEL, ends=(0.0, 0.0))
        build.fix(f"g{i}")
    return build.build()


@pytest.mark.parametrize("seed", [0, 5])
def test_hinged_bars_make_a_truss(seed: int) -> None:
    """Stiffness of the top Σ EA/L e eᵀ, and Σ GJ/L e eᵀ against turning: statics of a truss."""
    R = random_rotation(seed)
    model = tripod(R, planar=False)
    load, M = R @ [30.0, -20.0, 100.0], R @ [5.0, 80.0, -40.0]
    e = model.points[0] - model.points[1:]
    length = np.linalg.norm(e, axis=1)
    e = e / length[:, None]
    pull = np.einsum("k,ki,kj->ij", EA / length, e, e)
    twist = np.einsum("k,ki,kj->ij", GJ / length, e, e)
    top = deflections(model, {"top": np.concatenate([load, M])})["top"]
    np.testing.assert_allclose(top[:3], np.linalg.solve(pull, load), rtol=1e-9)
    np.testing.assert_allclose(top[3:], np.linalg.solve(twist, M), rtol=1e-9)


# a truss lying in the x-y plane, askew: its third direction is all rounding
FLAT = np.array([[0.94, -0.3411744421846396, 0], [0.3411744421846396, 0.94, 0], [0, 0, 1.0]]) @ [
    [1, 0, 0],
    [0, 0, -1],
    [0, 1, 0],
]


@pytest.mark.parametrize("turn", [np.eye(3), FLAT, random_rotation(2), random_rotation(7)])
def test_hinges_that_leave_a_mechanism_are_refused(turn: Array) -> None:
    """Two bars hinged in a plane: the top moves and turns out of it; rounding does not hold it."""
    with pytest.raises(MechanismError, match="'top'"):
        deflections(tripod(turn, planar=True), {"g0": np.zeros(6)})


def test_recovery_of_a_bar_on_hinges() -> None:
    """Two bars hinged to fixed nodes, load P between: v = P x (3 l² - 4 x²) / 48 EI, l = 2 L (beam
    on two supports); no moment at the hinges, P l / 4 in the middle.
    """
    build, P = ModelBuilder(), 25.0
    for name, at in (("a", 0.0), ("m", L), ("b", 2 * L)):
        build.node(name, [at, 0, 0])
    build.beam("left", "a", "m", BAR, STEEL, up=[0, 0, 1], ends=(0.0, INF))
    build.beam("right", "m", "b", BAR, STEEL, up=[0, 0, 1], ends=(INF, 0.0))
    build.fix("a")
    build.fix("b")
    model = build.build()
    moved = deflections(model, {"m": [0, P, 0, 0, 0, 0]})
    along = along_members(model, np.array([moved[n] for n in model.names]), 9)
    x = np.linspace(0.0, L, 9)
    want = P * x * (3 * (2 * L) ** 2 - 4 * x**2) / (48 * EI_Z)
    np.testing.assert_allclose(along.displacement[0, :, 1], want, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(along.displacement[1, ::-1, 1], want, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(along.forces[0, :, 5], -P * x / 2, rtol=1e-9, atol=1e-7)


@pytest.mark.parametrize("ends", [(2e5, 5e4), (0.0, 1e5), (0.0, 0.0), (INF, 0.0)])
def test_recovered_displacement_meets_both_nodes(ends: tuple[float, float]) -> None:
    """For any motion of the nodes, two load cases at once."""
    model = bar(ends, random_rotation(8), fixed=())
    d = np.random.default_rng(1).uniform(-1, 1, (2, 2, 6)) * [1, 1, 1, 0.02, 0.02, 0.02]
    along = along_members(model, d, 5)
    np.testing.assert_allclose(along.displacement[:, 0, 0], d[:, 0, :3], atol=1e-12)
    np.testing.assert_allclose(along.displacement[:, 0, -1], d[:, 1, :3], atol=1e-9)


def test_moment_of_a_joint_is_its_stiffness_times_its_turn() -> None:
    """k φ_A is the moment across that statics finds at A; and what bends there is the rest."""
    k, R = 2e5, random_rotation(3)
    model = bar((k, INF), R, fixed=())
    d = np.random.default_rng(2).uniform(-1, 1, (2, 6)) * [1, 1, 1, 0.02, 0.02, 0.02]
    forces = along_members(model, d, 2).forces[0, 0]
    phi = model.members.turn_at_start()[0] @ d.ravel() @ R
    np.testing.assert_allclose(k * phi, [0.0, forces[4], forces[5]], rtol=1e-9, atol=1e-9)


def test_telescoping_beam() -> None:
    """Its own axial stiffness, nothing else changed; recovery and true chord agree with it."""
    build, k, P = ModelBuilder(), 800.0, 40.0
    build.node("a", [0, 0, 0])
    build.node("b", [0, 0, L])
    build.beam("bar", "a", "b", BAR, STEEL, up=[1, 0, 0], column=True, axial=k)
    build.fix("a")
    model = build.build()
    moved = deflections(model, {"b": [0, 0, P, 0, 0, 0]})
    assert moved["b"][2] == pytest.approx(P / k, rel=1e-9)
    along = along_members(model, np.array([moved[n] for n in model.names]), 5)
    np.testing.assert_allclose(along.displacement[0, :, 2], np.linspace(0, P / k, 5), atol=1e-12)
    np.testing.assert_allclose(along.forces[0, :, 0], P, rtol=1e-9)
    np.testing.assert_allclose(along.stress[0], P / 60.0, rtol=1e-9)
    tip = deflections(model, {"b": [0, 1e-3, 0, 0, 0, 0]})["b"][1]
    assert tip == pytest.approx(1e-3 * L**3 / (3 * EI_Z), rel=1e-6)
    system = make_system(model, keep=["b"])
    u = np.zeros(system.size)
    u[system.dofs("b")[[0, 2]]] = 5.0, 30.0
    state = chord_state(model.chords, u[system.chord_dofs])
    new = np.array([5.0, 0.0, L + 30.0])
    size = np.linalg.norm(new)
    want = k * (size - L) * new / size - [0, 0, k * 30.0]  # what the true chord adds
    np.testing.assert_allclose(state.end_force[0], want, rtol=1e-12)
    bent = np.array([12 * EI_Y / L**3 * 5.0, 0.0, 0.0])  # the end does not turn
    force = respond(system, u, NO_WIRES).force[system.dofs("b")[:3]]
    np.testing.assert_allclose(force, k * (size - L) * new / size + bent, rtol=1e-9, atol=1e-6)


def test_rigid_ends_change_nothing() -> None:
    """Not in the last digit, beside a bar that has joints."""
    first, second = (assemble(m).toarray() for m in _pair_of_bars())
    assert np.array_equal(first[:12, :12], second[:12, :12])


def _pair_of_bars() -> list[Model]:
    models = []
    for ends in ((INF, INF), (5e4, 0.0)):
        build = ModelBuilder()
        for i, name in enumerate("abcd"):
            build.node(name, [10.0 * i, 3.0 * i**2, 1.0])
        build.beam("plain", "a", "b", BAR, STEEL)
        build.beam("other", "c", "d", BAR, STEEL, ends=ends)
        models.append(build.build())
    return models


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"ends": (-1.0, INF)}, "bar.*turning stiffnesses"),
        ({"ends": (np.nan, 0.0)}, "bar.*turning stiffnesses"),
        ({"ends": (1.0,)}, "bar.*turning stiffnesses"),
        ({"axial": 0.0}, "bar.*axial stiffness"),
        ({"axial": INF}, "bar.*axial stiffness"),
    ],
)
def test_bad_ends_are_refused(more: dict[str, object], words: str) -> None:
    build = ModelBuilder()
    build.node("a", [0, 0, 0])
    build.node("b", [1, 0, 0])
    with pytest.raises(ModelError, match=words):
        build.beam("bar", "a", "b", BAR, STEEL, **more)  # type: ignore[arg-type]
