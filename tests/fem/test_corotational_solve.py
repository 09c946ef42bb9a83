"""Newton's method and load steps of the corotational beam: statics, energy, order, failure."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.polynomial.legendre import leggauss
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

from fem.corotational_model import CorotationalModel, corotational_model
from fem.corotational_newton import assemble
from fem.corotational_solve import solve
from fem.errors import ConvergenceError, ModelError
from fem.rotations import rotation_matrix, rotation_vector
from tests.fem.corotational_cases import chain, held, straight

Array = NDArray[np.float64]


@pytest.fixture
def hook() -> tuple[CorotationalModel, Array, Array]:
    """A bent space frame clamped at its foot, pretensioned by a stay to a second clamp, loaded.

    Unequal second moments, shear, a load that turns parts of it by more than a radian.
    """
    points = np.array(
        [[0, 0, 0], [0, 0, 4], [0, 0, 8], [3, 0, 10], [6, 1, 10], [9, 2, 9], [-6, -4, 0]], float
    )
    elements = [[0, 1], [1, 2], [2, 3], [3, 4], [4, 5], [2, 6]]
    model = corotational_model(
        points,
        elements,
        EA=[5e4, 5e4, 5e4, 5e4, 5e4, 2e3],
        GAy=2e4,
        GAz=[1e4, 1e4, 1e4, np.inf, np.inf, 1e4],
        GJ=[300, 300, 300, 200, 200, 1],
        EIy=[900, 900, 700, 500, 500, 2],
        EIz=[400, 400, 300, 300, 300, 2],
        tension=[0, 0, 0, 0, 0, 20],
    )
    forces = np.zeros((7, 6))
    forces[5, :3] = [-4.0, 12.0, -9.0]
    forces[3, :3] = [3.0, 0.0, -5.0]
    return model, held(7, 0, 6), forces


def test_bar_in_pure_tension() -> None:
    """F L / EA, on an uneven mesh; the first test of any element."""
    points = np.array([[0.0, 0, 0], [1, 0, 0], [1.5, 0, 0], [4, 0, 0]])
    model = corotational_model(points, chain(points), EA=200.0, GJ=1.0, EIy=1.0, EIz=1.0)
    forces = np.zeros((4, 6))
    forces[3, 0] = 30.0
    result = solve(model, held(4, 0), forces, steps=1)
    expected = 30.0 / 200.0 * points
    assert np.allclose(result.displacement, expected, rtol=1e-12, atol=1e-14)
    assert np.allclose(result.section_force[..., 0], 30.0, rtol=1e-12)
    assert np.allclose(result.reactions[0], [-30.0, 0, 0, 0, 0, 0], atol=1e-11)
    assert result.energy == pytest.approx(0.5 * 30.0**2 * 4.0 / 200.0, rel=1e-12)


def test_prescribed_stretch_is_reached_in_one_iteration() -> None:
    """The bar is linear, and the held end's part goes into the first right side."""
    points = straight(4, 2.0)
    model = corotational_model(points, chain(points), EA=200.0, GJ=1.0, EIy=1.0, EIz=1.0)
    supports = held(5, 0, 4)
    supports[4, 0] = 0.5
    result = solve(model, supports, steps=1)
    assert result.history[0].iterations == 1
    assert result.displacement[:, 0] == pytest.approx(0.25 * points[:, 0], rel=1e-14)
    assert result.reactions[4, 0] == pytest.approx(50.0, rel=1e-13)


def test_forces_and_reactions_balance_in_the_turned_state(
    hook: tuple[CorotationalModel, Array, Array],
) -> None:
    model, supports, forces = hook
    result = solve(model, supports, forces)
    turned = np.linalg.norm(rotation_vector(result.rotation), axis=1)
    assert turned.max() > 1.0
    outside = forces + result.reactions
    place = model.points + result.displacement
    scale = np.abs(forces).max()
    assert np.abs(outside[:, :3].sum(axis=0)).max() < 1e-9 * scale
    moment = np.cross(place, outside[:, :3]).sum(axis=0) + outside[:, 3:].sum(axis=0)
    assert np.abs(moment).max() < 1e-8 * scale * 10.0
    assert np.allclose(result.rotation @ np.swapaxes(result.rotation, 1, 2), np.eye(3), atol=1e-14)


