"""Structures that can move without resistance are found and named; stiff or slender
ones are not."""

import numpy as np
import pytest
from scipy.linalg import block_diag

from fem import MechanismError, Model, ModelBuilder, make_system, respond, solve
from fem.assembly import assemble_masters
from fem.mechanisms import Factor, refuse_mechanism
from tests.fem.linear_models import NO_WIRES, STEEL, deflections, plain_section, random_rotation
from tests.fem.wire_models import cross_wires, stiffnesses, tensioned

HINGE = [1e6, 1e6, 1e6, 1e9, 1e9, 0.0]  # a spring that lets z turn


def chain(
    pieces: int,
    *,
    stiff: dict[int, float] | None = None,
    support: bool = True,
    hinge: int = -1,
    R: np.ndarray | None = None,
) -> Model:
    """Cantilever of 1000 mm along x from "n0"; piece i times ``stiff[i]``; a hinge about z before
    piece ``hinge``; all turned by R."""
    R = np.eye(3) if R is None else R
    build = ModelBuilder()
    places = np.outer(np.linspace(0.0, 1000.0, pieces + 1), R[:, 0])
    for i in range(pieces + 1):
        build.node(f"n{i}", places[i])
    for i in range(pieces):
        first = f"n{i}"
        if i == hinge:
            first = build.node(f"h{i}", places[i])
            both = block_diag(R, R)
            build.spring("hinge", first, f"n{i}", both @ np.diag(HINGE) @ both.T)
        section = plain_section().scaled((stiff or {}).get(i, 1.0))
        build.beam(f"b{i}", first, f"n{i + 1}", section, STEEL, up=R[:, 2])
    if support:
        build.fix("n0")
    return build.build()


def test_a_free_body_has_six_free_motions() -> None:
    model = chain(3, support=False)
    with pytest.raises(
        MechanismError, match=r"load: .* in 6 ways; node 'n\d' \w+ freely"
    ) as caught:
        deflections(model, {"n0": [0, 1.0, 0, 0, 0, 0], "n3": [0, -1.0, 0, 0, 0, 0]})
    error = caught.value
    assert error.state == "load"
    assert len(error.motions) == 6
    K = assemble_masters(model).toarray()
    kept = [0, 3]
    for motion in error.motions:
        assert set(motion) >= {"n0", "n3"}
        # the ends of a rigid motion: u₃ - u₀ = θ × r
        u, v = (motion[f"n{i}"] for i in kept)
        across = v[:3] - u[:3] - np.cross(u[3:], [1000.0, 0, 0])
        assert np.abs(across).max() < 1e-8 * max(np.abs(u).max(), np.abs(v).max())
        assert u[3:] == pytest.approx(v[3:], abs=1e-8 * np.abs([u, v]).max())
    assert np.linalg.matrix_rank(K / np.abs(K).max(), tol=1e-12) < len(K)


def test_balanced_loads_do_not_hide_it() -> None:
    """Equal and opposite forces on an unsupported frame: the residual alone would be nought."""
    model = chain(7, support=False)
    with pytest.raises(MechanismError):
        deflections(model, {"n0": [-500.0, 0, 0, 0, 0, 0], "n7": [500.0, 0, 0, 0, 0, 0]})


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("keep", [[], ["n3"], ["n2", "h2"], ["n2", "h2", "n3", "n4"]])
def test_a_hinge_without_support_is_one_motion(keep: list[str], turned: bool) -> None:
    """Found among condensed freedoms ("the members alone") and among kept ones ("load").

    With the hinge kept and what hangs on it condensed, its free turn keeps a diagonal of rounding.
    """
    R = random_rotation(7) if turned else np.eye(3)
    model = chain(4, hinge=2, R=R)
    with pytest.raises(MechanismError, match="in 1 way; node") as caught:
        system = make_system(model, keep=keep)
        p = np.zeros((1, system.size))
        solve(system, p, NO_WIRES, p, ["load"])
    assert caught.value.state == ("load" if "n3" in keep or "h2" in keep else "the members alone")
    (motion,) = caught.value.motions
    assert {"h2", "n3", "n4"} & set(motion)
    if "h2" in motion and "n2" in motion:  # beyond the hinge it turns about z, before it rests
        turn = motion["h2"][3:]
        assert np.abs(motion["n2"]).max() < 1e-6 * np.abs(turn).max()
        assert np.abs(np.cross(turn, R[:, 2])).max() < 1e-6 * np.abs(turn).max()


