"""Condensing freedoms away is exact for statics."""

import numpy as np
import pytest

from fem import Model, ModelBuilder, make_system, node_displacements, rectangle, solve
from fem.assembly import assemble_masters
from tests.fem.linear_models import NO_WIRES, STEEL

SECTION = rectangle(14.0, 5.0, 0.3)
LOADS = {"b": [30.0, -20, 10, 400, 100, -300], "e": [0, 50.0, -70, 0, 200, 900]}


def grid() -> Model:
    """Two rows of nodes with cross members, an arc, an arm and a spring."""
    build = ModelBuilder()
    points = {"a": [0, 0, 0], "b": [50, 0, 5], "c": [100, 0, 0], "d": [0, 0, 60]}
    points |= {"e": [50, 10, 60], "f": [100, 0, 60], "g": [108, 6, 60], "h": [100, 60, 60]}
    for name, point in points.items():
        build.node(name, point)
    for ends in ("ab", "bc", "de", "ef", "ad", "be", "cf", "ae"):
        build.beam(ends, ends[0], ends[1], SECTION, STEEL)
    build.arm("g", "f")
    build.beam("gh", "g", "h", SECTION, STEEL)
    build.arc("dh", "h", "d", [50.0, 30.0, 60.0], [0, 0, 1], SECTION, STEEL)
    build.spring("bed", "h", None, [5.0, 5, 5, 0, 0, 0])
    build.fix("a")
    build.fix("c", ("uy", "uz"))
    return build.build()


def full_solution(model: Model) -> np.ndarray:
    """(masters, 6) by a dense solve of everything."""
    masters = [i for i, m in enumerate(model.master) if m == i]
    K = assemble_masters(model).toarray()
    p = np.zeros((len(masters), 6))
    for node, load in LOADS.items():
        p[masters.index(model.node(node))] = load
    free = ~model.fixed[masters].ravel()
    u = np.zeros(len(free))
    u[free] = np.linalg.solve(K[np.ix_(free, free)], p.ravel()[free])
    return u.reshape(-1, 6)


@pytest.mark.parametrize("more", [[], ["h"], ["d", "f", "h"]])
def test_same_as_the_full_solve_at_every_node(more: list[str]) -> None:
    model = grid()
    system = make_system(model, keep=[*LOADS, *more])
    p = np.zeros((1, system.size))
    for node, load in LOADS.items():
        p[0, system.dofs(node)] = load
    found = solve(system, p, NO_WIRES, np.zeros_like(p), ["load"])
    d = node_displacements(system, found.u[0])
    masters = [i for i, m in enumerate(model.master) if m == i]
    want = full_solution(model)
    # condition number 1e6 after scaling
    assert np.abs(d[masters] - want).max() < 1e-10 * np.abs(want).max()


def test_condensed_stiffness_is_the_schur_complement() -> None:
    model = grid()
    system = make_system(model, keep=["e"])
    c = system.condensed
    K = assemble_masters(model).toarray()
    kept, inner = c.kept, c.internal
    assert sorted([*kept, *inner]) == list(range(len(K)))
    K_bi, K_ii = K[np.ix_(kept, inner)], K[np.ix_(inner, inner)]
    want = K[np.ix_(kept, kept)] - K_bi @ np.linalg.solve(K_ii, K_bi.T)
    assert np.abs(c.stiffness - want).max() < 1e-10 * np.abs(want).max()
    assert np.array_equal(c.stiffness, c.stiffness.T)


def test_rigid_motions_survive_condensation() -> None:
    """A free structure still costs nothing to move, though its condensed matrix is full."""
    build = ModelBuilder()
    points = np.array([[0.0, 0, 0], [40, 10, 0], [70, 10, 30], [70, -20, 60]])
    for i in range(4):
        build.node(f"n{i}", points[i])
    for i in range(3):
        build.beam(f"b{i}", f"n{i}", f"n{i + 1}", SECTION, STEEL)
    system = make_system(build.build(), keep=["n0", "n3"])
    X = system.model.points[[0, 3]]
    S = system.condensed.stiffness
    for axis in range(3):
        w = np.eye(3)[axis]
        shift = np.tile([*w, 0, 0, 0], 2)
        turn = np.concatenate([[*np.cross(w, x), *w] for x in X])
        for motion in (shift, turn):
            assert np.abs(S @ motion).max() < 1e-10 * np.abs(S).max() * np.abs(motion).max()