def test_section_forces_of_a_cantilever_have_the_stated_signs() -> None:
    model = corotational_model(
        straight(2, 2.0), chain(straight(2, 2.0)), EA=1e6, GJ=1e6, EIy=1e6, EIz=1e6, up=[0, 0, 1]
    )
    forces = np.zeros((3, 6))
    forces[2] = [5.0, 3.0, 2.0, 0.7, 0.0, 0.0]
    result = solve(model, held(3, 0), forces, steps=1)
    # small displacements: 1e-5 relative
    assert result.section_force[0, 0] == pytest.approx([5, 3, 2, 0.7, -4, 6], rel=1e-4)
    assert result.section_force[1, 1] == pytest.approx([5, 3, 2, 0.7, 0, 0], rel=1e-4, abs=1e-4)
    assert result.displacement[2, 1:] == pytest.approx([8e-6, 16e-6 / 3], rel=1e-4)


def test_the_answer_does_not_depend_on_direction_numbering_or_steps(
    hook: tuple[CorotationalModel, Array, Array],
) -> None:
    model, supports, forces = hook
    reference = solve(model, supports, forces, steps=10)
    size = np.abs(reference.displacement).max()

    for steps in (4, 20, [0.3, 0.35, 1.0]):
        again = solve(model, supports, forces, steps=steps)
        assert np.abs(again.displacement - reference.displacement).max() < 1e-9 * size

    turn = rotation_matrix(np.array([-0.7, 2.1, 0.9]))
    renumbered = np.array([3, 6, 0, 1, 5, 2, 4])
    points, loads, holds = (np.empty_like(a) for a in (model.points, forces, supports))
    points[renumbered] = model.points @ turn.T
    loads[renumbered] = np.hstack([forces[:, :3] @ turn.T, forces[:, 3:] @ turn.T])
    holds[renumbered] = supports
    moved = corotational_model(
        points,
        renumbered[model.elements][:, ::-1],  # every element the other way round
        # y and -z stay, x turns about: the same section seen from the other end
        frames=np.array([-1.0, 1.0, -1.0])[:, None] * model.frames @ turn.T,
        natural_length=model.natural_length,
        **{name: getattr(model, name) for name in ("EA", "GAy", "GAz", "GJ", "EIy", "EIz")},
    )
    result = solve(moved, holds, loads, steps=10)
    expected = reference.displacement @ turn.T
    assert np.abs(result.displacement[renumbered] - expected).max() < 1e-9 * size
    expected_rotation = turn @ reference.rotation @ turn.T
    assert np.abs(result.rotation[renumbered] - expected_rotation).max() < 1e-9
    assert result.energy == pytest.approx(reference.energy, rel=1e-9)


def test_energy_is_the_work_of_dead_forces(hook: tuple[CorotationalModel, Array, Array]) -> None:
    """U(1) - U(0) = ∫ λ p·u'(λ) dλ = p·u(1) - p·u(0)·0 - ∫ p·u dλ, by Gauss's rule."""
    model, supports, forces = hook
    at, weight = leggauss(16)
    levels = [*(0.5 + 0.5 * at), 1.0]
    result = solve(model, supports, forces, steps=levels)
    before, *steps = result.history
    assert (before.stage, before.level) == ("initial stress", 1.0)
    wanted = [s for s in steps if s.level in levels]
    assert [s.level for s in wanted] == levels
    along = np.array([np.sum(forces[:, :3] * s.displacement) for s in wanted])
    work = along[-1] - 0.5 * weight @ along[:-1]
    assert result.energy - before.energy == pytest.approx(work, rel=1e-9)


def test_energy_is_the_work_of_prescribed_displacements(
    hook: tuple[CorotationalModel, Array, Array],
) -> None:
    model, supports, _ = hook
    supports = supports.copy()
    supports[5, :3] = [-3.0, 6.0, -4.0]
    supports[6, :3] = [-1.0, 0.0, 0.5]
    at, weight = leggauss(16)
    result = solve(model, supports, steps=[*(0.5 + 0.5 * at), 1.0])
    levels = {s.level: s for s in result.history if s.stage == "load"}
    rate = np.nan_to_num(supports)
    power = np.array([np.sum(rate * levels[x].reactions) for x in 0.5 + 0.5 * at])
    work = 0.5 * weight @ power
    assert result.energy - result.history[0].energy == pytest.approx(work, rel=1e-9)


