"""Buckling factors against Euler's loads and other closed forms (Timoshenko & Gere, Theory of
Elastic Stability, 1961)."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

import fem.buckling
from fem import (
    ConvergenceError,
    Law,
    MechanismError,
    Model,
    ModelBuilder,
    lock,
    make_system,
    respond,
    solve,
)
from fem.bowing import bowing_stiffness, column_force
from fem.buckling import Buckling, buckling
from fem.uncondensed import stressed
from tests.fem.dynamic_models import at_rest, line, under
from tests.fem.linear_models import STEEL, plain_section, random_rotation

L = 1000.0
BAR = plain_section(area=60.0, I_y=300.0, I_z=900.0, J=500.0)
EI = STEEL.E * 300.0
EULER = np.pi**2 * EI / L**2
ALL = ("ux", "uy", "uz", "rx", "ry", "rz")
GUIDED = ("ux", "uy", "rx", "ry", "rz")
HINGED = ("ux", "uy", "rz")
ENDS = {  # supports at foot and head, and the buckling length by that of two hinges
    "hinged-hinged": ((*HINGED, "uz"), HINGED, 1.0),
    "fixed-free": (ALL, (), 2.0),
    # tan x = x, x = 4.493409
    "fixed-hinged": (ALL, HINGED, np.pi / 4.493409457909064),
    "fixed-fixed": (ALL, GUIDED, 0.5),
    "fixed-swaying": (ALL, ("uy", "rx", "ry", "rz"), 1.0),
}


def pressed(model: Model, head: str, share: float = 1e-3, count: int = 2) -> Buckling:
    """Factors of a push of ``share`` of Euler's load on the head, in terms of Euler's load."""
    system = make_system(model, keep=[head])
    push = np.array([0.0, 0.0, -share * EULER, 0.0, 0.0, 0.0])
    found = buckling(system, at_rest(system), under(system, {head: push}), count)
    return replace(found, factors=found.factors * abs(share))


@pytest.mark.parametrize("ends", ENDS)
@pytest.mark.parametrize(("pieces", "error"), [(4, 0.008), (16, 5e-5)])
def test_euler_columns(ends: str, pieces: int, error: float) -> None:
    """π² EI / (K L)²; in pieces of half a wave n per K L the error is 12/π² - 1 = 22 %, 0.75 %,
    0.05 % … for 1, 2, 4: of fourth order.
    """
    foot, head, K = ENDS[ends]
    model = line(BAR, L, pieces, {0: foot, pieces: head}, column=True)
    got = pressed(model, f"{pieces}")
    assert got.smallest == pytest.approx(1 / K**2, rel=error)
    assert (got.factors > 0.0).all()


def test_one_piece_between_hinges() -> None:
    """12 EI/L²: the parabola of the members' own shapes (Rayleigh-Ritz), by hand."""
    foot, head, _ = ENDS["hinged-hinged"]
    got = pressed(line(BAR, L, 1, {0: foot, 1: head}, column=True), "1")
    np.testing.assert_allclose(got.factors, [12 / np.pi**2, 36 / np.pi**2], rtol=1e-5)


def test_mode_of_a_hinged_column() -> None:
    """Half a sine along the weak axis (global x), the largest place 1 mm."""
    foot, head, _ = ENDS["hinged-hinged"]
    mode = pressed(line(BAR, L, 16, {0: foot, 16: head}, column=True), "16").modes[0]
    want = np.sin(np.pi * np.arange(17) / 16)
    np.testing.assert_allclose(np.abs(mode[:, 0]), want, atol=1e-4)
    assert np.abs(mode[:, 1:3]).max() < 1e-6


