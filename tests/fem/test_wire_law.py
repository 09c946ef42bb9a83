"""The law of one wire: the tension given comes back, a slack wire carries nothing and recovers."""

import numpy as np
import pytest

from fem import Law, ModelBuilder, System, lock, make_system, respond, solve
from tests.fem.linear_models import STEEL, plain_section
from tests.fem.wire_models import stiffnesses

L = 180.0
EA, EI = stiffnesses(1.8)


def wire_on_post(arm: float = 0.0) -> System:
    """Wire along x from the ground "A" over the pivot "M" to the top "B" of a post that bends in x.

    arm : the wire's end lies so far above the post's top, on a rigid arm.
    """
    build = ModelBuilder()
    build.node("A", [0, 0, arm])
    build.node("M", [70, 0, arm])
    build.node("B", [L, 0, 0])
    build.node("foot", [L, 0, -60])
    build.beam("post", "foot", "B", plain_section(I_y=60.0, I_z=60.0), STEEL)
    end = "B"
    if arm:
        end = build.node("end", [L, 0, arm])
        build.arm("end", "B")
    build.fix("A")
    build.fix("foot")
    build.fix("M", ("ux", "rx", "ry", "rz"))
    build.wire("wire", ["A", "M", end], [True, False, True], EA, EI)
    return make_system(build.build())


def push(system: System, along: float, across: float = 0.0) -> np.ndarray:
    p = np.zeros((1, system.size))
    p[0, system.dofs("B")[0]] = along
    p[0, system.dofs("M")[2]] = across
    return p


def standing(system: System, tension: float) -> tuple[np.ndarray, Law]:
    """Equilibrium (1, n) of the post under the wire's pull, and the wire locked there."""
    none = push(system, 0.0)
    found = solve(system, none, Law(tension=np.array([tension])), none, ["tensioning"])
    return found.u, lock(system, respond(system, found.u[0], found.law))


@pytest.mark.parametrize("arm", [0.0, 8.0])
@pytest.mark.parametrize("tension", [1.0, 490.0, 1275.0])
def test_the_tension_given_comes_back_when_locked(tension: float, arm: float) -> None:
    system = wire_on_post(arm)
    u, law = standing(system, tension)
    answer = respond(system, u[0], law)
    # natural length is a difference of 180 mm: 1e-14 of it times EA/L is 1e-9 N
    assert answer.tension[0] == pytest.approx(tension, abs=1e-8)
    held = respond(system, u[0], Law(tension=np.array([tension])))
    assert answer.force == pytest.approx(held.force, abs=1e-7)
    again = solve(system, push(system, 0.0), law, u, ["locked"])
    assert again.u == pytest.approx(u, abs=1e-10)


def test_natural_length_is_that_of_a_bar() -> None:
    """A straight wire at tension T between fixed ends: L / (1 + T/EA)."""
    system = wire_on_post()
    law = lock(system, respond(system, np.zeros(system.size), Law(tension=np.array([900.0]))))
    assert law.natural is not None
    assert L + law.natural[0] == pytest.approx(L / (1.0 + 900.0 / EA), rel=1e-14)


def test_tension_falls_by_the_stiffness_of_a_bar_and_stops_at_nought() -> None:
    """The end moved by x towards the other: T = EA (L - x - Lₙ)/Lₙ until it is slack."""
    system = wire_on_post()
    law = lock(system, respond(system, np.zeros(system.size), Law(tension=np.array([900.0]))))
    shorter = np.linspace(0.0, 0.6, 13)
    u = np.zeros((13, system.size))
    u[:, system.dofs("B")[0]] = -shorter
    answer = respond(system, u, law)
    natural = L / (1.0 + 900.0 / EA)
    want = np.maximum(EA * (L - shorter - natural) / natural, 0.0)
    assert (want == 0.0).sum() == 6
    assert answer.tension[:, 0] == pytest.approx(want, abs=1e-7)
    assert np.all(answer.tension[want == 0.0] == 0.0)


