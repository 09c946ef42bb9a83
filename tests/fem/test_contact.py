"""Contact points: closed forms of rigid bodies, tangents, balance, work, invariance."""

import numpy as np
import pytest

from fem.contact import (
    ContactHistory,
    approach,
    contact_state,
    dissipated,
    fresh_history,
    next_contact_history,
    next_limits,
    stored,
    traction,
    with_limits,
)
from fem.materials import Material
from fem.rotations import rotation_matrix
from fem.sections import section_flexibility, tube
from tests.fem.contact_models import Block, NoEquilibrium, contacts_at, wedge

ALL = np.ones(6, bool)
Z_ONLY = np.array([False, False, True, False, False, False])


def test_gap_closes_on_two_springs_in_parallel():
    k, k_n, gap = 70.0, 2500.0, 0.8
    block = Block(
        contacts_at([0, 0, 0], [0, 0, 1], gap=gap, k_n=k_n), np.diag([0, 0, k, 0, 0, 0]), Z_ONLY
    )
    for F in (30.0, 55.9, 56.1, 700.0):
        u, history = block.rest()
        u, state, settled = block.step([0, 0, -F, 0, 0, 0], history, u)
        closed = k * gap < F
        down = (F + k_n * gap) / (k + k_n) if closed else F / k
        assert u[2] == pytest.approx(-down, rel=1e-12)
        assert state.pressure[0] == pytest.approx(k_n * max(down - gap, 0.0), rel=1e-9)
        assert settled.rounds[0] == 1


def test_bending_closes_one_side_first_and_pivots_there():
    # w down, θ about y lowers the side +a: p / k_n = w + a θ - g, k w = -p, κ θ = M - a p
    k, kappa, k_n, a, gap = 70.0, 4e5, 3e4, 12.0, 0.4
    contacts = contacts_at([[a, 0, 0], [-a, 0, 0]], [0, 0, 1], gap=gap, k_n=k_n)
    block = Block(contacts, np.diag([1.0, 0, k, 0, kappa, 0]), ALL & (np.arange(6) % 2 == 0))
    touching = kappa * gap / a
    for M in (0.9 * touching, 1.1 * touching, 5 * touching):
        u, history = block.rest()
        u, state, _ = block.step([0, 0, 0, 0, M, 0], history, u)
        p = max(a * M / kappa - gap, 0.0) / (1 / k_n + 1 / k + a * a / kappa)
        np.testing.assert_allclose(state.pressure, [p, 0.0], rtol=1e-9, atol=1e-9)
        np.testing.assert_allclose(u[[2, 4]], [p / k, (M - a * p) / kappa], rtol=1e-9, atol=1e-15)


@pytest.mark.parametrize("degrees", [20, 45, 75])
@pytest.mark.parametrize("k_side", [1.0, 1e3])
@pytest.mark.parametrize("mu", [0.0, 0.1, 0.3])
def test_wedge_slides_by_the_statics_of_friction(degrees, k_side, mu):
    # along the load p cos α + μ p sin α = P; sideways the spring takes p (sin α - μ cos α)
    alpha, P = np.radians(degrees), 700.0
    assert np.tan(alpha) > mu
    (u, *_), (state, *_) = wedge(alpha, mu, k_side).walk([[0, 0, -P, 0, 0, 0]])
    p = P / (np.cos(alpha) + mu * np.sin(alpha))
    assert state.pressure[0] == pytest.approx(p, rel=1e-6)
    assert -k_side * u[0] == pytest.approx(p * (np.sin(alpha) - mu * np.cos(alpha)), rel=1e-6)
    assert state.slipping[0]


