"""Wires of steel that yields: against experiments and against a section cut into fibres."""

from dataclasses import replace

import numpy as np
import pytest

from fem.held_wire import peak_stress
from fem.plastic_hinge import hinges
from tests.fem.held_models import Held, holds_of, pushed, smooth_then, straight_wire
from tests.fem.wire_models import E_WIRE, KGF, stiffnesses, strength
from tests.published import fibre_wire

EA, EI = stiffnesses(1.8)
YIELD = 880.0  # MPa, cold-worked 316L: 860 tensile strength by its standard, 900 and more if drawn


def clamped(tension: float, yield_stress: float = YIELD) -> Held:
    """1.8 mm between clamps 180 mm apart, built in at mid length, where the load acts."""
    one = np.array([1.0])
    steel = hinges(1.8 * one, yield_stress * one, EI * one, tension * one)
    wires = straight_wire([0.0, 90.0, 180.0])
    return smooth_then(wires, replace(holds_of(3), hinges=steel), np.zeros((1, 18)), tension)


def at_load(held: Held, F: float) -> float:
    """Peak stress, MPa, at a central load."""
    return float(peak_stress(held.wires, held.at(pushed(held, F)), *strength(1.8))[0])


@pytest.mark.parametrize("kgf", [50, 90, 110, 130])
def test_onset_of_yield_hardly_depends_on_tension(kgf: float) -> None:
    """Watson, Mathias, Maffulli & Hukins 2003 (abstract): yield begins above 50 N a wire, stress
    passes yield at about 55 N, for all initial tensions. Within 20 % of 50 … 55 N."""
    held = clamped(kgf * KGF)
    low, high = 10.0, 100.0
    for _ in range(30):
        F = (low + high) / 2.0
        low, high = (low, F) if held.at(pushed(held, F)).flows.any() else (F, high)
    assert 0.8 * 50.0 < high < 1.2 * 55.0
    # the first hinge is the first fibre at yield
    assert at_load(held, 0.999 * high) == pytest.approx(YIELD, rel=2e-3)


def cycled(held: Held, F: float, cycles: int) -> list[tuple[float, float, float, float]]:
    """As ``fibre_wire.cycled``."""
    at, rows = 6 + 1, []
    for _ in range(cycles):
        row = []
        for loads in (np.linspace(0.25, 1.0, 4) * F, np.linspace(0.75, 0.0, 4) * F):
            for load in loads:
                q = pushed(held, float(load))
                state, held = held.at(q), held.go(q)
            row += [float(q[0, at]), float(state.tension[0])]
        rows.append(tuple(row))
    return rows


@pytest.mark.parametrize(
    ("kgf", "F"), [(50, 100), (50, 200), (90, 150), (90, 200), (130, 100), (130, 150), (130, 200)]
)
def test_against_fibres(kgf: float, F: float) -> None:
    """After 1 and 4 cycles: deflection at the peak to 1.2 %, tension there to 1 %, tension left to
    3 % of the pretension. What is lost differs by a quarter at most where it is more than 2 % of
    it: the layer is drawn together into a point, its spread ϑ kept as locked, and the fibres go on
    losing a little from cycle to cycle."""
    T = kgf * KGF
    want = fibre_wire.cycled(1.8, 180.0, T, F, 4, E_WIRE, YIELD)
    got = np.array(cycled(clamped(T), F, 4))
    for cycle in (0, 3):
        assert got[cycle, 0] == pytest.approx(want[cycle, 0], rel=0.012)
        assert got[cycle, 1] == pytest.approx(want[cycle, 1], rel=0.01)
        assert got[cycle, 3] == pytest.approx(want[cycle, 3], abs=0.03 * T)
        lost, should = T - got[cycle, 3], T - want[cycle, 3]
        if should > 0.02 * T:
            assert lost == pytest.approx(should, rel=0.25)
    # both shake down: hardly anything is lost after the first cycle
    assert abs(got[3, 3] - got[0, 3]) < 0.01 * T
    assert abs(want[3, 3] - want[0, 3]) < 0.02 * T


def test_high_loads_draw_tensions_together() -> None:
    """Delprete & Gola, J Biomech Eng 1993;115:37-42 (abstract): under transverse cycles the tension
    falls to a lower limit set by the load. With perfectly plastic steel alone and clamps that hold,
    pretensions of 90, 110 and 130 kgf draw together with rising load, to 3/4 of their difference at
    350 N, not to one value (where the clamps slip, to one: tests/fem/test_held_wire.py)."""
    begun = np.array([90.0, 110.0, 130.0]) * KGF
    spread = []
    for F in (100.0, 200.0, 300.0, 350.0):
        left = np.array([cycled(clamped(float(T)), F, 3)[-1][3] for T in begun])
        assert (np.diff(left) > 0.0).all()
        spread.append(float(np.ptp(left) / np.ptp(begun)))
    assert (np.diff(spread) < -0.01).all()
    assert spread[-1] < 0.8
