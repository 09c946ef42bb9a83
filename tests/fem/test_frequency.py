"""Natural frequencies against closed forms and benchmarks.

Roots βL of uniform beams: R. D. Blevins, Formulas for Natural Frequency and Mode Shape, 1979,
table 8-1 (cantilever 1.87510, 4.69409, 7.85476; free-free 4.73004, 7.85320, 10.9956).
"""

import numpy as np
import pytest
from scipy.optimize import brentq

import fem.frequency
from fem import (
    ConvergenceError,
    Law,
    Material,
    MechanismError,
    Model,
    ModelBuilder,
    ModelError,
    Section,
    System,
    make_system,
    rectangle,
    respond,
    solve,
)
from fem.bowing import Stressed
from fem.frequency import frequencies
from fem.mass import PointMass, mass_matrix
from fem.uncondensed import stressed
from tests.fem.dynamic_models import RHO, at_rest, line, ring, under, vibrate
from tests.fem.linear_models import NO_WIRES, STEEL, Array, plain_section, random_rotation

L = 1000.0
BAR = plain_section(area=60.0, I_y=300.0, I_z=900.0, J=500.0)
PLANE = ("uy", "rx", "rz", "uz")  # leaves bending about y alone
E, G = STEEL.E, STEEL.G
ALL = ("ux", "uy", "uz", "rx", "ry", "rz")


def hertz(beta_l: float, inertia: float = 300.0, length: float = L) -> float:
    """(βL)² / 2π √(EI / ρA L⁴)."""
    return float(beta_l**2 / (2 * np.pi) * np.sqrt(E * inertia / (RHO * 60.0 * length**4)))


def test_cantilever() -> None:
    """Bending both ways, without shear and rotary inertia; 16 elements of length h are good to
    (βh)⁴/1440 = 4e-5.
    """
    roots = [1.87510, 4.69409, 7.85476]
    want = sorted([hertz(r) for r in roots] + [hertz(r, 900.0) for r in roots])[:5]
    got = vibrate(line(BAR, L, 16, {0: ALL}), 5, rotary=False)
    np.testing.assert_allclose(got.hertz, want, rtol=1e-4)
    assert got.rigid == 0


@pytest.mark.parametrize("seed", [0, 1])
def test_free_beam_has_six_rigid_motions_and_the_frequencies_of_the_book(seed: int) -> None:
    roots = [4.73004, 7.85320, 10.9956]
    want = sorted([hertz(r) for r in roots] + [hertz(r, 900.0) for r in roots])[:4]
    model = line(BAR, L, 16, {}, along=random_rotation(seed)[0])
    for rotary, error in ((False, 1e-4), (True, 3e-3)):  # rotary inertia is (r/L)² (βL)² or so
        got = vibrate(model, 4, rotary=rotary)
        assert got.rigid == 6
        np.testing.assert_allclose(got.hertz, want, rtol=error)


def test_stretch_and_torsion_of_a_bar() -> None:
    """(2n-1)/4L √(E/ρ) and (2n-1)/4L √(GJ/ρI_p), fixed at one end; second-order elements,
    (π/2/20)²/24 = 0.03 % for n = 1.
    """
    only: dict[int, tuple[str, ...]] = dict.fromkeys(range(1, 21), ALL[:5])
    got = vibrate(line(BAR, L, 20, {0: ALL, **only}), 2)
    twist = np.sqrt(G * 500.0 / (RHO * 1200.0)) / (4 * L)
    np.testing.assert_allclose(got.hertz, [twist, 3 * twist], rtol=3e-3)
    only = dict.fromkeys(range(1, 21), ("ux", "uy", "rx", "ry", "rz"))
    got = vibrate(line(BAR, L, 20, {0: ALL, **only}), 1)
    assert got.hertz[0] == pytest.approx(np.sqrt(E / RHO) / (4 * L), rel=3e-4)


@pytest.mark.parametrize("mode", [1, 2, 3])
def test_thick_beam_with_shear_and_rotary_inertia(mode: int) -> None:
    """Timoshenko's beam on two hinges, k = nπ/L (Phil. Mag. 41 (1921) 744; the quadratic in ω²):

    ρI ρ/κG ω⁴ - [ρA + ρI k² (1 + E/κG)] ω² + EI k⁴ = 0.
    """
    section = rectangle(50.0, 50.0, 0.3)
    length, A, inertia = 500.0, section.area, section.I_y
    kG = G * section.shear_area_z / A
    k = mode * np.pi / length
    a, b = RHO**2 * inertia / kG, RHO * A + RHO * inertia * k**2 * (1 + E / kG)
    want = np.sqrt((b - np.sqrt(b**2 - 4 * a * E * inertia * k**4)) / (2 * a)) / (2 * np.pi)
    # the shear within an element does not vary, which costs (h k)² of its share: 48 elements
    inner: dict[int, tuple[str, ...]] = dict.fromkeys(range(49), PLANE)
    model = line(section, length, 48, inner | {0: (*PLANE, "ux"), 48: (*PLANE, "ux")})
    assert vibrate(model, 3).hertz[mode - 1] == pytest.approx(want, rel=3e-4)
    euler = k**2 * np.sqrt(E * inertia / (RHO * A)) / (2 * np.pi)
    assert euler > 1.01 * want  # so that the test can tell


