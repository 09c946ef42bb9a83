"""The corotational element by itself: derivatives, rigid motions, closed-form stiffness."""

import numpy as np
import pytest
from numpy.typing import NDArray

from fem.algebra import skew
from fem.corotational import element_state
from fem.corotational_model import CorotationalModel, corotational_model
from fem.corotational_newton import assemble
from fem.errors import ModelError
from fem.rotations import rotation_matrix
from tests.fem.corotational_cases import chain, straight

Array = NDArray[np.float64]


@pytest.fixture
def tangle() -> tuple[CorotationalModel, Array, Array]:
    """Elements far from equilibrium, with shear, without, as a hinged bar, and under tension."""
    rng = np.random.default_rng(0)
    model = corotational_model(
        5.0 * rng.normal(size=(5, 3)),
        [[0, 1], [1, 2], [3, 1], [4, 0]],
        EA=[100.0, 70.0, 1e4, 90.0],
        GJ=7.0,
        EIy=[3.0, 4.0, 5.0, 0.0],
        EIz=9.0,
        GAy=[5.0, np.inf, 0.0, 8.0],
        GAz=[4.0, np.inf, 2.0, 0.0],
        tension=[3.0, 0.0, -2.0, 1.0],
    )
    return model, rng.normal(size=(5, 3)), rotation_matrix(0.7 * rng.normal(size=(5, 3)))


