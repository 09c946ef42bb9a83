"""Rigid arms as constraint algebra, and springs."""

import numpy as np
import pytest

from fem import ModelBuilder, rectangle
from fem.assembly import assemble, assemble_masters
from tests.fem.linear_models import STEEL, deflections, plain_section, random_rotation, turned

SECTION = rectangle(14.0, 5.0, 0.3)


def follows(arm: np.ndarray) -> np.ndarray:
    """(6, 6) written out: u_s = u_m + θ × a, θ_s = θ_m."""
    ax, ay, az = arm
    out = np.eye(6)
    out[0, 4], out[0, 5] = az, -ay
    out[1, 3], out[1, 5] = -az, ax
    out[2, 3], out[2, 4] = ay, -ax
    return out


def test_beam_on_arms_is_the_beam_with_offset_algebra() -> None:
    """Tᵀ K T with T built by hand, one arm hanging on another."""
    build = ModelBuilder()
    masters = np.array([[0.0, 0, 0], [90.0, 20.0, -10.0]])
    ends = np.array([[5.0, -8.0, 3.0], [80.0, 31.0, 6.0]])
    build.node("M0", masters[0])
    build.node("M1", masters[1])
    build.node("a", ends[0])
    build.node("between", [85.0, 22.0, 0.0])
    build.node("b", ends[1])
    build.arm("a", "M0")
    build.arm("between", "M1")
    build.arm("b", "between")
    build.beam("beam", "a", "b", SECTION, STEEL)
    model = build.build()
    T = np.zeros((12, 12))
    T[:6, :6], T[6:, 6:] = follows(ends[0] - masters[0]), follows(ends[1] - masters[1])
    want = T.T @ model.members.stiffness()[0] @ T
    got = assemble_masters(model).toarray()
    assert got.shape == (12, 12)
    # offsets of 20 mm: bending entries 1e7 N·mm/rad round to 1e-9
    assert np.abs(got - want).max() < 1e-12 * np.abs(want).max()


def test_load_at_the_end_of_an_arm() -> None:
    """Cantilever of length L, load P at an arm a from its tip: load P and moment a ×
    P on the tip."""
    build = ModelBuilder()
    build.node("foot", [0, 0, 0])
    build.node("tip", [60.0, 0, 0])
    build.node("hook", [70.0, 15.0, -20.0])
    build.arm("tip", "hook")  # the tip follows the loaded node
    build.beam("beam", "foot", "tip", SECTION, STEEL)
    build.fix("foot")
    P, a = np.array([120.0, -30.0, 55.0]), np.array([10.0, 15.0, -20.0])
    d = deflections(build.build(), {"hook": [*P, 0, 0, 0]})
    plain = ModelBuilder()
    plain.node("foot", [0, 0, 0])
    plain.node("tip", [60.0, 0, 0])
    plain.beam("beam", "foot", "tip", SECTION, STEEL)
    plain.fix("foot")
    want = deflections(plain.build(), {"tip": [*P, *np.cross(a, P)]})["tip"]
    assert d["tip"] == pytest.approx(want, rel=1e-10)
    assert d["hook"] == pytest.approx(follows(a) @ want, rel=1e-10)
    assert d["hook"][3:] == pytest.approx(d["tip"][3:])


def test_arms_turned_in_space_answer_turned() -> None:
    def tip(R: np.ndarray) -> np.ndarray:
        build = ModelBuilder()
        for name, x in {
            "f": [0, 0, 0],
            "m": [40, 5, 0],
            "s": [45, -9, 12],
            "t": [80, 0, 30],
        }.items():
            build.node(name, R @ np.array(x, float))
        build.beam("first", "f", "m", SECTION, STEEL, up=R @ [0.0, 0, 1])
        build.arm("s", "m")
        build.beam("second", "s", "t", SECTION, STEEL, up=R @ [0.0, 1, 0])
        build.fix("f")
        return deflections(build.build(), {"t": turned(R, [10.0, 20, 30, 400, 500, 600])})["t"]

    R = random_rotation(12)
    assert turned(R.T, tip(R)) == pytest.approx(tip(np.eye(3)), rel=1e-9)


def test_springs_in_a_row_to_the_ground() -> None:
    """Two springs between three nodes at one place: 1/k + 1/K in every freedom."""
    k, K = np.array([3.0, 5, 7, 110, 130, 170]), np.array([2.0, 9, 4, 80, 50, 60])
    build = ModelBuilder()
    for name in ("a", "b"):
        build.node(name, [4.0, 5.0, 6.0])
    build.spring("to ground", "a", None, k)
    build.spring("between", "b", "a", K)
    load = np.array([1.0, -2, 3, 40, 50, -60])
    d = deflections(build.build(), {"b": load})
    assert d["a"] == pytest.approx(load / k)
    assert d["b"] == pytest.approx(load / k + load / K)


def test_spring_with_a_full_matrix() -> None:
    """Coupled directions, as of an oblique spring: d = K⁻¹ p."""
    rng = np.random.default_rng(3)
    root = rng.normal(size=(6, 6))
    K = root @ root.T + np.eye(6)
    build = ModelBuilder()
    build.node("a", [0, 0, 0])
    build.spring("spring", "a", None, K)
    load = rng.normal(size=6)
    d = deflections(build.build(), {"a": load})["a"]
    assert d == pytest.approx(np.linalg.solve(K, load), rel=1e-10)


def test_spring_at_the_end_of_an_arm_resists_turning_by_its_lever() -> None:
    """k across at distance a holds a turn by k a²."""
    build = ModelBuilder()
    build.node("hub", [0, 0, 0])
    build.node("end", [30.0, 0, 0])
    build.arm("end", "hub")
    build.spring("across", "end", None, [0, 25.0, 0, 0, 0, 0])
    build.fix("hub", ("ux", "uy", "uz", "rx", "ry"))
    d = deflections(build.build(), {"hub": [0, 0, 0, 0, 0, 900.0]})
    assert d["hub"][5] == pytest.approx(900.0 / (25.0 * 30.0**2))
    assert d["end"][1] == pytest.approx(30.0 * d["hub"][5])


def test_assembled_matrix_is_symmetric_and_sums_parallel_members() -> None:
    one = ModelBuilder()
    two = ModelBuilder()
    for build, count in ((one, 1), (two, 2)):
        build.node("a", [0, 0, 0])
        build.node("b", [30.0, 40.0, 0])
        for i in range(count):
            build.beam(f"beam {i}", "a", "b", plain_section(), STEEL, up=[0, 0, 1])
    K1, K2 = (assemble(b.build()).toarray() for b in (one, two))
    assert np.allclose(K2, 2.0 * K1, rtol=1e-14)
    assert np.abs(K1 - K1.T).max() < 1e-12 * np.abs(K1).max()