@pytest.mark.parametrize("share", [-0.6, 0.0, 2.0])
@pytest.mark.parametrize(("pieces", "error"), [(4, 1e-3), (16, 1e-5)])
def test_axial_force_tunes_a_beam(share: float, pieces: int, error: float) -> None:
    """ω² = (EI k⁴ + N k²) / ρA, k = π/L (textbook); N = ``share`` of Euler's load, tension
    positive.
    """
    k, EI = np.pi / L, E * 300.0
    ends = {0: ("ux", "uy", "uz", "rz"), pieces: ("ux", "uy")}
    inner = dict.fromkeys(range(pieces + 1), ("uy", "rx"))
    supports = {i: tuple({*inner[i], *ends.get(i, ())}) for i in inner}
    model = line(BAR, L, pieces, supports, column=True)
    system = make_system(model, keep=[f"{pieces}"])
    pull = np.array([0.0, 0.0, share * EI * k**2, 0, 0, 0])
    state = under(system, {f"{pieces}": pull})
    got = frequencies(system, state, mass_matrix(model, RHO, rotary=False), 1)
    want = k**2 * np.sqrt(EI * (1 + share) / (RHO * 60.0)) / (2 * np.pi)
    # the load itself makes the beam longer or shorter by N/EA, 1.6e-4 at the most
    assert got.hertz[0] == pytest.approx(want, rel=error + 2 * abs(share) * EI * k**2 / (E * 60.0))


@pytest.mark.parametrize("kappa", [0.3, 5.0])
def test_cantilever_on_an_elastic_joint(kappa: float) -> None:
    """κ (1 + cos x cosh x) + x (cos x sinh x - sin x cosh x) = 0, κ = k L / EI: Euler's beam with
    M = k θ at the root; x⁴ → 3 κ when it is soft.
    """

    def residual(x: float) -> float:
        c, s, C, S = np.cos(x), np.sin(x), np.cosh(x), np.sinh(x)
        return float(kappa * (1 + c * C) + x * (c * S - s * C))

    x = brentq(residual, 0.3, 1.875)
    supports: dict[int, tuple[str, ...]] = dict.fromkeys(range(1, 9), ("uy", "rx", "rz"))
    model = line(BAR, L, 8, {0: ALL} | supports, root=kappa * E * 300.0 / L)
    assert vibrate(model, 1, rotary=False).hertz[0] == pytest.approx(hertz(x), rel=1e-5)


def test_hinge_leaves_one_rigid_turn() -> None:
    """Free to turn about y and z on its root: two rigid motions, then βL = 3.92660 (hinged-free,
    Blevins).
    """
    got = vibrate(line(BAR, L, 10, {0: ("ux", "uy", "uz", "rz")}), 2, rotary=False)
    assert got.rigid == 2
    np.testing.assert_allclose(got.hertz, [hertz(3.92660), hertz(3.92660, 900.0)], rtol=1e-4)