def test_a_slack_wire_follows_as_an_unstretched_beam() -> None:
    """Only its bending is left: no pull along it, and the lateral stiffness 3 EI (1/a³ + 1/b³)
    + … of a beam clamped at both ends, 3 EI L³/(a³ b³), of which it has no tension."""
    system = wire_on_post()
    law = Law(natural=np.array([0.5]))  # half a millimetre too long
    u = np.zeros(system.size)
    u[system.dofs("M")[2]] = 0.3
    answer = respond(system, u, law)
    assert answer.tension[0] == 0.0
    assert answer.force[system.dofs("A")[0]] == 0.0
    a, b = 70.0, L - 70.0
    # influence of a point load on a clamped-clamped beam: δ = F a³ b³ / 3 EI L³ (textbooks)
    want = 0.3 * 3.0 * EI * L**3 / (a**3 * b**3)
    assert answer.force[system.dofs("M")[2]] == pytest.approx(want, rel=1e-9)
    assert answer.wires[0].points[0, 1] == pytest.approx([0.0, 0.0, 0.3])


def test_energy_and_forces_are_continuous_across_slack() -> None:
    """Either side of the place where the tension reaches nought, on a bent wire."""
    system = wire_on_post(arm=8.0)
    _, law = standing(system, 200.0)
    u = np.zeros(system.size)
    u[system.dofs("M")[2]] = 1.2
    at = system.dofs("B")[0]
    low, high = -3.0, 0.0
    for _ in range(60):
        u[at] = (low + high) / 2.0
        if respond(system, u, law).tension[0] > 0.0:
            high = u[at]
        else:
            low = u[at]
    sides = np.tile(u, (2, 1))
    step = 1e-6
    sides[:, at] += [-step, step]
    answer = respond(system, sides, law)
    assert answer.tension[0, 0] == 0.0
    stiffness = EA / L
    assert 0.0 < answer.tension[1, 0] < 1.1 * stiffness * step
    # the energy moves with the force of the post, 1e2 N, over 2e-6 mm; the forces by
    # EA/L and the post
    middle = respond(system, u, law)
    change = (answer.energy[1] - answer.energy[0]) / (2.0 * step)
    assert change == pytest.approx(middle.force[at], abs=0.01)
    assert np.abs(answer.force[1] - answer.force[0]).max() < 2.0 * step * 1e6


def test_a_wire_goes_slack_and_returns_whatever_the_way() -> None:
    """Pushed until slack, let go by half: the same state as pushed there at once."""
    system = wire_on_post(arm=8.0)
    start, law = standing(system, 300.0)
    far, half = push(system, -900.0, 4.0), push(system, -250.0, 4.0)
    slack = solve(system, far, law, start, ["pushed"])
    assert slack.response.tension[0, 0] == 0.0
    back = solve(system, half, law, slack.u, ["let go"], start_loads=far)
    direct = solve(system, half, law, start, ["direct"])
    assert direct.response.tension[0, 0] > 10.0
    assert back.u == pytest.approx(direct.u, abs=1e-9)
    assert back.response.tension == pytest.approx(direct.response.tension, abs=1e-6)
    home = solve(system, push(system, 0.0), law, slack.u, ["home"], start_loads=far)
    assert home.u == pytest.approx(start, abs=1e-9)
    assert home.response.tension[0, 0] == pytest.approx(300.0, abs=1e-6)


def test_the_post_carries_what_the_slack_wire_leaves() -> None:
    """Cantilever of the post alone, P h³/3EI, once the wire is slack (its bending is across x)."""
    system = wire_on_post()
    start, law = standing(system, 300.0)
    found = solve(system, push(system, -2000.0), law, start, ["pushed"])
    assert found.response.tension[0, 0] == 0.0
    # the clamp on the post's top turns with it and bends the wire's last span:
    # EI_wire/EI_post = 1 %
    bare = -2000.0 * 60.0**3 / (3.0 * STEEL.E * 60.0)
    assert found.u[0, system.dofs("B")[0]] == pytest.approx(bare, rel=0.02)