@pytest.mark.parametrize("whole", [True, False])
def test_a_pull_has_negative_factors_only(whole: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    if not whole:
        monkeypatch.setattr(fem.buckling, "WHOLE", 0)
    foot, head, _ = ENDS["hinged-hinged"]
    model = line(BAR, L, 12, {0: foot, 12: head}, column=True)
    got = pressed(model, "12", share=-1e-3)
    assert got.smallest == np.inf
    np.testing.assert_allclose(got.factors, [-1.0, -3.0], rtol=1e-4)


@pytest.mark.parametrize("whole", [True, False])
def test_both_signs(whole: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """A column loaded in the middle between two fixed ends: half pushed, half pulled. The factors
    come in pairs ±λ by symmetry, smallest positive first.
    """
    if not whole:
        monkeypatch.setattr(fem.buckling, "WHOLE", 0)
    model = line(BAR, L, 16, {0: ALL, 16: ALL}, column=True)
    system = make_system(model, keep=["8"])
    push = np.array([0.0, 0.0, -1e-3 * EULER, 0.0, 0.0, 0.0])
    got = buckling(system, at_rest(system), under(system, {"8": push}), 3).factors
    assert (got[:3] > 0.0).all() and (got[3:] < 0.0).all()
    np.testing.assert_allclose(got[:3], -got[3:], rtol=1e-4)
    assert (np.diff(got[:3]) > 0.0).all()


@pytest.mark.parametrize("kappa", [0.5, 4.0])
def test_column_with_elastic_joints(kappa: float) -> None:
    """Joints k = κ EI/L at both ends, symmetric mode: κ sin x + 2 x cos x = 0, x = L/2 √(P/EI)
    (Timoshenko & Gere, §2.4: equal elastic restraint at both ends).
    """
    x = brentq(lambda x: np.sin(x) + 2 * x / kappa * np.cos(x), np.pi / 2 + 1e-9, np.pi)
    k = kappa * EI / L
    model = line(BAR, L, 16, {0: ALL, 16: GUIDED}, column=True, root=k, tip=k)
    assert pressed(model, "16").smallest == pytest.approx((2 * x / np.pi) ** 2, rel=5e-5)


def test_hinge_at_the_foot() -> None:
    """A hinge in the member instead of one in the support."""
    model = line(BAR, L, 16, {0: ALL, 16: GUIDED}, column=True, root=0.0, tip=0.0)
    assert pressed(model, "16").smallest == pytest.approx(1.0, rel=5e-5)


def test_shear_lowers_the_load() -> None:
    """Engesser: P = P_E / (1 + P_E / GA_s)."""
    foot, head, _ = ENDS["hinged-hinged"]
    soft = 20.0 * EULER / STEEL.G
    section = plain_section(area=60.0, I_y=300.0, I_z=900.0, J=500.0, shear=soft)
    got = pressed(line(section, L, 16, {0: foot, 16: head}, column=True), "16")
    assert got.smallest == pytest.approx(1 / (1 + 1 / 20.0), rel=1e-3)


@pytest.mark.parametrize("tension", [20.0, 200.0])
def test_column_braced_by_a_tensioned_wire(tension: float) -> None:
    """A wire across the middle of a hinged column, straight to two fixed clamps, is a spring

    c = (4T/l) / (1 - tanh y / y),  y = (l/4) √(T/EI)   (clamped beam under tension)

    and the column, x = (L/2) √(P/EI), buckles at 1 - cL/4P (1 - tan x / x) = 0, by hand from
    EI v″ = -P v + c v_m z / 2. The stiffer the wire is tensioned, the higher.
    """
    half, EI_wire, EA_wire = 150.0, 1e5, 5e5
    foot, head, _ = ENDS["hinged-hinged"]
    build, pieces = ModelBuilder(), 16
    for i in range(pieces + 1):
        build.node(f"{i}", [0.0, 0.0, L * i / pieces])
        own = foot if i == 0 else head if i == pieces else ()
        build.fix(f"{i}", tuple({*own, "uy", "rx", "rz"}))
    for i in range(pieces):
        build.beam(f"b{i}", f"{i}", f"{i + 1}", BAR, STEEL, up=[1, 0, 0], column=True)
    for name, y in (("left", -half), ("right", half)):
        build.node(name, [0.0, y, L / 2])
        build.fix(name)
    build.wire("wire", ["left", f"{pieces // 2}", "right"], [True, False, True], EA_wire, EI_wire)
    model = build.build()
    system = make_system(model, keep=[f"{pieces}"])
    u = np.zeros(system.size)
    law = lock(system, respond(system, u, Law(tension=np.array([tension]))))
    share = 1e-3
    p = np.zeros((1, system.size))
    p[0, system.dofs(f"{pieces}")[2]] = -share * EULER
    moved = solve(system, p, law, np.zeros_like(p), ["push"]).u[0]
    rest, loaded = (stressed(system, v, respond(system, v, law).tangent) for v in (u, moved))
    got = buckling(system, rest, loaded, 1).smallest * share * EULER
    y = half / 2 * np.sqrt(tension / EI_wire)
    c = (4 * tension / (2 * half)) / (1 - np.tanh(y) / y)

    def residual(P: float) -> float:
        x = L / 2 * np.sqrt(P / EI)
        return float(1 - c * L / (4 * P) * (1 - np.tan(x) / x))

    want = brentq(residual, EULER * 1.0001, EULER * 3.9999)
    assert got == pytest.approx(want, rel=1e-3)
    assert want > 1.2 * EULER


@pytest.mark.parametrize("ends", [(np.inf, np.inf), (0.0, np.inf), (2e4, 1e5)])
def test_bowing_costs_a_rigid_motion_nothing(ends: tuple[float, float]) -> None:
    """And is symmetric, and positive for tension."""
    R = random_rotation(3)
    build = ModelBuilder()
    X = np.array([[5.0, -3.0, 8.0], R @ [40.0, 90.0, 20.0]])
    build.node("a", X[0])
    build.node("b", X[1])
    build.beam("bar", "a", "b", BAR, STEEL, column=True, ends=ends)
    K = bowing_stiffness(build.build(), np.array([100.0])).toarray()
    size = np.abs(K).max()
    assert np.abs(K - K.T).max() < 1e-14 * size
    assert np.linalg.eigvalsh(K).min() > -1e-12 * size
    for axis in np.eye(3):
        shift = np.concatenate([axis, np.zeros(3)] * 2)
        turn = np.concatenate([np.cross(axis, X[0]), axis, np.cross(axis, X[1]), axis])
        assert np.abs(K @ shift).max() < 1e-12 * size
        assert np.abs(K @ turn).max() < 1e-10 * size


def test_bowing_and_chord_make_the_matrix_of_the_books() -> None:
    """N/30L [36, 3L, -36, 3L; …] (Przemieniecki 1968, §15.2), chord added."""
    model = line(BAR, L, 1, {}, column=True)
    N = 700.0
    K = bowing_stiffness(model, np.array([N])).toarray()
    v = [0, 4, 6, 10]  # ux and ry at both ends: a turn about y swings z towards x
    chord = N / L * np.array([[1, 0, -1, 0], [0] * 4, [-1, 0, 1, 0], [0] * 4])
    book = np.array(
        [
            [36, 3 * L, -36, 3 * L],
            [3 * L, 4 * L**2, -3 * L, -(L**2)],
            [-36, -3 * L, 36, -3 * L],
            [3 * L, -(L**2), -3 * L, 4 * L**2],
        ]
    )
    np.testing.assert_allclose(K[np.ix_(v, v)] + chord, N / (30 * L) * book, atol=1e-9 * N * L)


def test_force_of_a_column_on_its_displaced_chord() -> None:
    """k (ℓ - L), with a misfit k (ℓ - L - δ)."""
    model = line(BAR, L, 1, {}, column=True)
    q = np.zeros((1, 12))
    q[0, [6, 7, 8]] = 30.0, -10.0, 5.0
    k = STEEL.E * 60.0 / L
    stretch = np.sqrt(30.0**2 + 10.0**2 + 1005.0**2) - L
    assert column_force(model.chords, q)[0] == pytest.approx(k * stretch, rel=1e-12)
    got = column_force(model.chords, q, np.array([2.0]))[0]
    assert got == pytest.approx(k * (stretch - 2.0), rel=1e-12)


def test_unstable_or_loose_at_rest_is_refused() -> None:
    foot, head, _ = ENDS["hinged-hinged"]
    model = line(BAR, L, 4, {0: foot, 4: head}, column=True)
    system = make_system(model, keep=["4"])
    rest = at_rest(system)
    unstable = replace(rest, column_force=np.full(4, -50.0 * EULER))
    with pytest.raises(ConvergenceError, match="unstable already"):
        buckling(system, unstable, rest)
    loose = make_system(line(BAR, L, 4, {0: ("uz",)}, column=True), keep=["4"])
    with pytest.raises(MechanismError):
        buckling(loose, at_rest(loose), at_rest(loose))