@pytest.mark.parametrize("degrees", [5, 16, 30])
def test_wedge_below_the_friction_angle_moves_elastically_only(degrees):
    alpha, P, k_side, k_n, k_t = np.radians(degrees), 700.0, 50.0, 1e5, 4e4
    mu = 1.01 * np.tan(alpha)
    (u, *_), (state, *_) = wedge(alpha, mu, k_side, k_n=k_n, k_t=k_t).walk([[0, 0, -P, 0, 0, 0]])
    n, s = [-np.sin(alpha), np.cos(alpha)], [np.cos(alpha), np.sin(alpha)]
    K = k_n * np.outer(n, n) + k_t * np.outer(s, s) + np.diag([k_side, 0.0])
    np.testing.assert_allclose(u[[0, 2]], np.linalg.solve(K, [0.0, -P]), rtol=1e-9)
    assert not state.slipping[0]


def test_free_block_slides_exactly_beyond_the_friction_angle():
    for mu in (0.1, 0.3, 0.8):
        alpha = np.arctan(mu)
        steps = [[0, 0, -P, 0, 0, 0] for P in (1.0, 700.0)]
        _, (_, state) = wedge(0.999 * alpha, mu, 0.0).walk(steps)
        t = np.linalg.norm(state.force[0] - state.pressure[0] * np.array([0, 0, 1]))
        assert np.linalg.norm(state.force[0]) == pytest.approx(700.0, rel=1e-9)
        assert t > 0.0
        with pytest.raises(NoEquilibrium):
            wedge(1.001 * alpha, mu, 0.0).walk(steps)


def test_block_pulled_up_the_plane_and_let_go_reverses_friction():
    # sliding up: p cos α - μ p sin α = P; down again: p cos α + μ p sin α = P
    alpha, mu, P, most = np.radians(30), 0.2, 500.0, 4000.0
    block = wedge(alpha, mu, 100.0, k_n=1e6, k_t=1e6)
    pulls = most * np.concatenate([[0.0], np.linspace(0, 1, 9), np.linspace(1, 0, 17)])
    _, states = block.walk([[pull, 0, -P, 0, 0, 0] for pull in pulls])
    c, s = np.cos(alpha), np.sin(alpha)
    due = [P / (c + mu * s), P / (c - mu * s), P / (c + mu * s)]
    found = [states[i].pressure[0] for i in (0, 9, -1)]
    np.testing.assert_allclose(found, due, rtol=1e-6)


def ring(n, k, k_t, r_o, r_i):
    phi = 2 * np.pi * np.arange(n) / n
    points = [[r * np.cos(f), r * np.sin(f), 0.0] for r in (r_o, r_i) for f in phi]
    return contacts_at(points, [0, 0, 1], k_n=k, k_t=k_t, friction=0.3)


@pytest.mark.parametrize("n", [3, 8, 12])
def test_ring_of_points_bends_and_twists_as_the_tube_it_stands_for(n):
    """Σ k y² over n points on each edge is n k (r_o² + r_i²) / 2; with 2 n k = E A / l this is E A
    (r_o² + r_i²) / 4 l, and I / A of a tube is just (r_o² + r_i²) / 4: the layer's E I / l.
    """
    r_o, r_i, E, nu, layer = 13.0, 7.0, 17000.0, 0.3, 1.0
    f = section_flexibility(tube(2 * r_o, 2 * r_i, nu), Material(E, nu))
    EA, GJ, EI = 1 / f[0], 1 / f[3], 1 / f[4]
    area = np.pi * (r_o**2 - r_i**2)
    contacts = ring(n, EA / layer / (2 * n), area * E / 2.6 / layer / (2 * n), r_o, r_i)
    block = Block(contacts, np.zeros((6, 6)), ALL)
    u, _ = block.rest()
    u[2] = -0.01
    history = fresh_history(contacts)
    history = with_limits(history, np.full(2 * n, np.inf))
    H = contact_state(contacts, block.parts(u), history).tangent.sum(axis=0)[6:, 6:]
    due = np.array([area * E / 2.6, area * E / 2.6, EA, EI, EI, GJ]) / layer
    np.testing.assert_allclose(H, np.diag(due), rtol=1e-12, atol=1e-9 * due.max())


