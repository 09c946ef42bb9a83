"""Wires held along their axis: derivatives in every regime, work, symmetry, pulls refused."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from fem.errors import ModelError
from fem.held_wire import HeldState, peak_stress
from fem.wire import natural_length, wire_state
from fem.wire import peak_stress as peak_of_ideal
from tests.fem.held_models import (
    INF,
    Held,
    holds_of,
    laid,
    olive,
    regimes,
    smooth_then,
    straight_wire,
    tensioned_at,
)
from tests.fem.test_wire_tangent import STATIONS, Case, make_case
from tests.fem.wire_models import stiffnesses, strength

Array = np.ndarray
EA, EI = stiffnesses(1.8)
FIRST = 1e-3  # steps of differences, as shares of the case's scale


@pytest.mark.parametrize("turns", STATIONS)
def test_a_smooth_wire_obeys_the_law_of_one_tension(turns: str) -> None:
    """Without grip, olive and slip: the ideal law, held and locked, taut and slack, to 1e-10."""
    for seed in range(3):
        case = make_case(turns, seed)
        holds = holds_of(len(turns))
        held = laid(case.wires, holds, 0.0 * case.q).pull(1100.0, np.nan)
        ideal = wire_state(case.wires, case.q, tension=np.array([1100.0]))
        for ends in (held, held.pull(1100.0, 1100.0)):
            equal_to(ends.at(case.q), ideal)
        natural = natural_length(case.wires, ideal)
        locked = held.lock(case.q)
        assert locked.history.natural.sum(axis=-1) == pytest.approx(natural, abs=1e-12)
        rng = np.random.default_rng(seed)
        for share in (0.0, 0.3, 1.0):
            q = case.q + share * case.scale * rng.normal(size=case.q.shape)
            state = wire_state(case.wires, q, natural=natural)
            equal_to(locked.at(q), state)
            assert locked.at(q).energy == pytest.approx(state.energy, rel=1e-9, abs=1e-9)
            area, modulus = strength(1.8)
            assert peak_stress(case.wires, locked.at(q), area, modulus) == pytest.approx(
                peak_of_ideal(case.wires, state, area, modulus), rel=1e-9, abs=1e-9
            )


def equal_to(state: HeldState, ideal: object) -> None:
    for name in ("tension", "gradient", "tangent", "points"):
        want = getattr(ideal, name)
        got = getattr(state, name)
        assert np.abs(got - want).max() <= 1e-10 * max(np.abs(want).max(), 1e-6), name


def check_derivatives(held: Held, case: Case, q: Array) -> HeldState:
    """Gradient and tangent against four-point differences, in the scale of every freedom."""
    state = held.at(q)
    steps = FIRST * np.diag(case.scale)[:, None]
    at = {m: held.at(q + m * steps, with_tangent=False) for m in (-2, -1, 1, 2)}

    for name in ("spans", "stations", "clamps", "flows"):  # no kink between the differences
        for s in at.values():
            assert (getattr(s, name) == getattr(state, name)).all(), name

    def quotient(name: str) -> Array:
        v = {m: getattr(s, name)[:, 0] for m, s in at.items()}
        return np.asarray((8.0 * (v[1] - v[-1]) - (v[2] - v[-2])) / (12.0 * FIRST))

    gradient = state.gradient[0] * case.scale
    assert np.abs(quotient("energy") - gradient).max() < 1e-6 * np.abs(gradient).max()
    tangent = state.tangent[0] * case.scale[:, None] * case.scale
    largest = np.abs(tangent).max()
    assert np.abs(quotient("gradient") * case.scale - tangent).max() < 2e-6 * largest
    assert np.array_equal(state.tangent[0], state.tangent[0].T)
    return state


def bone_moved(case: Case, mm: float) -> Array:
    """The inner stations moved along the wire towards its end."""
    line = case.wires.points[0, -1] - case.wires.points[0, 0]
    q = case.q.copy().reshape(1, -1, 6)
    q[:, 1:-1, :3] += mm * line / np.linalg.norm(line)
    return np.asarray(q.reshape(1, -1))


# holds, shift of the bone along the wire (mm), regimes expected of spans, stations, clamps;
# 900 N throughout to begin with
REGIMES = {
    "sticks": (holds_of(4, grip=300.0), 0.01, [0, 0, 0], [0, 0], [0, 0]),
    "slides to the start": (holds_of(4, grip=30.0), 0.02, [0, 0, 0], [-1, -1], [0, 0]),
    "slides to the end": (holds_of(4, grip=30.0), -0.02, [0, 0, 0], [1, 1], [0, 0]),
    "one of two slides": (holds_of(4, grip=(400.0, 20.0)), 0.01, [0, 0, 0], [0, -1], [0, 0]),
    "olive bears": (
        holds_of(4, travel=olive(towards_end=0.0)),
        -0.02,
        [0, 0, 0],
        [2, 3],
        [0, 0],
    ),
    "olive bears the other way": (
        holds_of(4, travel=olive(towards_start=0.0, station=1)),
        0.02,
        [0, 0, 0],
        [3, -2],
        [0, 0],
    ),
    "olive off the bone": (
        holds_of(4, grip=10.0, travel=olive(towards_end=0.0)),
        0.2,
        [0, 0, 0],
        [-1, -1],
        [0, 0],
    ),
    "olive reached on the way": (
        holds_of(4, grip=10.0, travel=olive(towards_end=0.1)),
        -0.12,
        [0, 0, 0],
        [2, 1],
        [0, 0],
    ),
    "threaded, slack on one side": (
        holds_of(4, grip=INF),
        1.2,
        [0, 0, -1],
        [0, 0],
        [0, 0],
    ),
    "start clamp slips": (
        holds_of(4, grip=2000.0, slip=(1000.0, INF)),
        0.025,
        [1, 0, 0],
        [0, 0],
        [1, 0],
    ),
    "end clamp slips": (
        holds_of(4, grip=2000.0, slip=(INF, 1000.0)),
        -0.025,
        [0, 0, 1],
        [0, 0],
        [0, 1],
    ),
}


@pytest.mark.parametrize("turns", ["bppb", "bbbb"])
@pytest.mark.parametrize("name", REGIMES)
def test_derivatives_in_every_regime(name: str, turns: str) -> None:
    """1e-6 of the largest entry; kinks of the law lie between regimes, not within."""
    holds, shift, spans, stations, clamps = REGIMES[name]
    for seed in range(2):
        case = make_case(turns, seed)
        case = replace(case, q=0.3 * case.q)
        held = smooth_then(case.wires, holds, case.q, 900.0)
        state = check_derivatives(held, case, bone_moved(case, shift))
        assert regimes(state) == (spans, stations, clamps)


@pytest.mark.parametrize("turns", ["bppb", "bbbb"])
def test_derivatives_while_pulled_and_before_a_wire_is_laid(turns: str) -> None:
    case = make_case(turns, 3)
    held = laid(case.wires, holds_of(4, grip=40.0), case.q)
    assert regimes(check_derivatives(held.pull(900.0, np.nan), case, case.q))[0] == [2, 0, 0]
    both = check_derivatives(held.pull(900.0, 880.0), case, case.q)
    assert both.tensions[0] == pytest.approx([900.0, 860.0, 880.0], rel=1e-9)
    loose = replace(held, history=replace(held.history, unlaid=np.array([True])))
    far = loose.at(bone_moved(case, 3.0))
    check_derivatives(loose, case, bone_moved(case, 3.0))
    assert np.all(far.tensions == 0.0)
    assert np.all(far.slack == 0.0)
    assert np.all(far.clamp_slip == 0.0)


@pytest.mark.parametrize("seed", range(4))
def test_work_is_stored_or_dissipated(seed: int) -> None:
    """Along a fine closed random path through grip, olive, slip and slack: ∮ g·dq = change of the
    stored energy + what was dissipated, to the second order of the steps; nothing is won."""
    rng = np.random.default_rng(seed)
    case = make_case("bppb", seed)
    holds = holds_of(4, grip=(60.0, 20.0), slip=(1050.0, 980.0), travel=olive(towards_end=0.05))
    held = tensioned_at(case.wires, holds, 0.0 * case.q, 900.0)
    begun = held.history.dissipated[0]
    waypoints = [0.0 * case.q[0], *(case.scale * rng.uniform(-0.4, 0.4, (3, 24))), 0.0 * case.q[0]]
    state = held.at(waypoints[0][None])
    stored, work, n = state.stored[0], 0.0, 300
    for a, b in pairwise(waypoints):
        for i in range(n):
            q = (a + (b - a) * (i + 1) / n)[None]
            new = held.at(q, with_tangent=False)
            assert new.dissipation[0] >= 0.0
            work += float((state.gradient + new.gradient)[0] @ (b - a)) / n / 2.0
            held, state = held.go(q), new
    dissipated = held.history.dissipated[0] - begun
    assert dissipated > 1.0
    change = state.stored[0] - stored
    assert work == pytest.approx(change + dissipated, abs=2e-3 * dissipated)


def test_a_wire_counted_from_its_other_end_answers_mirrored() -> None:
    case = make_case("bppb", 5)
    w = case.wires
    other = make_mirrored(case)
    holds = holds_of(4, grip=(60.0, 20.0), slip=(INF, 900.0), travel=olive(towards_end=0.0))
    back = holds_of(
        4, grip=(20.0, 60.0), slip=(900.0, INF), travel=olive(towards_start=0.0, station=1)
    )
    a = tensioned_at(w, holds, 0.0 * case.q, 870.0, np.nan)
    b = tensioned_at(other, back, 0.0 * case.q, np.nan, 870.0)
    for shift in (-0.3, 0.3):
        q = bone_moved(replace(case, q=0.3 * case.q), shift)
        turned = q.reshape(1, 4, 6)[:, ::-1].reshape(1, -1)
        one, two = a.at(q), b.at(turned)
        assert one.tensions[0] == pytest.approx(two.tensions[0, ::-1], rel=1e-9)
        assert one.slip[0] == pytest.approx(-two.slip[0, ::-1], abs=1e-9)
        assert one.clamp_slip[0] == pytest.approx(two.clamp_slip[0, ::-1], abs=1e-9)
        back_again = two.gradient.reshape(4, 6)[::-1].reshape(1, -1)
        assert one.gradient == pytest.approx(back_again, abs=1e-6)


def make_mirrored(case: Case) -> object:
    from fem.wire_path import make_wires

    w = case.wires
    return make_wires(
        w.names, w.nodes, w.points[:, ::-1], w.arms[:, ::-1], w.turns[:, ::-1], w.EA, w.EI
    )


def test_cases_are_solved_as_if_alone() -> None:
    """Leading axes of load cases, with pasts of their own; some of them taken out."""
    case = make_case("bppb", 1)
    holds = holds_of(4, grip=25.0, slip=950.0)
    held = tensioned_at(case.wires, holds, 0.0 * case.q, 900.0)
    rng = np.random.default_rng(1)
    q = case.scale * rng.uniform(-0.5, 0.5, (12, 1, 24))
    moved = held.go(q)
    q2 = case.scale * rng.uniform(-0.5, 0.5, (12, 1, 24))
    together = moved.at(q2)
    pick = np.array([7, 2])
    some = replace(moved, history=moved.history.take(pick)).at(q2[pick])
    for i, c in enumerate(pick):
        alone = held.go(q[c]).at(q2[c])
        for name in ("tensions", "gradient", "tangent", "slip", "energy"):
            got = getattr(together, name)[c]
            assert got == pytest.approx(getattr(alone, name), rel=1e-9, abs=1e-7), name
            assert getattr(some, name)[i] == pytest.approx(got, rel=1e-9, abs=1e-7), name
    assert held.history.take(pick) is held.history


def test_pulls_that_no_tension_can_meet() -> None:
    wires = straight_wire([0.0, 75.0, 105.0, 180.0])
    still = np.zeros((1, 24))
    held = laid(wires, holds_of(4, grip=20.0)).pull(900.0, 700.0)
    with pytest.raises(ModelError, match=r"wire 'wire': a pull of 900 N at its start and 700 N"):
        held.at(still)
    held = laid(wires, holds_of(4, grip=20.0, slip=(INF, 500.0))).pull(900.0, np.nan)
    with pytest.raises(ModelError, match="900 N at its start"):
        held.at(still)
    # an olive on the bone takes the difference
    holds = holds_of(4, grip=20.0, travel=olive(towards_end=0.0, station=1))
    state = laid(wires, holds).pull(700.0, 900.0).at(still)
    assert state.tensions[0] == pytest.approx([700.0, 680.0, 900.0])
    assert state.stations[0].tolist() == [-1, 2]  # at its grip towards the start; on the bead