@pytest.mark.parametrize("whole", [True, False])
def test_free_ring(whole: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """In its plane ω² = n²(n²-1)²/(n²+1) EI/ρAR⁴, out of it n²(n²-1)²/(n²+EI/GJ) EI/ρAR⁴, each
    twice (Love, Mathematical Theory of Elasticity, §293, there for round sections with EI/GJ =
    1 + ν; Timoshenko, Vibration Problems in Engineering): thin rings, without stretch. By both ways
    of solving.
    """
    if not whole:
        monkeypatch.setattr(fem.frequency, "WHOLE", 0)
    R, EI_in, EI_out, GJ = 400.0, E * 900.0, E * 300.0, G * 500.0
    # stretch lowers by I/AR², 1e-5; torsion without rotary inertia is of second order in 1/32
    section = plain_section(area=600.0, I_y=300.0, I_z=900.0, J=500.0)
    unit = 1.0 / (RHO * 600.0 * R**4)
    want = []
    for n in (2, 3):
        size = n**2 * (n**2 - 1) ** 2 * unit
        want += 2 * [size * EI_in / (n**2 + 1), size * EI_out / (n**2 + EI_out / GJ)]
    got = vibrate(ring(section, R, 32), 8, rotary=False)
    assert got.rigid == 6
    np.testing.assert_allclose(got.hertz, np.sqrt(sorted(want)) / (2 * np.pi), rtol=2e-4)


def double_cross(pieces: int, section: Section, *, centred: bool = False) -> Model:
    """Eight arms of 5 m at 45° in a plane, ends hinged; ``centred``: the middle only turns."""
    build = ModelBuilder()
    build.node("centre", [0, 0, 0])
    build.fix("centre", ("uz", "rx", "ry", *(("ux", "uy") if centred else ())))
    for arm in range(8):
        e = np.array([np.cos(arm * np.pi / 4), np.sin(arm * np.pi / 4), 0.0])
        before = "centre"
        for i in range(1, pieces + 1):
            node = build.node(f"{arm}.{i}", 5000.0 * i / pieces * e)
            build.beam(f"{arm}-{i}", before, node, section, BENCH_STEEL, up=[0, 0, 1])
            last = ("ux", "uy") if i == pieces else ()
            build.fix(node, ("uz", "rx", "ry", *last))
            before = node
    return build.build()


BENCH_STEEL = Material(E=200_000.0, nu=0.3, name="steel")
CROSS_HERTZ = [11.336, *7 * [17.709], 45.345, *7 * [57.390]]


@pytest.mark.parametrize("whole", [True, False])
def test_nafems_double_cross(whole: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """NAFEMS FV2 (Selected Benchmarks for Natural Frequency Analysis, 1987): 11.336, seven times
    17.709, 45.345, seven times 57.390 Hz, from thin beams whose middle stays; four elements for an
    arm. What the square arms have besides, shear, rotary inertia and stretch (two of the seven),
    lowers the upper ones by 0.5 %; without these and with ten elements nothing is left.
    """
    if not whole:
        monkeypatch.setattr(fem.frequency, "WHOLE", 0)
    square = rectangle(125.0, 125.0, 0.3)
    got = vibrate(double_cross(4, square), 16)
    np.testing.assert_allclose(got.hertz, CROSS_HERTZ, rtol=6e-3)
    thin = plain_section(square.area, square.I_y, square.I_z, square.J)
    fine = vibrate(double_cross(10, thin, centred=True), 16, rotary=False)
    np.testing.assert_allclose(fine.hertz, CROSS_HERTZ, rtol=3e-4)


def test_a_frequency_overlooked_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    found = fem.frequency._lanczos

    def overlooking(flexible: fem.frequency._Flexibility, count: int) -> tuple[object, object]:
        nu, vectors = found(flexible, count)
        return np.delete(nu, 3), np.delete(vectors, 3, axis=1)

    monkeypatch.setattr(fem.frequency, "WHOLE", 0)
    monkeypatch.setattr(fem.frequency, "_lanczos", overlooking)
    with pytest.raises(ConvergenceError, match="lie below"):
        vibrate(double_cross(4, rectangle(125.0, 125.0, 0.3)), 10)


def test_modes_are_normal_to_each_other_and_measured_by_mass() -> None:
    model = ring(BAR, 200.0, 6)
    system, mass = make_system(model, keep=["0"]), mass_matrix(model, RHO)
    modes = frequencies(system, at_rest(system), mass, 8).modes.reshape(8, -1)
    np.testing.assert_allclose(modes @ (mass @ modes.T), np.eye(8), atol=1e-8)
    still = np.tile(np.eye(3, 6), (6, 1, 1)).transpose(1, 0, 2).reshape(3, -1)
    assert np.abs(still @ (mass @ modes.T)).max() < 1e-9 * np.sqrt((still @ (mass @ still.T)).max())


def test_body_on_a_soft_spring_is_no_rigid_motion() -> None:
    """√(k/m)/2π however soft against the frame; a tip mass on a light bar: √(3EI/L³m)/2π."""
    build = ModelBuilder()
    for i, x in enumerate((0.0, 500.0, 1000.0)):
        build.node(f"{i}", [x, 0, 0])
    build.beam("left", "0", "1", BAR, STEEL)
    build.beam("right", "1", "2", BAR, STEEL)
    k, m = 1e-3, 0.02
    build.spring("mount", "1", None, [k, 4 * k, 9 * k, 1e3, 1e3, 1e3])
    model = build.build()
    system = make_system(model, keep=["1"])
    mass = mass_matrix(model, 0.0, points=[PointMass("1", m)])
    got = frequencies(system, at_rest(system), mass, 3)
    assert got.rigid == 0
    np.testing.assert_allclose(got.hertz, np.array([1, 2, 3]) * np.sqrt(k / m) / (2 * np.pi))
    model = line(BAR, L, 1, {0: ALL})
    system = make_system(model)
    mass = mass_matrix(model, 0.0, points=[PointMass("1", m)])
    want = np.sqrt(3 * E * 300.0 / (L**3 * m)) / (2 * np.pi)
    assert frequencies(system, at_rest(system), mass, 1).hertz[0] == pytest.approx(want, rel=1e-9)


def test_lumped_masses_converge_to_the_same() -> None:
    """Second order: 20 pieces within 0.3 %."""
    got = vibrate(line(BAR, L, 20, {0: ALL}), 2, lumped=True, rotary=False)
    np.testing.assert_allclose(got.hertz, [hertz(1.87510), hertz(1.87510, 900.0)], rtol=3e-3)


def test_more_frequencies_than_there_are() -> None:
    model = line(BAR, L, 1, {0: ALL})
    with pytest.raises(ModelError, match="divide members"):
        vibrate(model, 7)


def test_a_mechanism_is_refused() -> None:
    """A chain with a hinge on a supported end that can swing: not a vibration, nor a rigid motion
    of the whole.
    """
    build = ModelBuilder()
    for i in range(3):
        build.node(f"{i}", [0, 0, 100.0 * i])
    build.beam("post", "0", "1", BAR, STEEL)
    build.beam("flail", "1", "2", BAR, STEEL, ends=(0.0, np.inf))
    build.fix("0")
    model = build.build()
    with pytest.raises(MechanismError):
        vibrate(model, 2)


def test_a_buckled_state_is_refused() -> None:
    """Pushed past Euler's load, straight; made by hand, for Newton itself would refuse."""
    supports = {0: ALL, **dict.fromkeys(range(1, 9), ("uy", "rx", "rz"))}
    model = line(BAR, L, 8, supports, column=True)
    system = make_system(model, keep=["8"])
    push = -1.1 * np.pi**2 * E * 300.0 / (4 * L**2)
    bowed = Stressed(_with_chords(system, push), np.full(8, push))
    with pytest.raises(ConvergenceError, match="unstable"):
        frequencies(system, bowed, mass_matrix(model, RHO), 1)


def _with_chords(system: System, force: float) -> Array:
    """Tangent of straight columns under an axial force in all of them."""
    u = np.zeros(system.size)
    chords = system.model.chords
    at = np.cumsum(force / chords.stiffness)
    for i, shift in enumerate(at, 1):
        u[np.searchsorted(system.kept, 6 * i + 2)] = shift
    return respond(system, u, NO_WIRES).tangent


def test_a_free_ring_with_a_tensioned_wire_has_six_rigid_motions() -> None:
    """The wire is measured from its clamps and holds nothing else; the columns have been tilted by
    the wire's pull, so that R of the places before is no longer free.
    """
    build = ModelBuilder()
    for i in range(8):
        a = np.pi / 4 * i
        build.node(f"{i}", [80 * np.cos(a), 80 * np.sin(a), 0.0])
        build.node(f"t{i}", [80 * np.cos(a), 80 * np.sin(a), 120.0])
    for i in range(8):
        for level, z in (("", 0.0), ("t", 120.0)):
            ends = f"{level}{i}", f"{level}{(i + 1) % 8}"
            build.arc(f"arc {level}{i}", *ends, [0, 0, z], [0, 0, 1], BAR, STEEL)
        if i % 2 == 0:
            build.beam(f"rod {i}", f"{i}", f"t{i}", BAR, STEEL, column=True)
    build.wire("wire", ["0", "4"], [True, True], 5e5, 1e5)
    model = build.build()
    system = make_system(model)
    pull = Law(tension=np.array([3000.0]))
    held = np.isin(system.kept, 6 * model.node("0") + np.arange(6))
    zero = np.zeros((1, system.size))
    u = solve(system, zero, pull, zero, ["pull"], held=held).u[0]
    tangent = respond(system, u, pull).tangent
    got = frequencies(system, stressed(system, u, tangent), mass_matrix(model, RHO), 4)
    assert got.rigid == 6
    held_fast = frequencies(
        system, stressed(system, u, tangent), mass_matrix(model, RHO), 4, held=held
    )
    assert held_fast.rigid == 0
    assert held_fast.hertz[0] < got.hertz[0]


def test_a_free_column_under_load_has_no_state_to_vibrate_about() -> None:
    """Loads of fixed direction on its ends turn it back when it turns: N L, no rigid motion."""
    model = line(BAR, L, 8, {}, column=True)
    system = make_system(model, keep=["0"])
    pull = 0.5 * np.pi**2 * E * 300.0 / L**2
    state = Stressed(_with_chords(system, pull), np.full(8, pull))
    with pytest.raises(ModelError, match="resist a rigid motion"):
        frequencies(system, state, mass_matrix(model, RHO), 2)
