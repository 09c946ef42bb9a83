"""The outer iteration for Coulomb's limits."""

import numpy as np
import pytest

from fem.contact import (
    ContactHistory,
    contact_state,
    coulomb_error,
    fresh_history,
    next_contact_history,
)
from fem.errors import ConvergenceError
from fem.friction import _Search, settle
from tests.fem.contact_models import Block, contacts_at, wedge

K = np.diag([60.0, 60.0, 70.0, 4e5, 4e5, 2e5])  # a frame's size of stiffness


def oblique_ring(degrees, mu, gap=0.0, n=12):
    alpha = np.radians(degrees)
    phi = 2 * np.pi * np.arange(n) / n
    points = [
        [r * np.cos(f), r * np.sin(f), r * np.cos(f) * np.tan(alpha)] for r in (13, 7) for f in phi
    ]
    normal = [-np.sin(alpha), 0.0, np.cos(alpha)]
    contacts = contacts_at(points, normal, gap=gap, k_n=2.7e5, k_t=1e5, friction=mu)
    return Block(contacts, K, np.ones(6, bool))


@pytest.mark.parametrize(
    ("degrees", "mu"), [(45, 0.3), (45, 0.6), (60, 0.6), (60, 1.5), (75, 0.3), (75, 1.0)]
)
def test_steep_wedges_settle_in_a_few_rounds(degrees, mu):
    """The plain iteration multiplies its error by μ tan α, up to 3.7 here."""
    block = wedge(np.radians(degrees), mu, 100.0)
    u, history = block.rest()
    _, state, settled = block.step([0, 0, -700.0, 0, 0, 0], history, u)
    assert state.slipping[0]
    assert settled.rounds[0] <= 15
    p = 700.0 / (np.cos(np.radians(degrees)) + mu * np.sin(np.radians(degrees)))
    assert state.pressure[0] == pytest.approx(p, rel=1e-6)


@pytest.mark.parametrize("degrees", [0, 20, 45, 60, 75])
@pytest.mark.parametrize("mu", [0.1, 0.3, 1.0])
@pytest.mark.parametrize("gap", [0.0, 0.5])
def test_rings_of_points_settle_and_obey_coulomb(degrees, mu, gap):
    block = oblique_ring(degrees, mu, gap)
    u, history = block.rest()
    load = np.array([50.0, -40.0, -700.0, 3000.0, 4000.0, 2000.0])
    for share in (0.3, 0.6, 1.0):
        u, state, settled = block.step(share * load, history, u)
        used = settled.history.take(0)
        assert settled.rounds[0] <= 20
        assert coulomb_error(block.contacts, used, state) <= 1e-7
        p, n = state.pressure, block.contacts.normal
        t = np.linalg.norm(state.force - p[:, None] * n, axis=-1)
        assert (t <= mu * p + 1e-6 * p.max()).all()
        np.testing.assert_allclose(t[state.slipping], (mu * p)[state.slipping], atol=1e-6 * p.max())
        total = state.force.sum(axis=0) - K[:3, :3] @ u[:3] + share * load[:3]
        np.testing.assert_allclose(total, 0.0, atol=1e-6)
        # the same answer from the settled history: sticking points were given a limit that holds
        again = contact_state(block.contacts, block.parts(u), used)
        np.testing.assert_allclose(again.force, state.force, rtol=1e-12, atol=1e-12)
        history = next_contact_history(block.contacts, used, state)


def test_each_case_settles_by_itself():
    block = oblique_ring(45, 0.4)
    loads = np.array(
        [[0, 0, -700.0, 0, 0, 0], [90.0, 0, -400.0, 6e3, 2e3, 0], [0, 0, 100.0, 0, 0, 0]]
    )
    places = np.zeros((3, 6))
    asked = []

    def solve_once(now, cases):
        asked.append(cases.tolist())
        states = []
        for row, case in enumerate(cases):
            places[case], state = block.newton(loads[case], now.take(row), places[case])
            states.append(state)
        fields = states[0].__dataclass_fields__
        return type(states[0])(*(np.stack([getattr(s, f) for s in states]) for f in fields))

    start = fresh_history(block.contacts, (3,))
    settled = settle(solve_once, block.contacts, start, ["a", "b", "c"])
    assert asked[0] == [0, 1, 2]
    assert settled.rounds.tolist() == [sum(c in a for a in asked) for c in range(3)]
    assert settled.rounds[2] < settled.rounds[0]  # lifted off: no friction to settle
    for case, load in enumerate(loads):
        u, history = block.rest()
        u, _, alone = block.step(load, history, u)
        np.testing.assert_allclose(places[case], u, rtol=1e-7, atol=1e-12)
        assert alone.rounds[0] == settled.rounds[case]


def test_no_contacts_and_no_friction_need_one_round():
    for points, mu in (([], 0.3), ([[0, 0, 0], [1, 0, 0]], 0.0)):
        if points:
            contacts = contacts_at(points, [0.0, 0, 1.0], friction=mu)
        else:
            contacts = contacts_at(np.zeros((0, 3)), np.zeros((0, 3)))
        block = Block(contacts, np.eye(6), np.ones(6, bool))
        u, history = block.rest()
        _, _, settled = block.step([3.0, 0, -5.0, 0, 0, 0], history, u)
        assert settled.rounds.tolist() == [1]
        assert settled.error.tolist() == [0.0]


def test_what_has_no_answer_is_said_with_its_worst_point():
    """A made-up solver whose pressure jumps from 2 to 0 N where the limit passes 1 N."""
    contacts = contacts_at([[0, 0, 0], [5, 0, 0]], [0, 0, 1], friction=1.0, k_n=100.0, k_t=10.0)

    def solve_once(now, cases):
        q = np.zeros((1, 2, 12))
        q[0, :, 6] = 1.0
        q[0, 1, 8] = -0.02 if now.limit[0, 1] < 1.0 else 0.02
        return contact_state(contacts, q, now)

    start = ContactHistory(np.full((1, 2), 0.1), np.zeros((1, 2, 3)), np.zeros((1, 2)))
    with pytest.raises(ConvergenceError, match="standing: friction does not settle") as caught:
        settle(solve_once, contacts, start, ["standing"])
    assert caught.value.worst_node == "c1"
    assert caught.value.state == "standing"
    assert len(caught.value.residuals) == caught.value.iterations


def test_a_limit_never_falls_below_zero_and_is_zero_in_the_air():
    search = _Search()
    first = search.advance(np.array([5.0, 5.0]), np.array([4.0, 4.0]))
    np.testing.assert_allclose(first, [4.0, 4.0])
    # misses that hardly change point far below zero
    np.testing.assert_array_equal(search.advance(first, np.array([3.01, 3.01])), [0.0, 0.0])
    search = _Search()
    search.advance(np.array([0.0, 0.0]), np.array([4.0, 4.0]))
    down = search.advance(np.array([4.0, 4.0]), np.array([3.0, 0.0]))
    assert down[0] > 0.0
    assert down[1] == 0.0