def test_the_hinge_is_none_once_the_tip_is_held() -> None:
    """Two beams, hinged in the middle: δ of the hinge under P between two cantilevers, P l³/6EI."""
    model = chain(4, hinge=2)
    build = ModelBuilder()
    for name, x in (("n0", 0.0), ("n2", 500.0), ("h2", 500.0), ("n4", 1000.0)):
        build.node(name, [x, 0, 0])
    build.beam("left", "n0", "n2", plain_section(), STEEL, up=[0, 0, 1])
    build.beam("right", "h2", "n4", plain_section(), STEEL, up=[0, 0, 1])
    build.spring("hinge", "h2", "n2", HINGE)
    build.fix("n0")
    build.fix("n4")
    d = deflections(build.build(), {"n2": [0, 10.0, 0, 0, 0, 0]})
    EI = STEEL.E * plain_section().I_z
    # the springs of the hinge give 1e-4 of the beams, the second of two equal cantilevers feels it
    assert d["n2"][1] == pytest.approx(10.0 * 500.0**3 / (6.0 * EI), rel=1e-4)
    assert len(model.names) == 6


def test_a_loose_node_is_named() -> None:
    build = ModelBuilder()
    build.node("foot", [0, 0, 0])
    build.node("tip", [50, 0, 0])
    build.node("stray", [20, 20, 0])
    build.beam("beam", "foot", "tip", plain_section(), STEEL)
    build.fix("foot")
    with pytest.raises(MechanismError, match="6 ways; node 'stray'") as caught:
        make_system(build.build())
    assert all(np.abs(m["stray"]).max() > 0.0 for m in caught.value.motions)


def test_a_bone_on_one_wire_slides_and_turns() -> None:
    """Along the smooth wire and about it; two crossing wires hold everything."""
    for bearings, ways in (([0.0], 2), ([0.0, 90.0], 0)):
        build = ModelBuilder()
        build.fix(build.node("frame", [0, 0, 0]))
        build.node("bone", [0, 0, 0])
        cross_wires(
            build,
            "w",
            "bone",
            "frame",
            [0, 0, 0],
            bearings,
            clamp_radius=90.0,
            bone_radius=15.0,
            diameter=1.8,
            turns=True,
        )
        system = make_system(build.build())
        law = tensioned(system, *[900.0] * len(bearings))
        none = np.zeros((1, system.size))
        if not ways:
            solve(system, none, law, none, ["pretension"])
            continue
        with pytest.raises(MechanismError, match=r"pretension: .* 2 ways; node 'bone'") as caught:
            solve(system, none, law, none, ["pretension"])
        motions = np.array([m["bone"] for m in caught.value.motions])
        # only ux and rx
        assert np.abs(motions[:, [1, 2, 4, 5]]).max() < 1e-8 * np.abs(motions).max()


def test_a_slack_wire_leaves_its_bending_stiffness() -> None:
    """No tension, no mechanism: a slack wire still bends, four thousand times softer."""
    build = ModelBuilder()
    build.fix(build.node("A", [0, 0, 0]))
    build.fix(build.node("B", [180.0, 0, 0]))
    build.node("M", [90.0, 0, 0])
    build.fix("M", ("ux", "rx", "ry", "rz"))
    build.wire("wire", ["A", "M", "B"], [True] * 3, *stiffnesses(1.8))
    system = make_system(build.build())
    law = tensioned(system, 0.0)
    p = np.zeros((1, system.size))
    p[0, system.dofs("M")[2]] = 0.01
    found = solve(system, p, law, np.zeros_like(p), ["load"])
    assert found.u[0, system.dofs("M")[2]] > 0.0


def test_no_false_alarm_for_a_slender_cantilever() -> None:
    """200 elements, and the right answer at the tip."""
    model = chain(200)
    tip = deflections(model, {"n200": [0, 1.0, 0, 0, 0, 0]})["n200"]
    want = 1000.0**3 / (3.0 * STEEL.E * plain_section().I_z)
    # condition number 1e10 after scaling
    assert tip[1] == pytest.approx(want, rel=1e-5)
    K = assemble_masters(model).toarray()[6:, 6:]
    assert not Factor(K).suspicious()


