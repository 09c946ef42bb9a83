"""Newton's iteration: order, load cases side by side, unstable states, failure with its data."""

from itertools import pairwise

import numpy as np
import pytest

from fem import (
    ConvergenceError,
    Law,
    ModelBuilder,
    System,
    compliance,
    lock,
    make_system,
    node_displacements,
    respond,
    solve,
)
from tests.fem.linear_models import STEEL, plain_section
from tests.fem.wire_models import cross_wires, stiffnesses, tensioned


def bone(turns: bool = False) -> System:
    """A bone on two rings of two wires; the rings hang on short posts."""
    build = ModelBuilder()
    build.node("bone", [0, 0, 0])
    for ring, z in enumerate((-30.0, 30.0)):
        build.node(f"foot {ring}", [130.0, 0, z])
        build.node(f"ring {ring}", [90.0, 0, z])
        build.beam(f"post {ring}", f"foot {ring}", f"ring {ring}", plain_section(), STEEL)
        build.fix(f"foot {ring}")
        cross_wires(
            build,
            f"w{ring}",
            "bone",
            f"ring {ring}",
            [0, 0, z],
            [20.0 + 40.0 * ring, 105.0 + 40.0 * ring],
            clamp_radius=90.0,
            bone_radius=15.0,
            diameter=1.8,
            turns=turns,
        )
    build.wire("stay", ["foot 0", "foot 1"], [True, True], *stiffnesses(1.8))
    return make_system(build.build())


TENSIONS = (100.0, 900.0, 1100.0, 700.0, 1275.0)  # the stay comes first: two stations before four


def locked(system: System) -> tuple[np.ndarray, Law]:
    none = np.zeros((1, system.size))
    found = solve(system, none, Law(tension=np.array(TENSIONS)), none, ["pretension"])
    return found.u, lock(system, respond(system, found.u[0], found.law))


def cases(system: System) -> np.ndarray:
    p = np.zeros((5, system.size))
    at = system.dofs("bone")
    p[1:4, at] = [[0, 0, -700, 0, 0, 0], [50, -30, 20, 0, 5000, 0], [0, 0, 0, 2000, 0, 9000]]
    p[4, system.dofs("ring 1")] = [0, 0, -100.0, 0, 0, 3000.0]
    return p


@pytest.mark.parametrize("turns", [False, True])
def test_convergence_is_quadratic(turns: bool) -> None:
    """Near the end each residual is bounded by a constant times the square of the one before."""
    system = bone(turns)
    start, law = locked(system)
    found = solve(system, cases(system)[1:2], law, start, ["standing"])
    r = np.array(found.residuals[0])
    assert found.iterations[0] == len(r) <= 8
    assert r[-1] < 1e-10
    near = [(a, b) for a, b in pairwise(r) if a < 0.1 and b > 1e-12]  # below, rounding
    assert len(near) >= 2
    assert max(b / a**2 for a, b in near) < 30.0 * min(b / a**2 for a, b in near)


def test_load_cases_side_by_side_are_those_one_by_one() -> None:
    """Also when one of them needs more iterations than the others."""
    system = bone()
    start, law = locked(system)
    p = cases(system)
    together = solve(system, p, law, np.repeat(start, 5, axis=0), list("abcde"))
    for case in range(5):
        alone = solve(system, p[case : case + 1], law, start, ["alone"])
        # matrix products round differently for one row and five
        size = max(float(np.abs(alone.u).max()), 1e-3)
        assert np.abs(together.u[case] - alone.u[0]).max() < 1e-12 * size
        assert together.response.tension[case] == pytest.approx(
            alone.response.tension[0], rel=1e-11
        )
        assert together.iterations[case] == alone.iterations[0]
    assert len(set(together.iterations)) > 1


def test_order_of_load_cases_does_not_matter() -> None:
    system = bone()
    start, law = locked(system)
    p = cases(system)
    order = [3, 0, 4, 2, 1]
    one = solve(system, p, law, np.repeat(start, 5, axis=0), list("abcde"))
    two = solve(system, p[order], law, np.repeat(start, 5, axis=0), list("dafcb"))
    assert two.u == pytest.approx(one.u[order], abs=1e-12)


def test_response_takes_leading_axes() -> None:
    """(2, 3, n) gives what each of its six rows gives."""
    system = bone()
    start, law = locked(system)
    rng = np.random.default_rng(1)
    u = start + rng.normal(size=(2, 3, system.size)) * 0.01
    together = respond(system, u, law)
    n, w = system.size, len(system.wire_names)
    assert together.energy.shape == (2, 3)
    assert together.force.shape == (2, 3, n)
    assert together.tangent.shape == (2, 3, n, n)
    assert together.tension.shape == (2, 3, w)
    d = node_displacements(system, u)
    assert d.shape == (2, 3, len(system.model.names), 6)
    for i, j in np.ndindex(2, 3):
        one = respond(system, u[i, j], law)
        assert together.energy[i, j] == pytest.approx(one.energy, rel=1e-12)
        assert together.force[i, j] == pytest.approx(one.force, abs=1e-11 * np.abs(one.force).max())
        largest = np.abs(one.tangent).max()
        assert np.abs(together.tangent[i, j] - one.tangent).max() < 1e-12 * largest
        assert together.tension[i, j] == pytest.approx(one.tension, rel=1e-12)
        assert np.allclose(d[i, j], node_displacements(system, u[i, j]), rtol=1e-12, atol=1e-14)


