"""Columns carry their axial force along the displaced chord: second-order effect of
sideways motion."""

import numpy as np
import pytest

from fem import Model, ModelBuilder, make_system, respond, solve
from fem.chord import chord_state
from tests.fem.linear_models import NO_WIRES, STEEL, plain_section, random_rotation

L, TURNING = 200.0, 4e6  # mm, N·mm/rad
STIFF = plain_section(area=60.0, I_y=1e9, I_z=1e9, J=1e9)


def strut(column: bool) -> Model:
    """A strut along z that does not bend, on a foot that can turn about y on a spring."""
    build = ModelBuilder()
    build.node("foot", [0, 0, 0])
    build.node("top", [0, 0, L])
    build.beam("strut", "foot", "top", STIFF, STEEL, column=column)
    build.fix("foot", ("ux", "uy", "uz", "rx", "rz"))
    build.spring("spring", "foot", None, [0, 0, 0, 0, TURNING, 0])
    return build.build()


def sideways(column: bool, down: float, aside: float) -> float:
    system = make_system(strut(column), keep=["top"])
    p = np.zeros((1, system.size))
    p[0, system.dofs("top")[[0, 2]]] = aside, -down
    found = solve(system, p, NO_WIRES, np.zeros_like(p), ["load"])
    assert found.equilibrium_error[0] < 1e-8
    assert found.energy_error[0] < 1e-8
    return float(found.u[0, system.dofs("top")[0]])


@pytest.mark.parametrize("share", [-1.0, 0.0, 0.3, 0.8])
def test_strut_on_a_spring(share: float) -> None:
    """Sideways stiffness k/L² - N/L, nought at the buckling load k/L (textbooks); pull stiffens."""
    critical = TURNING / L
    down = share * critical
    want = 1.0 / (TURNING / L**2 - down / L)
    # 1 N turns the strut by 1e-4 rad; N shortens it by L N/EA, 2e-3 of itself at the buckling load
    assert sideways(True, down, 1.0) == pytest.approx(want, rel=1.2e-2)
    assert sideways(False, down, 1.0) == pytest.approx(L**2 / TURNING, rel=1e-4)


def test_stretch_along_itself_is_that_of_a_bar() -> None:
    system = make_system(strut(True), keep=["top"])
    p = np.zeros((1, system.size))
    p[0, system.dofs("top")[2]] = 5000.0
    found = solve(system, p, NO_WIRES, np.zeros_like(p), ["load"])
    want = 5000.0 * L / (STEEL.E * STIFF.area)
    assert found.u[0, system.dofs("top")[2]] == pytest.approx(want, rel=1e-12)


def test_axial_force_of_large_sideways_motion_is_that_of_the_true_chord() -> None:
    """Both ends moved by hand: force EA (ℓ - L)/L along the new chord."""
    system = make_system(strut(True), keep=["top"])
    u = np.zeros(system.size)
    u[system.dofs("top")[:3]] = [30.0, -10.0, 5.0]
    u[system.dofs("top")[3:]] = u[system.dofs("foot")[3:]] = [10.0 / L, 30.0 / L, 0.0]  # no bending
    chord = np.array([30.0, -10.0, L + 5.0])
    length = np.linalg.norm(chord)
    want = STEEL.E * STIFF.area * (length - L) / L * chord / length
    got = respond(system, u, NO_WIRES).force[system.dofs("top")[:3]]
    assert got == pytest.approx(want, rel=1e-6)


def test_gradient_and_tangent_are_derivatives() -> None:
    """On arms, in any direction; 1e-6 of the largest entry, differences of fourth order."""
    R = random_rotation(4)
    build = ModelBuilder()
    for name, x in {"a": [0, 0, 0], "b": [10, 5, 80], "s": [6, 2, 3], "t": [12, -7, 76]}.items():
        build.node(name, R @ np.array(x, float))
    build.arm("s", "a")
    build.arm("t", "b")
    build.beam("strut", "s", "t", plain_section(), STEEL, column=True)
    chords = build.build().chords
    rng = np.random.default_rng(3)
    scale = np.tile([1.0] * 3 + [0.05] * 3, 2)
    q = (scale * rng.uniform(-1, 1, 12))[None]
    steps = 1e-3 * np.diag(scale)[:, None]
    at = {m: chord_state(chords, q + m * steps) for m in (-2, -1, 1, 2)}
    state = chord_state(chords, q)
    for name, want in (("energy", state.gradient[0]), ("gradient", state.tangent[0])):
        f = {m: getattr(s, name)[:, 0] for m, s in at.items()}
        quotient = (8 * (f[1] - f[-1]) - (f[2] - f[-2])).T / 12e-3
        want = want * scale
        assert np.abs(quotient - want).max() < 1e-6 * np.abs(want).max()
    assert np.array_equal(chords.on_arm, [[True, True]])
