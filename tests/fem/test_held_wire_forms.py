"""Wires held along their axis against closed forms: grip, olive, clamps that slip."""

from dataclasses import replace

import numpy as np
import pytest

from fem.held_wire import HeldState
from tests.fem.held_models import (
    INF,
    holds_of,
    laid,
    olive,
    pushed,
    regimes,
    smooth_then,
    straight_wire,
    tensioned_at,
)
from tests.fem.wire_models import stiffnesses

Array = np.ndarray
EA, EI = stiffnesses(1.8)


def test_the_pull_falls_by_the_grip_at_every_cortex() -> None:
    """Capstan without turns: T, T - g, T - 2g from the end that is pulled; the take-up is what
    stretches the spans, Σ T_i L_i / EA."""
    wires = straight_wire([0.0, 75.0, 105.0, 180.0])
    still = np.zeros((1, 24))
    for start_N, end_N, want in (
        (900.0, np.nan, [900.0, 860.0, 820.0]),
        (np.nan, 900.0, [820.0, 860.0, 900.0]),
        (900.0, 900.0, [900.0, 860.0, 900.0]),
        (30.0, np.nan, [30.0, 0.0, 0.0]),
    ):
        held = laid(wires, holds_of(4, grip=40.0)).pull(start_N, end_N)
        state = held.at(still)
        assert state.tensions[0] == pytest.approx(want, abs=1e-6)
        after = held.lock(still)
        taken = np.sum(np.array(want) * [75.0, 30.0, 75.0]) / EA
        assert after.history.taken_up.sum() == pytest.approx(taken, rel=1e-9)
        assert after.at(still).tensions[0] == pytest.approx(want, abs=1e-6)
        assert np.isnan(after.history.pull).all()


def test_a_bone_along_its_wire_sticks_then_slides() -> None:
    """Equal legs: spring 2 EA/N until the grip of both cortices is reached, then 2 g; a full cycle
    of ±X dissipates 8 g (X - x₀), x₀ = g N / EA being where it begins to slide."""
    wires = straight_wire([0.0, 75.0, 105.0, 180.0])
    still, g = np.zeros((1, 24)), 40.0
    held = smooth_then(wires, holds_of(4, grip=g), still, 900.0)
    k = EA / (75.0 / (1.0 + 900.0 / EA))

    def bone(x: float) -> Array:
        q = np.zeros((1, 4, 6))
        q[0, 1:3, 0] = x
        return q.reshape(1, -1)

    def force(state: HeldState) -> float:
        return float(state.gradient.reshape(4, 6)[1:3, 0].sum())

    first = g / k
    for x in np.linspace(0.1, 0.95, 4) * first:
        assert force(held.at(bone(x))) == pytest.approx(2.0 * k * x, rel=1e-9)
    for x in (1.05 * first, 3.0 * first):
        assert force(held.at(bone(x))) == pytest.approx(2.0 * g, rel=1e-9)
    X = 5.0 * first
    held = held.go(bone(X))
    begun = float(held.history.dissipated[0])
    assert begun == pytest.approx(2.0 * g * (X - first), rel=1e-9)
    for x in (-X, X):
        held = held.go(bone(x))
        assert abs(force(held.at(bone(x)))) == pytest.approx(2.0 * g, rel=1e-9)
    assert held.history.dissipated[0] - begun == pytest.approx(
        8.0 * g * (X - first),
        rel=1e-6,  # what slid by changes N by 1e-5
    )


def test_an_olive_stops_the_wire_one_way() -> None:
    """Bead at the near cortex: a bone pushed against it meets both legs of the wire, EA (1/N₀ +
    1/(N₁+N₂)); pushed away it slides free, and comes back free until it meets the bead again."""
    wires = straight_wire([0.0, 75.0, 105.0, 180.0])
    still = np.zeros((1, 24))
    held = smooth_then(wires, holds_of(4, travel=olive(towards_end=0.0)), still, 900.0)
    stretched = 1.0 + 900.0 / EA
    k = EA * stretched * (1.0 / 75.0 + 1.0 / 105.0)

    def bone(x: float) -> Array:
        q = np.zeros((1, 4, 6))
        q[0, 1:3, 0] = x
        return q.reshape(1, -1)

    def force(state: HeldState) -> float:
        return float(state.gradient.reshape(4, 6)[1:3, 0].sum())

    assert force(held.at(bone(-0.05))) == pytest.approx(-0.05 * k, rel=1e-9)
    away = held.go(bone(0.3))
    assert force(held.at(bone(0.3))) == pytest.approx(0.0, abs=1e-6)
    assert away.history.travel[0, 0] == pytest.approx([0.3, INF])
    assert force(away.at(bone(0.01))) == pytest.approx(0.0, abs=1e-6)
    away = away.go(bone(0.0))
    assert force(away.at(bone(-0.05))) == pytest.approx(-0.05 * k, rel=1e-8)
    # the tension differs on the two sides of the bead only
    T = away.at(bone(-0.05)).tensions[0]
    assert T[0] < 900.0 < T[1]
    assert T[1] == pytest.approx(T[2], abs=1e-6)


def test_tension_after_slip_depends_on_the_load_alone() -> None:
    """A string loaded across by F: while its clamps slip at T_s, sin θ = F / 2T_s and its length
    P = L / cos θ; unloaded, T = EA (L/N - 1) with N = P / (1 + T_s/EA), whatever it was before.
    A bending stiffness of 1e-4 N·mm² is left."""
    L, T_s, F = 180.0, 1000.0, 110.0
    wires = straight_wire([0.0, L / 2.0, L])
    wires = replace(wires, EI=np.array([1e-4]))
    still = np.zeros((1, 18))
    sine = F / (2.0 * T_s)
    N = L / np.sqrt(1.0 - sine**2) / (1.0 + T_s / EA)
    want = EA * (L / N - 1.0)
    left = []
    for tension in (600.0, 800.0, 950.0):
        held = tensioned_at(wires, holds_of(3, slip=T_s), still, tension)
        q = pushed(held, F)
        state = held.at(q)
        assert state.tension[0] == pytest.approx(T_s, abs=1e-9)
        assert regimes(state)[2] == [1, 1]
        left.append(float(held.go(q).at(still).tension[0]))
    assert left == pytest.approx([left[0]] * 3, abs=1e-3)
    assert left[0] == pytest.approx(want, rel=1e-4)