def test_newton_step_leaves_the_square_of_the_error(
    hook: tuple[CorotationalModel, Array, Array],
) -> None:
    """Also where a dead moment makes the tangent unsymmetric."""
    model, supports, forces = hook
    forces = forces.copy()
    forces[5, 3:] = [20.0, -30.0, 10.0]
    result = solve(model, supports, forces)
    free = np.isnan(supports).ravel()
    away = np.where(free, np.random.default_rng(3).normal(size=free.size), 0.0).reshape(-1, 6)

    def error_after_one_step(size: float) -> float:
        u = result.displacement + size * away[:, :3]
        R = rotation_matrix(size * away[:, 3:]) @ result.rotation
        now = assemble(model, u, R)
        step = np.zeros(free.size)
        tangent = now.tangent.toarray()[np.ix_(free, free)]
        step[free] = np.linalg.solve(tangent, (forces - now.internal).ravel()[free])
        left = u + step.reshape(-1, 6)[:, :3] - result.displacement
        return float(np.abs(left).max())

    errors = np.array([error_after_one_step(10.0**-k) for k in (4, 5, 6)])
    assert np.log10(errors[:-1] / errors[1:]) == pytest.approx(2.0, abs=0.05)


def test_tangent_at_equilibrium_is_symmetric_without_outside_moments(
    hook: tuple[CorotationalModel, Array, Array],
) -> None:
    model, supports, forces = hook
    free = np.isnan(supports).ravel()
    for moment, symmetric in ((0.0, True), (30.0, False)):
        forces[5, 3:] = moment
        result = solve(model, supports, forces)
        K = assemble(model, result.displacement, result.rotation).tangent.toarray()
        K = K[np.ix_(free, free)]
        skewness = np.abs(K - K.T).max()
        assert (skewness < 1e-8 * forces[5, 1]) == symmetric
        assert skewness == pytest.approx(moment, abs=1e-8 * forces[5, 1])


def test_pretension_let_go_shrinks_to_the_natural_length() -> None:
    model = corotational_model(
        straight(3, 9.0), chain(straight(3, 9.0)), EA=100.0, GJ=1.0, EIy=1.0, EIz=1.0, tension=25.0
    )
    assert model.natural_length == pytest.approx(3.0 / 1.25, rel=1e-15)
    kept = solve(model, held(4, 0, 3))
    assert kept.section_force[..., 0] == pytest.approx(25.0, rel=1e-13)
    assert kept.reactions[3, 0] == pytest.approx(25.0, rel=1e-13)
    let_go = solve(model, held(4, 0))
    assert let_go.displacement[3, 0] == pytest.approx(3 * 2.4 - 9.0, rel=1e-13)
    assert np.abs(let_go.section_force).max() < 1e-12


def test_turned_support_bends_a_beam_to_an_arc() -> None:
    """End turned by α about a slanting axis across the beam: an arc, moment αEI/L."""
    n, L, EI, angle = 12, 5.0, 3.0, 1.5 * np.pi
    axis, side = np.array([0.0, 0.6, 0.8]), np.array([0.0, 0.8, -0.6])
    supports = held(n + 1, 0)
    supports[n, 3:] = angle * axis
    points = straight(n, L)
    model = corotational_model(points, chain(points), EA=1e4, GJ=2.0, EIy=EI, EIz=EI)
    result = solve(model, supports, steps=6)
    assert result.reactions[n, 3:] == pytest.approx(angle * EI / L * axis, rel=1e-9, abs=1e-9)
    assert rotation_vector(result.rotation[n]) == pytest.approx((angle - 2 * np.pi) * axis)
    radius = L / angle
    end = radius * (np.sin(angle) * np.eye(3)[0] + (1 - np.cos(angle)) * side)
    # chord of an element: the bowing term stops at ψ²/24, the next is ψ⁴/1920 = 1e-5
    assert points[n] + result.displacement[n] == pytest.approx(end, abs=2e-5 * L)


def test_twisted_bar_may_turn_many_times() -> None:
    """Pure torsion T L / GJ over three full turns, 1 rad in an element."""
    points = straight(20, 4.0)
    model = corotational_model(points, chain(points), EA=1e3, GJ=8.0, EIy=50.0, EIz=50.0)
    forces = np.zeros((21, 6))
    forces[20, 3] = 8.0 / 4.0 * 6 * np.pi
    result = solve(model, held(21, 0), forces, steps=8)
    assert result.rotation[20] == pytest.approx(np.eye(3), abs=1e-9)
    assert result.energy == pytest.approx(0.5 * 8.0 / 4.0 * (6 * np.pi) ** 2, rel=1e-12)


@pytest.fixture
def truss() -> tuple[CorotationalModel, Array, float]:
    """Von Mises' truss of two shallow bars, span 2L, rise h, supports, and its limit load.

    P(w) = 2 EA (1/L_w - 1/L_0)(w - h), L_w the bar's length when the apex has come down by w.
    """
    L, h, EA = 10.0, 1.0, 1e5
    points = np.array([[0, 0, 0], [L, h, 0], [2 * L, 0, 0]])
    model = corotational_model(points, chain(points), EA=EA, GJ=0, EIy=0, EIz=0, GAy=0, GAz=0)
    supports = np.zeros((3, 6))
    supports[1, :2] = np.nan
    peak = minimize_scalar(
        lambda w: -mises_load(w, L, h, EA), bounds=(0, h), options={"xatol": 1e-12}
    )
    return model, supports, -float(peak.fun)