def test_tangent_of_the_system_is_the_derivative_of_its_forces() -> None:
    """Members and all wires together, at a displaced state."""
    system = bone()
    start, law = locked(system)
    free = np.flatnonzero(system.free)
    u = start[0] + np.where(system.free, 0.003, 0.0)
    scale = np.tile([1.0] * 3 + [0.02] * 3, system.size // 6)
    steps = 1e-3 * np.diag(scale)[free]
    at = {m: respond(system, u + m * steps, law).force for m in (-2, -1, 1, 2)}
    quotient = (8 * (at[1] - at[-1]) - (at[2] - at[-2])) / 12e-3 * scale
    tangent = (respond(system, u, law).tangent * scale[:, None] * scale)[free]
    assert np.abs(quotient - tangent).max() < 1e-6 * np.abs(tangent).max()


def test_small_loads_follow_the_compliance() -> None:
    """C = Dᵀ H⁻¹ D is symmetric and its columns are the displacements by unit loads."""
    system = bone()
    start, law = locked(system)
    D = np.zeros((system.size, 6))
    D[system.dofs("bone"), range(6)] = 1.0
    C = compliance(system, respond(system, start[0], law).tangent, D, "pretension")
    assert np.array_equal(C, C.T)
    load = np.array([0.02, -0.01, 0.03, 0.5, 0.2, -0.4])
    found = solve(system, (D @ load)[None], law, start, ["small"])
    # second order of 1e-3 mm against mm; the solution itself is good to 1e-10 of 1275 N
    assert (found.u[0] - start[0]) @ D == pytest.approx(C @ load, rel=1e-3)


K, ARM = 12_000.0, 20.0
CRITICAL = K / ARM


def levers() -> System:
    """A wire pulls on the far ends of two arms: pendulums upside down.

    Its ends lie beyond the carriers "Q" and "P", pivoted on rigid arms a that point outward; both
    carriers turn about y on springs k, "P" also slides along x.  When both dip, the path shortens
    by a φ²/2 at each end and nothing bends, so straight they are unstable beyond T = k/a.
    """
    build = ModelBuilder()
    for name, x, out in (("Q", 0.0, -ARM), ("P", 100.0, ARM)):
        build.node(name, [x, 0, 0])
        build.node(f"end {name}", [x + out, 0, 0])
        build.arm(f"end {name}", name)
        build.spring(f"bed {name}", name, None, [10.0, 0, 0, 0, K, 0])
    build.fix("Q", ("ux", "uy", "uz", "rx", "rz"))
    build.fix("P", ("uy", "uz", "rx", "rz"))
    build.wire("wire", ["end Q", "end P"], [False, False], *stiffnesses(1.8))
    return make_system(build.build())


def pulled(system: System, pull: float) -> np.ndarray:
    p = np.zeros((1, system.size))
    p[0, system.dofs("P")[0]] = pull
    return p


def test_straight_levers_hold_below_the_critical_pull() -> None:
    system = levers()
    p = pulled(system, 0.98 * CRITICAL)
    found = solve(system, p, tensioned(system, 50.0), np.zeros_like(p), ["pulled"])
    # the bed of "P" takes 10 N/mm of the tenths of a millimetre by which the wire stretches
    assert 0.97 * CRITICAL < found.response.tension[0, 0] < 0.98 * CRITICAL


def test_unstable_equilibrium_is_refused() -> None:
    """Perfectly straight, forces balance at any pull; beyond the critical one it is no answer."""
    system = levers()
    p = pulled(system, 1.3 * CRITICAL)
    with pytest.raises(ConvergenceError) as caught:
        solve(system, p, tensioned(system, 50.0), np.zeros_like(p), ["pulled"])
    error, text = caught.value, str(caught.value)
    # the load is raised in steps down to 1/64; the bed of "P" carries half a percent of it
    assert 1.0 / 1.3 - 1.0 / 64.0 < error.load_level < 1.01 / 1.3
    assert error.iterations == len(error.residuals) > 0
    assert error.worst_node in ("P", "Q")
    assert error.state == "pulled"
    for word in ("pulled", f"{100 * error.load_level:.0f} % of the load", "Lower the load"):
        assert word in text


def test_absurd_tension_is_refused() -> None:
    """Tensioning itself beyond the critical pull: nothing of the load is reached."""
    system = levers()
    none = np.zeros((1, system.size))
    with pytest.raises(ConvergenceError) as caught:
        solve(system, none, Law(tension=np.array([3.0 * CRITICAL])), none, ["tensioning"])
    assert caught.value.load_level == 0.0
    assert caught.value.state == "tensioning"


def test_compliance_of_an_unstable_state_is_refused() -> None:
    system = levers()
    u = np.zeros(system.size)
    tangent = respond(system, u, tensioned(system, 2.0 * CRITICAL)).tangent
    D = np.zeros((system.size, 1))
    D[system.dofs("P")[4]] = 1.0
    with pytest.raises(
        ConvergenceError, match=r"look: the state is unstable \(lowest scaled eigenvalue -"
    ):
        compliance(system, tangent, D, "look")


def test_long_way_is_taken_in_steps() -> None:
    """A load a thousand times a working load on slack wires still ends in equilibrium."""
    system = bone()
    none = np.zeros((1, system.size))
    law = lock(system, respond(system, none[0], Law(tension=np.full(5, 0.5))))
    p = none.copy()
    p[0, system.dofs("bone")[2]] = -20_000.0
    found = solve(system, p, law, none, ["fall"])
    free = system.free
    assert np.abs((found.response.force - p)[0, free]).max() < 1e-6 * 20_000.0