def scene(rng, count=6):
    """Points between two bodies with arms, and a history with all sorts of limits."""
    nodes = rng.normal(size=(2, 3)) * 10
    contacts = contacts_at(
        rng.normal(size=(count, 3)) * 10,
        rng.normal(size=(count, 3)),
        gap=rng.normal(size=count) * 0.3,
        k_n=rng.uniform(1, 9, count),
        k_t=rng.uniform(1, 9, count),
        friction=0.4,
        nodes=nodes,
    )
    slip = rng.normal(size=(count, 3)) * 0.2
    slip -= np.sum(slip * contacts.normal, axis=-1, keepdims=True) * contacts.normal
    limit = rng.choice([0.0, 0.3, 1e3, np.inf], count)
    return nodes, contacts, ContactHistory(contacts.gap, slip, limit)


@pytest.mark.parametrize("seed", range(8))
def test_gradient_and_tangent_are_derivatives_of_the_energy_in_every_regime(seed):
    rng = np.random.default_rng(seed)
    _, contacts, history = scene(rng, 40)
    q = rng.normal(size=(40, 12)) * 0.05
    state = contact_state(contacts, q, history)
    open_, held = state.gap > 0.0, history.limit > 0.0
    regimes = {
        (bool(a), bool(b), bool(c)) for a, b, c in zip(open_, state.slipping, held, strict=True)
    }
    assert len(regimes) == 6  # slips always where there is no limit: not 8
    h = 1e-6
    for i in range(12):
        d = np.zeros(12)
        d[i] = h
        up, down = (contact_state(contacts, q + x, history) for x in (d, -d))
        np.testing.assert_allclose(
            (up.energy - down.energy) / (2 * h), state.gradient[:, i], rtol=1e-6, atol=1e-6
        )
        slope = (up.gradient - down.gradient) / (2 * h)
        np.testing.assert_allclose(slope, state.tangent[:, i], rtol=1e-6, atol=2e-5)
    np.testing.assert_allclose(state.tangent, np.swapaxes(state.tangent, -1, -2), atol=1e-12)
    assert np.linalg.eigvalsh(state.tangent).min() > -1e-9  # convex


def test_forces_and_moments_balance_about_any_point():
    rng = np.random.default_rng(2)
    nodes, contacts, history = scene(rng)
    q = rng.normal(size=(3, 6, 12)) * 0.1
    f = contact_state(contacts, q, history, with_tangent=False).gradient.sum(axis=-2)
    np.testing.assert_allclose(f[:, :3] + f[:, 6:9], 0.0, atol=1e-12)
    about = nodes - rng.normal(size=3) * 100
    moment = np.cross(about[0], f[:, :3]) + np.cross(about[1], f[:, 6:9]) + f[:, 3:6] + f[:, 9:]
    np.testing.assert_allclose(moment, 0.0, atol=1e-10)


def test_turned_in_space_it_answers_turned():
    rng = np.random.default_rng(3)
    nodes, contacts, history = scene(rng)
    points = nodes[0] + rng.normal(size=(6, 3)) * 10
    args = dict(gap=contacts.gap, k_n=contacts.k_n, k_t=contacts.k_t, friction=0.4)
    turn = rotation_matrix(np.array([0.4, -1.1, 0.7]))
    all_turn = np.kron(np.eye(4), turn)
    q = rng.normal(size=(6, 12)) * 0.1
    here = contacts_at(points, contacts.normal, nodes=nodes, **args)
    there = contacts_at(points @ turn.T, contacts.normal @ turn.T, nodes=nodes @ turn.T, **args)
    a = contact_state(here, q, history)
    turned = ContactHistory(history.gap, history.slip @ turn.T, history.limit)
    b = contact_state(there, q @ all_turn.T, turned)
    np.testing.assert_allclose(b.energy, a.energy, rtol=1e-12)
    np.testing.assert_allclose(b.force, a.force @ turn.T, atol=1e-12)
    np.testing.assert_allclose(b.gradient, a.gradient @ all_turn.T, atol=1e-11)
    np.testing.assert_allclose(b.tangent, all_turn @ a.tangent @ all_turn.T, atol=1e-9)


