"""Designs side by side: every case answers as its design does alone."""

import numpy as np
import pytest

from fem import (
    Law,
    MechanismError,
    ModelBuilder,
    ModelError,
    lock,
    make_system,
    respond,
    solve,
    tube,
)
from fem.materials import Material
from fem.newton import compliance, compliance_by, solve_each, tangent_factor
from fem.side_by_side import can_stand_beside, side_by_side, topology
from tests.fem.wire_models import stiffnesses

KEEP = ["middle", "top"]
STEEL = Material(E=193_000.0, nu=0.3)


def bow(span: float, tension: float, *, offset: float = 3.0, wires: int = 2) -> ModelBuilder:
    """A post on two crossed wires on arms, between clamps that do not move; ``tension`` sets the
    post's length only, so that designs differ in their linear part too."""
    build = ModelBuilder()
    build.node("middle", [0, 0, 0])
    build.node("top", [0, 0, 40 + tension / 100])
    build.node("side", [9, 0, 40 + tension / 100])
    post = tube(12.0, 8.0 - offset / 10, 0.3)
    build.beam("post", "middle", "top", post, STEEL, column=True)
    build.beam("arm", "top", "side", post, STEEL)
    for i in range(wires):
        way = np.array([np.cos(1.2 * i), np.sin(1.2 * i), 0.0])
        lift = np.array([0.0, 0.0, 4.0 * i])
        names = [f"w{i} {k}" for k in "abcd"]
        places = [-span / 2, -offset - 8, offset + 8, span / 2]
        for name, at in zip(names, places, strict=True):
            build.node(name, way * at + lift)
        for name in names[1:3]:
            build.arm(name, "middle")
        for name in (names[0], names[3]):
            build.fix(name)
        EA, EI = stiffnesses(1.8)
        build.wire(f"w{i}", names, (True, False, False, True), EA, EI)
    return build


DESIGNS = [(160.0, 900.0, 3.0), (180.0, 1100.0, 2.0), (150.0, 600.0, 4.0)]


def builders() -> list[ModelBuilder]:
    return [bow(span, tension, offset=offset) for span, tension, offset in DESIGNS]


TENSION = np.array([[t, 0.9 * t] for _, t, _ in DESIGNS])


def test_condensed_as_alone() -> None:
    together, errors = side_by_side([b.collected() for b in builders()], KEEP)
    assert errors == (None,) * 3
    for i, build in enumerate(builders()):
        alone = make_system(build.build(), KEEP)
        S = alone.condensed.stiffness
        np.testing.assert_allclose(together.condensed.stiffness[i], S, atol=1e-9 * np.abs(S).max())
        assert np.asarray(together.extent)[i] == alone.extent
        np.testing.assert_array_equal(together.kept, alone.kept)


@pytest.mark.parametrize("cases", [[0, 1, 2], [2, 2, 0], [1]])
def test_response_as_alone(cases: list[int]) -> None:
    whole, _ = side_by_side([b.collected() for b in builders()], KEEP)
    taken = whole.take(np.array(cases))
    draw = np.random.default_rng(3)
    u = draw.normal(scale=1e-2, size=(len(cases), whole.size))
    law = Law(tension=TENSION[cases])
    every = respond(taken, u, law)
    for row, design in enumerate(cases):
        alone = make_system(builders()[design].build(), KEEP)
        one = respond(alone, u[row], Law(tension=TENSION[design]))
        assert every.energy[row] == pytest.approx(one.energy, rel=1e-10)
        np.testing.assert_allclose(every.force[row], one.force, rtol=1e-9, atol=1e-7)
        size = np.abs(one.tangent).max()
        np.testing.assert_allclose(every.tangent[row], one.tangent, atol=1e-10 * size)


def loads(system: object, size: int, cases: int) -> np.ndarray:
    force = np.zeros((cases, size))
    force[:, system.dofs("top")[2]] = np.linspace(-80.0, -200.0, cases)  # type: ignore[attr-defined]
    force[:, system.dofs("top")[0]] = 5.0  # type: ignore[attr-defined]
    return force


