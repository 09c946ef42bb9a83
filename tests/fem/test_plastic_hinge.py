"""Plastic hinges of wires: section and layer, derivatives while hinges flow, energy, invariance."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from fem.errors import ModelError
from fem.plastic_hinge import exhausted, hinges, layer_kink, strength
from fem.wire_holds import Hinges, WireHolds
from tests.fem.held_models import Held, holds_of, pushed, smooth_then, straight_wire
from tests.fem.linear_models import random_rotation
from tests.fem.test_held_wire import check_derivatives, equal_to
from tests.fem.test_wire_tangent import Case, make_case
from tests.fem.wire_models import stiffnesses

Array = np.ndarray
EA, EI = stiffnesses(1.8)


def steel(tension: float = 1000.0, yield_stress: float = 880.0, diameter: float = 1.8) -> Hinges:
    one = np.array([1.0])
    return hinges(diameter * one, yield_stress * one, stiffnesses(diameter)[1] * one, tension * one)


def test_the_exhausted_section() -> None:
    """Against the areas and first moments of a circle cut by the neutral line, ∫ over strips."""
    R = 0.9
    for y0 in (0.0, 0.2, 0.5, 0.8, 0.89):
        width = quad(lambda y: 2.0 * np.sqrt(R**2 - y**2), -y0, y0)[0]
        moment = 2.0 * quad(lambda y: 2.0 * y * np.sqrt(R**2 - y**2), y0, R)[0]
        f, f_1, f_2 = exhausted(np.array(width / (np.pi * R**2)))
        assert f == pytest.approx(moment / (np.pi * R**3 / 4.0), rel=1e-9)
        # normality: the stretch per kink is the way of the neutral line off the axis, d/8 its unit
        assert -f_1 * R / 4.0 == pytest.approx(y0, abs=1e-9)
        n, h = float(width / (np.pi * R**2)), 1e-5
        if 0.0 < n < 0.99:
            ends = [exhausted(np.array(n + way * h)) for way in (1, -1)]
            assert (ends[0][0] - ends[1][0]) / (2 * h) == pytest.approx(f_1, rel=1e-6)
            assert (ends[0][1] - ends[1][1]) / (2 * h) == pytest.approx(f_2, rel=1e-6)
    assert exhausted(np.array(0.0))[0] == pytest.approx(16.0 / (3.0 * np.pi), rel=1e-12)
    assert exhausted(np.array(1.0))[0] == pytest.approx(0.0, abs=1e-8)


def test_strength_is_concave_in_tension_and_never_below_first_yield() -> None:
    T = np.linspace(0.0, 2200.0, 221)
    s = strength(T, np.array(500.0), np.array(2239.0))
    assert (s.B >= 0.0).all()
    assert (s.B_2 <= 0.0).all()
    for gained in (0.0, 0.4, 1.0):
        m = s.A + gained * s.B
        assert (np.diff(m, 2) < 1e-9).all()
        assert np.gradient(m, T)[1:-1] == pytest.approx((s.A_1 + gained * s.B_1)[1:-1], abs=2e-4)


def test_the_layer_against_its_closed_form_without_tension() -> None:
    """M/M_y = (2/π) [asin η - η (1 - 2η²) √(1-η²)]/η + (16/3π) (1-η²)^(3/2), η = κ_y/κ (elastic
    core of a round section, textbooks), and the integral over M instead of κ."""

    def moment(k: float) -> float:
        e = 1.0 / k
        root = np.sqrt(1.0 - e**2)
        core = (np.arcsin(e) - e * (1.0 - 2.0 * e**2) * root) / e
        return float(2.0 / np.pi * core + 16.0 / (3.0 * np.pi) * root**3)

    goal = 1.0 + 0.9 * (16.0 / (3.0 * np.pi) - 1.0)
    want = quad(
        lambda M: (brentq(lambda k: moment(k) - M, 1.0, 100.0) - M) / M, 1.0, goal, epsabs=1e-9
    )[0]
    assert layer_kink(0.0) == pytest.approx(want, rel=2e-4)  # 2000 strips


def test_elastic_hinges_change_nothing() -> None:
    """A yield stress too high to reach, or infinite: the law of the same wire without hinges."""
    case = make_case("bppb", 1)
    plain = holds_of(4, grip=40.0)
    for sigma in (1e6, np.inf):
        held = smooth_then(case.wires, replace(plain, hinges=steel(1000.0, sigma)), case.q, 900.0)
        other = smooth_then(case.wires, plain, case.q, 900.0)
        q = case.q + 0.3 * case.scale
        equal_to(held.at(q), other.at(q))
        assert not held.at(q).flows.any()


def bent(case: Case, turned: tuple[float, ...]) -> Array:
    """Stations turned in their place about a skew axis across the wire, rad each."""
    q = case.q.copy().reshape(1, -1, 6)
    axis = case.wires.across[0].T @ np.array([0.8, 0.6])
    for station, angle in enumerate(turned):
        q[0, station, 3:] += angle * axis
        q[0, station, :3] -= angle * np.cross(axis, case.wires.arms[0, station])
    return np.asarray(q.reshape(1, -1))


@pytest.mark.parametrize("turns", ["bppb", "bbbb"])
@pytest.mark.parametrize(
    "turned",
    [(0.06, 0, 0, 0), (0.06, 0, 0, -0.035), (0.05, 0.04, 0.02, 0), (0.06, -0.02, 0.05, -0.03)],
)
@pytest.mark.parametrize("grip", [0.0, 25.0])
def test_derivatives_while_hinges_flow(turned: tuple, turns: str, grip: float) -> None:
    """In one plane and askew (the case's own displacements bend the wire in the other plane)."""
    case = make_case(turns, 2)
    case = replace(case, q=0.2 * case.q)
    holds = replace(holds_of(4, grip=grip), hinges=steel())
    held = smooth_then(case.wires, holds, 0.0 * case.q, 900.0)
    state = check_derivatives(held, case, bent(case, turned))
    assert state.flows.any()
    # again from there, the other way: hinges that have turned before
    held = held.go(bent(case, turned))
    back = check_derivatives(held, case, bent(case, tuple(-a for a in turned)))
    assert back.flows.any()


def test_a_hinge_carries_its_strength_and_flows_along_its_moment() -> None:
    """|M - H α| = m(T, p) where it flows, less elsewhere; Δα along it; stretch -∂Φ/∂T."""
    case = make_case("bppb", 2)
    case = replace(case, q=0.2 * case.q)
    h = steel()
    held = smooth_then(case.wires, replace(holds_of(4), hinges=h), 0.0 * case.q, 900.0)
    q = bent(case, (0.1, 0.0, 0.0, -0.08))
    for state, p0 in ((held.at(q), 0.0), (held.go(q).at(2.0 * q), held.go(q).history.turned[0])):
        before = np.zeros_like(state.kink) if np.isscalar(p0) else held.go(q).history.kink
        step = (state.kink - before)[0]
        x = np.sqrt(np.sum(step**2, axis=-1))
        parts = strength(state.tensions[0][:, None], h.M_y, h.N_y)
        share = 1.0 - np.exp(-(p0 + x) / h.spread)
        m = parts.A + parts.B * share
        drive = state.bending.moments[0] - h.H * state.kink[0]
        size = np.sqrt(np.sum(drive**2, axis=-1))
        flows = state.flows[0]
        assert flows.any()
        assert not flows.all()
        assert size[flows] == pytest.approx(m[flows], rel=1e-9)
        assert (size[~flows] < m[~flows]).all()
        assert x[~flows] == pytest.approx(0.0, abs=1e-15)
        along = np.sum(drive * step, axis=-1)[flows] / (size * x)[flows]
        assert along == pytest.approx(1.0, rel=1e-9)
        integral = np.zeros(flows.shape)
        for at in np.ndindex(flows.shape):
            begin = 0.0 if np.isscalar(p0) else p0[at]

            def rate(p: float, A_1: float, B_1: float) -> float:
                return -(A_1 + B_1 * (1.0 - float(np.exp(-p / h.spread[0]))))

            rates = (float(parts.A_1[at[0], 0]), float(parts.B_1[at[0], 0]))
            integral[at] = quad(rate, begin, begin + x[at], args=rates, epsabs=1e-14)[0]
        assert state.stretch[0] == pytest.approx(integral.sum(axis=-1), rel=1e-9, abs=1e-15)


def test_a_wire_turned_in_space_yields_turned() -> None:
    case = make_case("bppb", 2)
    holds = replace(holds_of(4, grip=25.0), hinges=steel())
    R = random_rotation(3)
    other = make_case("bppb", 2, R)
    answers = []
    for c in (case, other):
        c = replace(c, q=0.6 * c.q)
        held = smooth_then(c.wires, holds, 0.0 * c.q, 900.0).go(2.5 * c.q)
        answers.append(held.at(-2.5 * c.q))
    one, two = answers
    assert one.flows.any()
    assert two.tensions == pytest.approx(one.tensions, rel=1e-8)
    assert two.energy == pytest.approx(one.energy, rel=1e-8)
    back = (two.gradient.reshape(-1, 3) @ R).ravel()
    assert back == pytest.approx(one.gradient[0], abs=1e-8 * np.abs(back).max())
    assert np.sum(two.kink**2, axis=-1) == pytest.approx(np.sum(one.kink**2, axis=-1), rel=1e-7)


@pytest.mark.parametrize("seed", range(3))
def test_work_is_stored_or_dissipated(seed: int) -> None:
    rng = np.random.default_rng(seed)
    case = make_case("bppb", seed)
    holds = replace(holds_of(4, grip=30.0, slip=1300.0), hinges=steel())
    held = smooth_then(case.wires, holds, 0.0 * case.q, 900.0)
    turns = np.tile([0.0] * 3 + [3.0] * 3, 4) * case.scale
    corners = rng.uniform(-1.0, 1.0, (3, 24)) * (0.3 * case.scale + turns)
    path = [0.0 * case.q[0], *corners, 0.0 * case.q[0]]
    begun, state = held.history.dissipated[0], held.at(path[0][None])
    stored, work, n = state.stored[0], 0.0, 250
    for a, b in pairwise(path):
        for i in range(n):
            new = held.at((a + (b - a) * (i + 1) / n)[None], with_tangent=False)
            assert new.dissipation[0] >= -1e-12
            work += float((state.gradient + new.gradient)[0] @ (b - a)) / n / 2.0
            held, state = held.go((a + (b - a) * (i + 1) / n)[None]), new
    assert held.history.turned.max() > 0.01
    dissipated = held.history.dissipated[0] - begun
    change = state.stored[0] - stored
    assert work == pytest.approx(change + dissipated, abs=5e-3 * dissipated)


def test_a_wire_drawn_beyond_yield_stretches_at_its_yield_load() -> None:
    """Straight, its clamp moved out by x: T = N_y, plastic stretch x less what N_y stretches it;
    moved back, the tension left is EA times what is left of it."""
    wires = straight_wire([0.0, 100.0])
    N_y = 880.0 * np.pi * 1.8**2 / 4.0
    holds = WireHolds(np.zeros((1, 0)), np.full((1, 2), np.inf), np.zeros((1, 0, 2)), steel())
    held = smooth_then(wires, holds, np.zeros((1, 12)), 900.0)
    q = np.zeros((1, 12))
    q[0, 6] = 0.4
    state = held.at(q)
    assert state.tension[0] == pytest.approx(N_y, rel=1e-12)
    natural = 100.0 / (1.0 + 900.0 / EA)
    assert state.stretch[0, 0] == pytest.approx(100.4 - natural * (1.0 + N_y / EA), rel=1e-9)
    assert state.dissipation[0] == pytest.approx(N_y * state.stretch[0, 0], rel=1e-12)
    left = held.go(q).at(0.99 * q)
    N = 100.4 / (1.0 + N_y / EA)
    assert left.tension[0] == pytest.approx(EA * (100.396 / N - 1.0), rel=1e-9)


def test_hinges_need_steel_that_holds_its_tension() -> None:
    with pytest.raises(ModelError, match="tension below yield"):
        steel(tension=2500.0)
    with pytest.raises(ModelError, match="yield stress"):
        steel(yield_stress=-1.0)


def test_unloaded_wires_do_not_turn_their_hinges() -> None:
    wires = straight_wire([0.0, 75.0, 105.0, 180.0])
    held = smooth_then(wires, replace(holds_of(4), hinges=steel()), np.zeros((1, 24)), 1000.0)
    state = held.at(np.zeros((1, 24)))
    assert state.tensions == pytest.approx(1000.0)
    assert not state.flows.any()
    assert state.dissipation[0] == 0.0


def shaken(held: Held, F: float, cycles: int) -> list[float]:
    """Tension left after each cycle of a central load 0 … F."""
    left = []
    for _ in range(cycles):
        for load in (0.5 * F, F, 0.5 * F, 0.0):
            held = held.go(pushed(held, load))
        left.append(float(held.at(pushed(held, 0.0)).tension[0]))
    return left


def test_cycles_shake_down() -> None:
    """The tension tends to a limit: after the first cycle nothing more is lost."""
    wires = straight_wire([0.0, 90.0, 180.0])
    held = smooth_then(wires, replace(holds_of(3), hinges=steel()), np.zeros((1, 18)), 1000.0)
    left = shaken(held, 150.0, 4)
    assert left[0] < 990.0
    assert left[1:] == pytest.approx([left[1]] * 3, rel=1e-4)