def nudged(
    model: CorotationalModel, u: Array, R: Array, element: int, freedom: int, step: float
) -> tuple[Array, Array]:
    u, R = u.copy(), R.copy()
    node, component = model.elements[element, freedom // 6], freedom % 6
    if component < 3:
        u[node, component] += step
    else:
        R[node] = rotation_matrix(step * np.eye(3)[component - 3]) @ R[node]
    return u, R


def test_force_and_tangent_are_the_derivatives(
    tangle: tuple[CorotationalModel, Array, Array],
) -> None:
    model, u, R = tangle
    state, step = element_state(model, u, R), 1e-5
    assert state.relative_rotation.max() > 1.0  # the test is about large rotations
    for e in range(len(model.elements)):
        force, tangent = np.zeros(12), np.zeros((12, 12))
        for i in range(12):
            above = element_state(model, *nudged(model, u, R, e, i, step))
            below = element_state(model, *nudged(model, u, R, e, i, -step))
            force[i] = (above.energy[e] - below.energy[e]) / (2 * step)
            tangent[:, i] = (above.force[e] - below.force[e]) / (2 * step)
        assert np.abs(force - state.force[e]).max() < 1e-8 * np.abs(force).max()
        assert np.abs(tangent - state.tangent[e]).max() < 1e-8 * np.abs(tangent).max()


def test_tangent_is_unsymmetric_by_half_the_end_moments_only(
    tangle: tuple[CorotationalModel, Array, Array],
) -> None:
    state = element_state(*tangle)
    for force, tangent in zip(state.force, state.tangent, strict=True):
        expected = np.zeros((12, 12))
        expected[3:6, 3:6] = -skew(force[3:6])
        expected[9:, 9:] = -skew(force[9:])
        assert np.allclose(tangent - tangent.T, expected, atol=1e-12 * np.abs(tangent).max())
        assert np.abs(expected).max() > 1e-4 * np.abs(tangent).max()


def test_end_forces_are_in_equilibrium(tangle: tuple[CorotationalModel, Array, Array]) -> None:
    model, u, R = tangle
    force = element_state(model, u, R).force.reshape(-1, 4, 3)
    place = (model.points + u)[model.elements]
    assert np.allclose(force[:, 0], -force[:, 2], rtol=1e-15)
    moment = force[:, 1] + force[:, 3] + np.cross(place, force[:, ::2]).sum(axis=1)
    assert np.abs(moment).max() < 1e-12 * np.abs(force).max() * np.abs(place).max()


def test_rigid_motion_costs_nothing_and_turns_the_forces(
    tangle: tuple[CorotationalModel, Array, Array],
) -> None:
    model, u, R = tangle
    turn, shift = rotation_matrix(np.array([1.9, -1.0, 1.2])), np.array([7.0, -30.0, 4.0])
    turned = (model.points + u) @ turn.T + shift - model.points
    before, after = element_state(model, u, R), element_state(model, turned, turn @ R)
    assert np.allclose(after.energy, before.energy, rtol=1e-12)
    expected = before.force.reshape(-1, 4, 3) @ turn.T
    scale = np.abs(expected).max()
    assert np.allclose(after.force.reshape(-1, 4, 3), expected, atol=1e-12 * scale)
    assert np.allclose(after.section_force, before.section_force, atol=1e-12 * scale)


def test_turned_whole_without_stress_has_no_force() -> None:
    points = np.random.default_rng(1).normal(size=(4, 3))
    model = corotational_model(
        points, [[0, 1], [1, 2], [2, 3]], EA=1e4, GJ=1.0, EIy=2.0, EIz=3.0, GAy=50.0
    )
    turn = rotation_matrix(np.array([2.0, 1.0, -1.0]))
    state = element_state(model, points @ turn.T - points, np.tile(turn, (4, 1, 1)))
    assert np.abs(state.force).max() < 1e4 * 1e-14
    assert state.energy.max() < 1e4 * 1e-28


def test_six_rigid_body_modes_and_no_more() -> None:
    points = np.array([[0.0, 0, 0], [3.0, 1, -2], [4.0, 4, 1]])
    model = corotational_model(points, chain(points), EA=9.0, GJ=2.0, EIy=3.0, EIz=4.0, GAz=5.0)
    tangent = assemble(model, np.zeros((3, 3)), np.tile(np.eye(3), (3, 1, 1))).tangent.toarray()
    modes = np.zeros((3, 6, 6))
    modes[:, :3, :3] = modes[:, 3:, 3:] = np.eye(3)
    modes[:, :3, 3:] = -skew(points)
    assert np.abs(tangent @ modes.reshape(18, 6)).max() < 1e-14 * np.abs(tangent).max() * 10
    values = np.linalg.eigvalsh(tangent)
    assert np.abs(values[:6]).max() < 1e-13 * values[-1]
    assert values[6] > 1e-4 * values[-1]


def test_linear_cantilever_is_exact_on_an_uneven_mesh_in_any_direction() -> None:
    """Patch test: all six end loads; Timoshenko's beam (e.g. Przemieniecki 1968, section 5.6)."""
    L, EA, GAy, GAz, GJ, EIy, EIz = 7.0, 50.0, 11.0, 4.0, 3.0, 20.0, 35.0
    turn = rotation_matrix(np.array([0.4, -1.1, 0.8]))
    points = np.array([0.0, 0.5, 3.1, 3.3, 7.0])[:, None] * np.eye(3)[0] @ turn.T
    model = corotational_model(
        points,
        chain(points),
        frames=np.tile(turn.T, (4, 1, 1)),
        EA=EA,
        GAy=GAy,
        GAz=GAz,
        GJ=GJ,
        EIy=EIy,
        EIz=EIz,
    )
    tangent = assemble(model, np.zeros((5, 3)), np.tile(np.eye(3), (5, 1, 1))).tangent.toarray()
    both = np.kron(np.eye(2), turn)
    load = np.zeros((24, 6))
    load[-6:] = both
    flexibility = both.T @ np.linalg.solve(tangent[6:, 6:], load)[-6:]
    expected = np.diag(
        [
            L / EA,
            L**3 / (3 * EIz) + L / GAy,
            L**3 / (3 * EIy) + L / GAz,
            L / GJ,
            L / EIy,
            L / EIz,
        ]
    )
    expected[1, 5] = expected[5, 1] = L**2 / (2 * EIz)
    expected[2, 4] = expected[4, 2] = -(L**2) / (2 * EIy)
    assert np.allclose(flexibility, expected, rtol=1e-11, atol=1e-11 * expected.max())


@pytest.mark.parametrize("phi", [0.0, 0.7])
def test_geometric_stiffness_of_one_element_is_the_textbook_matrix(phi: float) -> None:
    """Elastic and geometric matrix of a beam with shear, Φ = 12 EI/(GA L²) (Przemieniecki 1968,
    sections 5.6 and 15.2; with Φ from memory, without it 6/5, L/10, 2L²/15, -L²/30)."""
    L, EI, N = 3.0, 40.0, 7.0
    EA = 1e10
    model = corotational_model(
        straight(1, L),
        [[0, 1]],
        EA=EA,
        GJ=1.0,
        EIy=1.0,
        EIz=EI,
        GAy=12 * EI / (phi * L**2) if phi else np.inf,
        up=[0.0, 0.0, 1.0],
        tension=N,
    )
    state = element_state(model, np.zeros((2, 3)), np.tile(np.eye(3), (2, 1, 1)))
    assert state.section_force[0, :, 0] == pytest.approx(N, abs=EA * 4e-16)
    plane = state.tangent[0][np.ix_([1, 5, 7, 11], [1, 5, 7, 11])]

    def matrix(a: float, b: float, c: float, d: float) -> Array:
        rows = [[a, b, -a, b], [b, c, -b, d], [-a, -b, a, -b], [b, d, -b, c]]
        size = np.diag([1, L, 1, L])
        return np.asarray(size @ np.array(rows) @ size)

    elastic = EI / (L**3 * (1 + phi)) * matrix(12, 6, 4 + phi, 2 - phi)
    tension = (N / (L * (1 + phi) ** 2)) * matrix(
        6 / 5 + 2 * phi + phi**2,
        1 / 10,
        2 / 15 + phi / 6 + phi**2 / 12,
        -1 / 30 - phi / 6 - phi**2 / 12,
    )
    # N to 4e-6, the stretch N/EA, and the rounding of both
    assert np.allclose(plane - elastic, tension, rtol=2e-6, atol=1e-7)


def rotational_stiffness(n: int, ratio: float) -> Array:
    """(2,) s and s c of a clamped beam of n elements at N = ratio × π²EI/L²."""
    L, EI = 2.0, 30.0
    N = ratio * np.pi**2 * EI / L**2
    model = corotational_model(
        straight(n, L), chain(straight(n, L)), EA=1e12, GJ=1.0, EIy=EI, EIz=EI, tension=N
    )
    state = assemble(model, np.zeros((n + 1, 3)), np.tile(np.eye(3), (n + 1, 1, 1)))
    K, ends, inside = state.tangent.toarray(), [5, 6 * n + 5], np.arange(6, 6 * n)
    between = K[np.ix_(inside, ends)]
    reduced = K[np.ix_(ends, ends)] - between.T @ np.linalg.solve(
        K[np.ix_(inside, inside)], between
    )
    return np.asarray(reduced[0] * L / EI)


def stability_functions(ratio: float) -> Array:
    """s and s c in closed form (Livesley and Chandler, Stability Functions for Structural
    Frameworks, 1956), compression negative."""
    f = np.emath.sqrt(-(np.pi**2) * ratio)  # imaginary in tension
    below = 2 - 2 * np.cos(f) - f * np.sin(f)
    return np.real(f * np.array([np.sin(f) - f * np.cos(f), f - np.sin(f)]) / below)


@pytest.mark.parametrize(
    ("ratio", "s", "c"),
    [  # rounded values as tables give them
        (-0.5, 3.2945, 0.6659),
        (-1.0, 2.4674, 1.0000),
        (-2.0, 0.1428, 24.684),
        (-3.0, -5.0320, -1.4157),
        (1.0, 5.1748, 0.3381),
        (5.0, 8.4169, 0.1639),
        (20.0, 15.216, 0.0766),
    ],
)
def test_beam_under_axial_force_turns_as_stability_functions_say(
    ratio: float, s: float, c: float
) -> None:
    exact = stability_functions(ratio)
    assert exact[0] == pytest.approx(s, rel=5e-5, abs=5e-5)
    assert exact[1] / exact[0] == pytest.approx(c, rel=5e-5, abs=5e-5)
    # fourth order, with N L²/EI = 0.2 at most in one element
    assert rotational_stiffness(32, ratio) == pytest.approx(exact, abs=1e-4 * np.abs(exact).max())


def test_tensioned_beam_converges_with_the_fourth_power_of_the_mesh() -> None:
    exact = stability_functions(20.0)
    error = [np.abs(rotational_stiffness(n, 20.0) - exact).max() for n in (32, 64, 128)]
    orders = np.log2(np.array(error[:-1]) / error[1:])
    assert orders == pytest.approx(4.0, abs=0.05)


def test_a_faulty_model_is_refused_by_name() -> None:
    points = straight(2, 2.0)
    good = dict(EA=1.0, GJ=1.0, EIy=1.0, EIz=1.0)
    with pytest.raises(ModelError, match="element 1 refers to a node"):
        corotational_model(points, [[0, 1], [1, 5]], frames=np.tile(np.eye(3), (2, 1, 1)), **good)
    with pytest.raises(ModelError, match="element 1 has no length"):
        corotational_model(points, [[0, 1], [2, 2]], **good)
    with pytest.raises(ModelError, match="lies along the beam"):
        corotational_model(points, chain(points), up=[1.0, 0, 0], **good)
    with pytest.raises(ModelError, match="element 1 needs EA above 0"):
        corotational_model(points, chain(points), **(good | {"EA": [1.0, 0.0]}))
    with pytest.raises(ModelError, match="element 0 needs GJ of 0 or more"):
        corotational_model(points, chain(points), **(good | {"GJ": -1.0}))
    with pytest.raises(ModelError, match="right-handed"):
        corotational_model(points, chain(points), frames=-np.tile(np.eye(3), (2, 1, 1)), **good)
    with pytest.raises(ModelError, match="does not run from its first node"):
        turned = np.tile(np.eye(3)[[1, 2, 0]], (2, 1, 1))
        corotational_model(points, chain(points), frames=turned, **good)
    with pytest.raises(ModelError, match="element 0 needs a natural length above 0"):
        corotational_model(points, chain(points), natural_length=[0.0, 1.0], **good)
    with pytest.raises(ModelError, match="not both"):
        corotational_model(points, chain(points), natural_length=1.0, tension=1.0, **good)