def test_solved_as_alone() -> None:
    whole, _ = side_by_side([b.collected() for b in builders()], KEEP)
    zero = np.zeros((3, whole.size))
    words = ["pretension"] * 3
    tensioned, errors = solve_each(whole, zero, Law(tension=TENSION), zero, words)
    law = lock(whole, tensioned.response)
    force = loads(whole, whole.size, 3)
    found, more = solve_each(whole, force, law, tensioned.u, ["load"] * 3)
    assert errors == more == (None,) * 3
    D = np.eye(whole.size)[:, whole.dofs("top")]
    for i, build in enumerate(builders()):
        system = make_system(build.build(), KEEP)
        own = np.zeros((1, system.size))
        first = solve(system, own, Law(tension=TENSION[i]), own, words[:1])
        locked = lock(system, first.response).one(0)
        alone = solve(system, force[i : i + 1], locked, first.u, ["load"])
        np.testing.assert_allclose(found.u[i], alone.u[0], atol=1e-10 * np.abs(alone.u).max())
        np.testing.assert_allclose(found.response.tension[i], alone.response.tension[0], rtol=1e-10)
        assert law.natural is not None
        one = whole.take(np.array([i]))
        H = respond(one, found.u[i : i + 1], Law(natural=law.natural[i : i + 1])).tangent[0]
        by = compliance_by(one, tangent_factor(one, H), D, "load")
        C = compliance(system, alone.response.tangent[0], D, "load")
        np.testing.assert_allclose(by, C, atol=1e-9 * np.abs(C).max())


def test_one_that_fails_leaves_the_others_alone() -> None:
    """A design pressed far past what it bears stands between two that bear their load."""
    whole, _ = side_by_side([b.collected() for b in builders()], KEEP)
    zero = np.zeros((3, whole.size))
    tensioned, _ = solve_each(whole, zero, Law(tension=TENSION), zero, ["pretension"] * 3)
    law = lock(whole, tensioned.response)
    force = loads(whole, whole.size, 3)
    good, _ = solve_each(whole, force, law, tensioned.u, ["load"] * 3)
    force[1] *= 1e4
    found, errors = solve_each(whole, force, law, tensioned.u, ["load"] * 3)
    assert [e is None for e in errors] == [True, False, True]
    np.testing.assert_array_equal(found.u[[0, 2]], good.u[[0, 2]])


def test_a_linear_part_that_hangs_on_nothing_is_told_by_its_design() -> None:
    """The arm's free end on a hinge spins: no wire touches it."""
    sound, loose = bow(160.0, 900.0), bow(170.0, 900.0)
    for build, stiff in ((sound, 1e5), (loose, 0.0)):
        build.node("tip", [30, 0, 49])
        build.beam("tip", "side", "tip", tube(8.0, 6.0, 0.3), STEEL, ends=(stiff, np.inf))
    _, errors = side_by_side([sound.collected(), loose.collected()], KEEP)
    assert errors[0] is None and isinstance(errors[1], MechanismError)


def test_topology_tells_builds_apart() -> None:
    same = [topology(b.collected(), KEEP) for b in builders()]
    assert len(set(same)) == 1
    assert topology(bow(160.0, 900.0, wires=3).collected(), KEEP) != same[0]
    assert topology(builders()[0].collected(), ["middle"]) != same[0]


def test_parts_that_remember_or_play_stand_alone() -> None:
    assert can_stand_beside(bow(160.0, 900.0).collected())
    build = bow(160.0, 900.0)
    build.node("twin", [9, 0, 49])
    build.joint("joint", "side", "twin", [1e5] * 6)
    assert not can_stand_beside(build.collected())
    grounded = bow(160.0, 900.0)
    grounded.spring("ground", "top", None, [1.0] * 6)
    assert not can_stand_beside(grounded.collected())


def test_displacements_of_nodes_need_one_design() -> None:
    from fem import node_displacements

    whole, _ = side_by_side([b.collected() for b in builders()], KEEP)
    with pytest.raises(ModelError, match="one design"):
        node_displacements(whole, np.zeros((3, whole.size)))