def mises_load(w: float, L: float, h: float, EA: float) -> float:
    return 2 * EA * (1 / np.hypot(L, h) - 1 / np.hypot(L, h - w)) * (w - h)


def test_load_just_below_the_limit_point_is_carried(
    truss: tuple[CorotationalModel, Array, float],
) -> None:
    model, supports, limit = truss
    forces = np.zeros((3, 6))
    forces[1, 1] = -0.999 * limit
    result = solve(model, supports, forces, steps=5)
    down = -result.displacement[1, 1]
    assert 0 < down < 1 - 1 / np.sqrt(3)  # still on the first branch
    assert mises_load(down, 10.0, 1.0, 1e5) == pytest.approx(0.999 * limit, rel=1e-9)


def test_giving_up_tells_how_far_it_came(truss: tuple[CorotationalModel, Array, float]) -> None:
    model, supports, limit = truss
    forces = np.zeros((3, 6))
    forces[1, 1] = -0.999 * limit
    with pytest.raises(ConvergenceError, match="not converged in 3 iterations") as failed:
        solve(model, supports, forces, steps=20, max_iterations=3, max_cuts=1)
    error = failed.value
    assert 0.5 < error.load_level < 1.0
    assert f"beyond {error.load_level:.6g} of the load" in str(error)
    assert (error.iterations, error.worst_node, error.state) == (3, "node 1", "load")
    assert len(error.residuals) == 4
    assert error.residuals[-1] > 1e-10


def test_an_element_bent_too_far_asks_for_a_finer_mesh() -> None:
    """One element under an end moment turns by M L/EI, up to 3 rad."""
    points = straight(1, 2.0)
    model = corotational_model(points, chain(points), EA=1e3, GJ=1.0, EIy=1.0, EIz=1.0)
    forces = np.zeros((2, 6))
    forces[1, 5] = 3.5 / 2.0
    with pytest.raises(ConvergenceError, match=r"turned apart by 3\.\d+ rad.*refine the mesh") as f:
        solve(model, held(2, 0), forces)
    assert f.value.load_level == pytest.approx(3.0 / 3.5, abs=0.1 / 2**8)


def test_a_free_structure_is_refused_not_solved(
    hook: tuple[CorotationalModel, Array, Array],
) -> None:
    model, supports, _ = hook
    forces = np.zeros((7, 6))
    pull = model.points[4] - model.points[0]
    forces[4, :3], forces[0, :3] = pull, -pull  # in balance: the residual alone would not tell
    model = replace(model, natural_length=model.rest_length)
    with pytest.raises(ConvergenceError, match="the tangent is singular") as failed:
        solve(model, np.full_like(supports, np.nan), forces)
    assert failed.value.load_level == 0.0
    assert failed.value.state == "load"
    assert failed.value.worst_node.startswith("node ")
    assert len(failed.value.residuals) == failed.value.iterations + 1


def test_slack_straight_string_is_refused() -> None:
    """Without tension and without bending nothing holds its middle sideways."""
    points = straight(2, 2.0)
    model = corotational_model(points, chain(points), EA=9.0, GJ=0, EIy=0, EIz=0, GAy=0, GAz=0)
    supports = np.zeros((3, 6))
    supports[1, :3] = np.nan
    forces = np.zeros((3, 6))
    forces[1, 2] = 1.0
    with pytest.raises(ConvergenceError, match=r"singular \(node 1"):
        solve(model, supports, forces)


def test_faulty_input_is_refused_by_name() -> None:
    points = straight(1, 1.0)
    model = corotational_model(points, chain(points), EA=9.0, GJ=1.0, EIy=1.0, EIz=1.0)
    with pytest.raises(ModelError, match="supports have shape"):
        solve(model, np.zeros((3, 6)))
    with pytest.raises(ModelError, match="forces of node 1 must be finite"):
        solve(model, held(2, 0), [[0.0] * 6, [np.nan] * 6])
    with pytest.raises(ModelError, match="supports of node 0 must be finite"):
        solve(model, np.full((2, 6), np.inf))
    with pytest.raises(ModelError, match="steps must be 1 or more"):
        solve(model, held(2, 0), steps=0)
    with pytest.raises(ModelError, match="steps must rise"):
        solve(model, held(2, 0), steps=[0.5, 0.4, 1.0])