@pytest.mark.parametrize("factor", [1e6, 1e-6])
@pytest.mark.parametrize("pieces", [3, 20, 200])
def test_no_false_alarm_for_unequal_members(pieces: int, factor: float) -> None:
    """One member a million times stiffer or softer than its neighbours."""
    model = chain(pieces, stiff={pieces // 2: factor})
    f = Factor(assemble_masters(model).toarray()[6:, 6:])
    assert f.definite and not f.suspicious()
    refuse_mechanism(f, model.names, np.arange(6, 6 * len(model.names)), "check")


@pytest.mark.parametrize("factor", [1e6, 1e-6])
def test_unequal_members_solved(factor: float) -> None:
    """Middle third stiffened: P/3EI (L³ - l₂³ + l₁³ + (l₂³ - l₁³)/factor), by ∫ (L-x)²/EI."""
    model = chain(3, stiff={1: factor})
    tip = deflections(model, {"n3": [0, 1.0, 0, 0, 0, 0]})["n3"]
    L, a, b = 1000.0, 2000.0 / 3.0, 1000.0 / 3.0  # distance of the cuts from the tip
    want = (L**3 - a**3 + (a**3 - b**3) / factor + b**3) / (3.0 * STEEL.E * plain_section().I_z)
    assert tip[1] == pytest.approx(want, rel=1e-5)


def test_an_unstable_matrix_is_no_mechanism() -> None:
    """A clearly negative eigenvalue: not definite, but nothing moves freely."""
    rng = np.random.default_rng(2)
    Q = np.linalg.qr(rng.normal(size=(12, 12)))[0]
    names, dofs = ("left", "right"), np.arange(12)
    unstable = Factor(Q @ np.diag([-3.0, *np.linspace(1.0, 9.0, 11)]) @ Q.T)
    assert not unstable.definite and unstable.suspicious()
    assert unstable.free_motions().shape == (12, 0)
    assert unstable.lowest_eigenvalue() < -0.01
    refuse_mechanism(unstable, names, dofs, "check")
    free = Factor(Q @ np.diag([0.0, *np.linspace(1.0, 9.0, 11)]) @ Q.T)
    motions = free.free_motions()
    assert motions.shape == (12, 1)
    cosine = motions[:, 0] @ Q[:, 0] / np.linalg.norm(motions)
    assert abs(cosine) == pytest.approx(1.0, abs=1e-9)
    with pytest.raises(MechanismError, match=r"check: .*in 1 way"):
        refuse_mechanism(free, names, dofs, "check")


def test_scale_of_units_does_not_matter() -> None:
    """Rows in mm or in km, N or MN: pivots and verdict stay."""
    rng = np.random.default_rng(6)
    A = rng.normal(size=(8, 8))
    K = A @ A.T + np.eye(8)
    units = 10.0 ** rng.uniform(-6, 6, 8)
    plain, scaled = Factor(K), Factor(K * units[:, None] * units)
    assert scaled.smallest_pivot == pytest.approx(plain.smallest_pivot, rel=1e-10)
    b = rng.normal(size=(8, 3))
    assert scaled.solve(b * units[:, None]) * units[:, None] == pytest.approx(
        np.linalg.solve(K, b), rel=1e-9
    )
    assert plain.solve(b[:, 0]) == pytest.approx(np.linalg.solve(K, b[:, 0]), rel=1e-9)


def test_a_wire_model_names_the_state_it_was_found_in() -> None:
    """The tangent of a locked wire along itself is EA/L, across itself T: nothing free about it."""
    build = ModelBuilder()
    build.fix(build.node("A", [0, 0, 0]))
    build.node("B", [180.0, 0, 0])
    build.wire("wire", ["A", "B"], [True, False], *stiffnesses(1.8))
    system = make_system(build.build())
    law = tensioned(system, 500.0)
    none = np.zeros((1, system.size))
    pull = none.copy()
    pull[0, system.dofs("B")[0]] = 500.0
    with pytest.raises(MechanismError, match=r"second day: .*node 'B' turns freely") as caught:
        solve(system, pull, law, none, ["second day"])
    assert caught.value.state == "second day"
    tangent = respond(system, none[0], law).tangent
    assert tangent.shape == (12, 12)
