"""Tensioning a second wire on a free ring changes the tension of the first.

First wire locked at T₁, second pulled to T₂ against the ring, α apart.  With f(α) = Δ(α)/W
of the ring (``ring_models``) the first wire's diameter shortens by f(α) T₂ + f(0) ΔT and
its tension changes by

    ΔT = -f(α) T₂ / (f(0) + L/EA).

That neighbouring wires slacken by ring deformation is known from operations and experiments (Duda
and others 2000, mechanical behaviour of ring fixators, abstract); no usable numbers were found
there.
"""

from math import radians

import numpy as np
import pytest
from scipy.optimize import brentq

from fem import Law, Section, System, lock, make_system, respond, solve
from tests.fem.wire_models import stiffnesses
from tests.published.ring_models import (
    at,
    build_ring,
    full_section,
    inextensible,
    inward,
    pinch,
)

T1 = T2 = 1275.0  # 130 kgf
R = 82.0  # centre line of a ring of 150 mm inner diameter, 14 mm wide
EA, EI = stiffnesses(1.8)


def ring_with_wires(crossing: float, section: Section, wires: int, EI: float) -> System:
    """Wires clamped to the ring in its neutral plane at 0 and ``crossing`` degrees."""
    build = build_ring(R, section, [0.0, crossing])
    for i, bearing in enumerate([0.0, crossing][:wires]):
        build.wire(f"wire {i}", [at(bearing), at(bearing + 180.0)], [True, True], EA, EI)
    return make_system(build.build(), keep=[at(b) for b in (0.0, crossing, crossing + 180.0)])


def first_wire_after_pull(crossing: float, section: Section, EI: float = 1e-6) -> float:
    """Change of T₁: first wire tensioned and locked; the second's pull as forces on the ring."""
    system = ring_with_wires(crossing, section, 1, EI)
    none = np.zeros((1, system.size))
    first = solve(system, none, Law(tension=np.array([T1])), none, ["first wire"])
    law = lock(system, respond(system, first.u[0], first.law))
    pull = np.zeros((1, system.size))
    for bearing in (crossing, crossing + 180.0):
        pull[0, system.dofs(at(bearing))[:3]] += T2 * inward(bearing)
    second = solve(system, pull, law, first.u, ["second wire"])
    return float(second.response.tension[0, 0] - T1)


def predicted(crossing: float, section: Section, length: float = 2.0 * R) -> float:
    f = pinch(radians(crossing), R, section)
    return -f * T2 / (pinch(0.0, R, section) + length / EA)


@pytest.mark.parametrize("section", [inextensible(), full_section()], ids=["slender", "14 x 5"])
@pytest.mark.parametrize("crossing", [30.0, 45.0, 60.0, 90.0])
def test_formula(crossing: float, section: Section) -> None:
    """Within half a percent with L the ring's diameter at rest; to rounding with the
    wire's own length.

    The locked wire is shorter than the ring was by the ring's closing, f(0) T₁, and by its stretch.
    """
    got = first_wire_after_pull(crossing, section)
    assert got == pytest.approx(predicted(crossing, section), rel=5e-3)
    natural = (2.0 * R - pinch(0.0, R, section) * T1) / (1.0 + T1 / EA)
    # Newton stops at 1e-10 of the forces; EI = 1e-6 N·mm² instead of none is less still
    assert got == pytest.approx(predicted(crossing, section, natural), abs=1e-5)


def test_bending_of_the_wire_hardly_matters() -> None:
    """The ring turns the clamps of the first wire, which resists by √(EI T): 1.1e4 N·mm/rad."""
    slack_in_bending = first_wire_after_pull(30.0, full_section())
    real = first_wire_after_pull(30.0, full_section(), EI)
    assert 0.0 < real - slack_in_bending < 1e-3 * abs(slack_in_bending)


# change in percent of T₁ on a stainless ring of 14 × 5 mm and 150 mm inner diameter,
# thin-ring formula
@pytest.mark.parametrize(("crossing", "percent"), [(30, -24), (45, 2), (60, 26), (90, 48)])
def test_printed_changes(crossing: float, percent: float) -> None:
    """With hoop compression, shear and the wire's own bending in, within two points."""
    got = 100.0 * first_wire_after_pull(crossing, full_section(), EI) / T1
    assert got == pytest.approx(percent, abs=2.0)


def test_crossing_angle_of_no_effect() -> None:
    """43.9° on a slender ring, within half a degree."""
    zero = brentq(lambda a: first_wire_after_pull(a, inextensible()), 40.0, 48.0, xtol=0.01)
    assert zero == pytest.approx(43.89, abs=0.5)


@pytest.mark.parametrize("crossing", [30.0, 90.0])
def test_second_wire_locked_in_the_same_model(crossing: float) -> None:
    """Both wires in one model, the second's natural length sought until it carries T₂: the
    same change."""
    system = ring_with_wires(crossing, full_section(), 2, 1e-6)
    none = np.zeros((1, system.size))
    alone = ring_with_wires(crossing, full_section(), 1, 1e-6)
    start = solve(alone, none, Law(tension=np.array([T1])), none, ["first wire"])
    first = lock(alone, respond(alone, start.u[0], start.law)).natural
    assert first is not None

    def both(second: float) -> np.ndarray:
        law = Law(natural=np.array([first[0], second]))
        found = solve(system, none, law, none, ["both"])
        return np.asarray(found.response.tension[0])

    natural = brentq(lambda x: both(x)[1] - T2, -6.0, 0.0, xtol=1e-9)
    change = both(natural)[0] - T1
    assert change == pytest.approx(first_wire_after_pull(crossing, full_section()), rel=1e-3)
