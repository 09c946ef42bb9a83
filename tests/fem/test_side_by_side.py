"""Designs side by side: every case answers as its design does alone."""

from dataclasses import replace

import numpy as np
import pytest

from fem import (
    Law,
    MechanismError,
    ModelBuilder,
    ModelError,
    System,
    lock,
    make_system,
    respond,
    solve,
    tube,
)
from fem.algebra import Array
from fem.compliance import compliance, compliance_by, tangent_factor
from fem.contact import fresh_history
from fem.hold import Hold
from fem.materials import Material
from fem.newton import solve_each
from fem.plastic_hinge import hinges as hinges_of
from fem.side_by_side import can_stand_beside, side_by_side, topology
from fem.wire_holds import lay
from fem.wire_holds import start as unlaid
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


def test_springs_to_the_ground_stand_alone() -> None:
    assert can_stand_beside(bow(160.0, 900.0).collected())
    grounded = bow(160.0, 900.0)
    grounded.spring("ground", "top", None, [1.0] * 6)
    assert not can_stand_beside(grounded.collected())


def rough(span: float, grip: float) -> ModelBuilder:
    """With a joint that has play, a contact with friction, a late member and a wire that grips."""
    build = bow(span, 900.0, wires=1)
    build.node("twin", [9, 0, 49])
    build.joint("joint", "side", "twin", [1e4] * 6, [0.0] * 3 + [1e-3] * 3)
    build.contact("touch", "top", "middle", [0, 0, 10], [0, 0, 1], -0.01, 1e3, 5e2, 0.3)
    build.beam("late", "middle", "twin", tube(6.0 + span / 100, 2.0, 0.3), STEEL, late=True)
    names = [f"held {k}" for k in "abcd"]
    for name, at in zip(names, (-span / 2, -11.0, 11.0, span / 2), strict=True):
        build.node(name, [0, at, 9])
    for name in names[1:3]:
        build.arm(name, "middle")
    for name in (names[0], names[3]):
        build.fix(name)
    EA, EI = stiffnesses(1.8)
    hinges = hinges_of(np.array([1.8]), np.array([900.0]), np.array([EI]), np.array([900.0]))
    hold = Hold(grip=(grip, grip), slip=(1200.0, 1200.0), hinges=hinges)
    build.wire("held", names, (True, False, False, True), EA, EI, hold)
    return build


def test_parts_that_remember_touch_and_join_later_answer_as_alone() -> None:
    sizes = [(160.0, 20.0), (180.0, 80.0), (150.0, 5.0)]
    whole, errors = side_by_side([rough(*s).collected() for s in sizes], KEEP)
    assert errors == (None,) * 3
    draw = np.random.default_rng(4)
    u = draw.normal(scale=5e-3, size=(3, whole.size))
    held = whole.model.held_wires
    assert held is not None
    pull = np.array([[[900.0, np.nan]], [[1000.0, np.nan]], [[800.0, np.nan]]])
    chosen = np.ones(1, dtype=bool)

    def law_of(system: System, pull: Array, at: Array) -> Law:
        own = system.model.held_wires
        assert own is not None
        law = Law(tension=TENSION[:, :1] if pull.ndim == 3 else np.array([700.0]))
        law = replace(law, held_wires=unlaid(own.wires, own.holds))
        state = respond(system, at, law, with_tangent=False).held_wires
        assert state is not None and law.held_wires is not None
        laid = lay(own.wires, own.holds, state, law.held_wires, chosen).pulled(chosen, pull)
        contact = replace(
            fresh_history(system.model.contacts),
            limit=np.full(system.model.contacts.gap.shape, 0.4),
        )
        return replace(law, held_wires=laid, contact=contact, late=0.5 * at[..., system.late_dofs])

    law = replace(law_of(whole, pull, u), tension=np.array([700.0]))
    every = respond(whole, u, law)
    for i, size in enumerate(sizes):
        alone = make_system(rough(*size).build(), KEEP)
        one = respond(alone, u[i], law_of(alone, pull[i], u[i]))
        assert every.energy[i] == pytest.approx(one.energy, rel=1e-10)
        np.testing.assert_allclose(every.force[i], one.force, rtol=1e-9, atol=1e-6)
        size_of = np.abs(one.tangent).max()
        np.testing.assert_allclose(every.tangent[i], one.tangent, atol=1e-9 * size_of)


def test_displacements_of_nodes_need_one_design() -> None:
    from fem import node_displacements

    whole, _ = side_by_side([b.collected() for b in builders()], KEEP)
    with pytest.raises(ModelError, match="one design"):
        node_displacements(whole, np.zeros((3, whole.size)))