def drag(contacts, way):
    """Prescribed motion (steps, 3) of B: work done on it, and stored and dissipated energy, all
    from the first place on; limits follow Coulomb in every step.
    """
    history = fresh_history(contacts)
    work, lost, begin, last = 0.0, 0.0, None, None
    for place in way:
        q = np.zeros((1, 12))
        q[0, 6:9] = place
        pressed = contact_state(contacts, q, history, with_tangent=False)
        history = with_limits(history, next_limits(contacts, pressed))
        state = contact_state(contacts, q, history, with_tangent=False)
        if last is None:
            begin = stored(contacts, state)[0]
        else:
            work -= (state.force[0] + last[0]) @ (place - last[1]) / 2.0
            step = dissipated(contacts, history, state)[0]
            assert step >= 0.0
            lost += step
        last = (state.force[0], place)
        history = next_contact_history(contacts, history, state)
    return work, stored(contacts, state)[0] - begin, lost


def test_work_on_a_closed_way_is_stored_and_dissipated():
    """Trapezoidal work against end-of-step dissipation: their difference falls with the step."""
    contacts = contacts_at([0, 0, 0], [0, 0, 1], k_n=100.0, k_t=40.0, friction=0.3)
    missing = []
    for steps in (800, 1600):
        angle = np.linspace(0, 4 * np.pi, 2 * steps + 1)
        depth = -1.0 + 0.4 * np.cos(2 * angle)
        way = np.stack([2 * np.sin(angle), 1.3 * np.sin(2 * angle), depth], axis=-1)
        work, kept, lost = drag(contacts, way)
        assert lost > 10 * abs(kept)
        missing.append(abs(work - kept - lost) / lost)
    assert missing[0] < 5e-4
    assert missing[0] / missing[1] == pytest.approx(2.0, rel=0.15)


def test_loop_of_hysteresis_has_the_area_of_the_elastic_plastic_one():
    # between ±a under constant pressure: 4 R (a - R / k_t) per cycle
    k_n, k_t, mu, depth, a = 100.0, 40.0, 0.3, 0.5, 2.0
    contacts = contacts_at([0, 0, 0], [0, 0, 1], k_n=k_n, k_t=k_t, friction=mu)
    R = mu * k_n * depth
    history = with_limits(fresh_history(contacts), np.array([R]))
    lost = []
    for x in (a, -a, a, -a, a):
        q = np.zeros((1, 12))
        q[0, 6:9] = [x, 0.0, -depth]
        state = contact_state(contacts, q, history)
        heat = dissipated(contacts, history, state)[0]
        assert state.energy[0] == pytest.approx(stored(contacts, state)[0] + heat, rel=1e-12)
        lost.append(heat)
        history = next_contact_history(contacts, history, state)
        assert history.limit[0] == pytest.approx(R)
    assert lost[1] + lost[2] == pytest.approx(4 * R * (a - R / k_t), rel=1e-12)
    after = contact_state(contacts, q, history)  # moved no further, it answers elastically
    assert not after.slipping[0]
    np.testing.assert_allclose(after.force, state.force, rtol=1e-12)


def oblique(mu):
    """Body guided by soft springs towards a plane at 40° to its way, not along its normal."""
    alpha = np.radians(40.0)
    n = np.array([-np.sin(alpha), 0.0, np.cos(alpha)])
    contacts = contacts_at([0, 0, 0], n, gap=0.5, k_n=1e5, k_t=4e4, friction=mu)
    K = np.diag([60.0, 0.0, 70.0, 0.0, 0.0, 0.0])
    return Block(contacts, K, np.array([True, False, True, False, False, False])), n


@pytest.mark.parametrize("mu", [5.0, 0.3])
@pytest.mark.parametrize("steps", [1, 2, 7])
def test_touching_within_a_step_counts_friction_from_the_place_of_touching(mu, steps):
    block, n = oblique(mu)
    P = np.array([20.0, 0, -300.0, 0, 0, 0])
    K, plane = block.K[np.ix_([0, 2], [0, 2])], n[[0, 2]]
    slope = np.array([plane[1], -plane[0]])
    free = np.linalg.solve(K, P[[0, 2]])
    share = -0.5 / (plane @ free)
    assert 0.0 < share < 1.0
    stick = K + 1e5 * np.outer(plane, plane) + 4e4 * np.outer(slope, slope)
    due = share * free + np.linalg.solve(stick, (1 - share) * P[[0, 2]])
    if mu == 0.3:  # slides down at once: friction μ p up the slope
        slide = K + 1e5 * np.outer(plane, plane) + mu * 1e5 * np.outer(slope, plane)
        due = share * free + np.linalg.solve(slide, (1 - share) * P[[0, 2]])

    u, history = block.rest()
    for step in range(1, steps + 1):
        ahead = np.linalg.solve(K, P[[0, 2]] / steps)
        dq = np.zeros((1, 12))
        dq[0, [6, 8]] = ahead
        history = approach(block.contacts, history, dq)
        u, state, settled = block.step(P * step / steps, history, u)
        used = settled.history.take(0)
        history = next_contact_history(block.contacts, used, state)
    np.testing.assert_allclose(u[[0, 2]], due, rtol=1e-6)
    assert state.slipping[0] == (mu == 0.3)


def test_in_the_air_nothing_is_remembered():
    contacts = contacts_at([0, 0, 0], [0, 0, 1], k_n=100.0, k_t=40.0, friction=0.5)
    history = fresh_history(contacts)
    for place in ([0, 0, -1.0], [0.4, 0, -1.0], [3.0, 1.0, 0.2], [3.0, 1.0, -1.0]):
        q = np.zeros((1, 12))
        q[0, 6:9] = place
        now = with_limits(history, np.array([50.0]))  # too high in the air
        state = contact_state(contacts, q, now)
        history = next_contact_history(contacts, now, state)
    np.testing.assert_allclose(state.force, [[0, 0, 100.0]], atol=1e-12)
    assert history.limit[0] == pytest.approx(50.0)
    np.testing.assert_allclose(traction(contacts, state), 0.0, atol=1e-12)


def test_what_has_slipped_answers_elastically_until_it_moves_on():
    rng = np.random.default_rng(8)
    _, contacts, history = scene(rng, 200)
    history = with_limits(history, np.full(200, 0.3))
    q = rng.normal(size=(200, 12)) * 0.1
    state = contact_state(contacts, q, history)
    pressed = state.pressure > 0.0
    assert state.slipping[pressed].sum() > 50
    moved = with_limits(next_contact_history(contacts, history, state), history.limit)
    again = contact_state(contacts, q, moved)
    np.testing.assert_allclose(again.force[pressed], state.force[pressed], atol=1e-12)
    assert not again.slipping[pressed].any()


def test_cases_side_by_side_answer_as_each_alone():
    rng = np.random.default_rng(5)
    _, contacts, _ = scene(rng)
    q = rng.normal(size=(3, 6, 12)) * 0.1
    limit = rng.uniform(0, 1, (3, 6))
    history = with_limits(fresh_history(contacts, (3,)), limit)
    together = contact_state(contacts, q, history)
    for case in range(3):
        alone = contact_state(contacts, q[case], history.take(case))
        np.testing.assert_array_equal(alone.tangent, together.tangent[case])
        np.testing.assert_array_equal(alone.gradient, together.gradient[case])
