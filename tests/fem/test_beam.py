"""The straight beam against closed forms of a cantilever (Timoshenko, Strength of Materials; the
shear terms: Cowper, J. Appl. Mech. 33, 1966, 335-340; both from memory)."""

from math import pi

import numpy as np
import pytest

from fem import FREEDOMS, Material, ModelBuilder, Section, rectangle, solid_circle
from fem.beam import beam_frame
from fem.model import Model
from tests.fem.linear_models import STEEL, deflections, plain_section, random_rotation, turned

LENGTH = 70.0
# the beam is exact; what is left is rounding of one inversion of F, whose entries span 1e-7 to 1
ROUNDING = 1e-9


def cantilever(section: Section, R: np.ndarray | None = None, pieces: int = 1) -> Model:
    """Along local x from "n0", held there; y and z of the section are the second and third axis."""
    R = np.eye(3) if R is None else R
    build = ModelBuilder()
    places = LENGTH * np.linspace(0.0, 1.0, pieces + 1) ** 1.5  # unequal pieces
    for i, x in enumerate(places):
        build.node(f"n{i}", np.array([2.0, -3.0, 5.0]) + R @ [x, 0.0, 0.0])
    for i in range(pieces):
        build.beam(f"b{i}", f"n{i}", f"n{i + 1}", section, STEEL, up=R @ [0.0, 0.0, 1.0])
    build.fix("n0")
    return build.build()


def expected(section: Section, load: np.ndarray, x: float = LENGTH) -> np.ndarray:
    """Displacement (6,) at x of the cantilever under a tip load, written out in full."""
    E, G, L = STEEL.E, STEEL.G, LENGTH
    Px, Py, Pz, Mx, My, Mz = load
    EIy, EIz = E * section.I_y, E * section.I_z
    bend = x**2 * (3.0 * L - x) / 6.0  # ∫∫ (L - s): deflection of unit load over unit EI
    slope = x * (2.0 * L - x) / 2.0
    return np.array(
        [
            Px * x / (E * section.area),
            Py * (bend / EIz + x / (G * section.shear_area_y)) + Mz * x**2 / (2.0 * EIz),
            Pz * (bend / EIy + x / (G * section.shear_area_z)) - My * x**2 / (2.0 * EIy),
            Mx * x / (G * section.J),
            -Pz * slope / EIy + My * x / EIy,
            Py * slope / EIz + Mz * x / EIz,
        ]
    )


@pytest.mark.parametrize("which", range(6), ids=FREEDOMS)
@pytest.mark.parametrize(
    "section",
    [plain_section(), rectangle(14.0, 5.0, 0.3), solid_circle(9.0, 0.3)],
    ids=["without shear", "rectangle", "circle"],
)
def test_cantilever_under_each_tip_load(section: Section, which: int) -> None:
    load = np.zeros(6)
    load[which] = 100.0
    tip = deflections(cantilever(section), {"n1": load})["n1"]
    want = expected(section, load)
    assert tip == pytest.approx(want, rel=ROUNDING, abs=1e-12 * np.abs(want).max())


def test_short_round_bar_shears_by_cowpers_coefficient() -> None:
    """A bar as long as thick: half of its deflection is shear, κ = 6(1+ν)/(7+6ν)."""
    nu, d, P = 0.3, LENGTH, 1000.0
    kappa = 6.0 * (1.0 + nu) / (7.0 + 6.0 * nu)
    area, second = pi * d**2 / 4.0, pi * d**4 / 64.0
    want = P * LENGTH**3 / (3.0 * STEEL.E * second) + P * LENGTH / (STEEL.G * kappa * area)
    tip = deflections(cantilever(solid_circle(d, nu)), {"n1": [0, P, 0, 0, 0, 0]})["n1"]
    assert tip[1] == pytest.approx(want, rel=ROUNDING)


def test_patch_of_unequal_beams_holds_constant_strain_and_curvature() -> None:
    """Pull, twist and bending in both planes at the tip: every station exact, forces constant."""
    section, R = plain_section(shear=40.0), random_rotation(3)
    model = cantilever(section, R, pieces=5)
    load = np.array([3000.0, 0.0, 0.0, 400.0, -700.0, 900.0])
    d = deflections(model, {"n5": turned(R, load)})
    for i, x in enumerate(LENGTH * np.linspace(0.0, 1.0, 6) ** 1.5):
        want = expected(section, load, x)
        assert turned(R.T, d[f"n{i}"]) == pytest.approx(want, rel=1e-9, abs=1e-13)
    both = np.concatenate([np.array(list(d.values()))[model.members.ends]], axis=-1)
    forces = model.members.end_forces(both.reshape(5, 12))
    # rounding: stiffness of the shortest piece 1e6 N/mm times rounding of displacements 1e-16
    assert turned(R.T, forces) == pytest.approx(np.tile(load, (5, 1)), rel=1e-8, abs=1e-6)


def test_end_forces_are_those_of_statics() -> None:
    """An oblique tip load on a bent cantilever: at each joint force P and moment
    (X_tip - X) × P."""
    build = ModelBuilder()
    points = np.array([[0.0, 0, 0], [40, 10, 0], [60, 10, 30], [55, -20, 50]])
    for i, p in enumerate(points):
        build.node(f"n{i}", p)
    for i in range(3):
        build.beam(f"b{i}", f"n{i}", f"n{i + 1}", plain_section(shear=40.0), STEEL)
    build.fix("n0")
    model = build.build()
    P, M = np.array([30.0, -80.0, 55.0]), np.array([500.0, -200.0, 900.0])
    d = np.array(list(deflections(model, {"n3": [*P, *M]}).values()))
    got = model.members.end_forces(d[model.members.ends].reshape(3, 12))
    want = [[*P, *(M + np.cross(points[3] - X, P))] for X in points[1:]]
    assert got == pytest.approx(np.array(want), rel=1e-9, abs=1e-7)


def test_six_motions_of_a_rigid_body_and_no_more_cost_nothing() -> None:
    build = ModelBuilder()
    X = np.array([[3.0, 1.0, -4.0], [20.0, 15.0, 9.0]])
    build.node("a", X[0])
    build.node("b", X[1])
    build.beam("beam", "a", "b", rectangle(14.0, 5.0, 0.3), STEEL, up=[1.0, 0.0, 2.0])
    K = build.build().members.stiffness()[0]
    motions = np.zeros((6, 12))
    for axis in range(3):
        w = np.eye(3)[axis]
        motions[axis, [axis, 6 + axis]] = 1.0
        motions[3 + axis] = np.concatenate([np.cross(w, X[0]), w, np.cross(w, X[1]), w])
    assert np.abs(K @ motions.T).max() < 1e-12 * np.abs(K).max() * np.abs(motions).max()
    scale = 1.0 / np.sqrt(np.diagonal(K))
    values = np.linalg.eigvalsh(K * scale[:, None] * scale)
    assert values[5] < 1e-12 and values[6] > 1e-3
    assert np.abs(K - K.T).max() < 1e-12 * np.abs(K).max()


def test_a_turned_structure_answers_turned() -> None:
    section, load = rectangle(14.0, 5.0, 0.3), np.array([100.0, -40.0, 70.0, 900.0, 300.0, -800.0])
    straight = deflections(cantilever(section, pieces=3), {"n3": load})["n3"]
    for seed in range(5):
        R = random_rotation(seed)
        tip = deflections(cantilever(section, R, pieces=3), {"n3": turned(R, load)})["n3"]
        assert turned(R.T, tip) == pytest.approx(straight, rel=1e-9, abs=1e-12)


def test_local_axes_are_right_handed_with_z_nearest_to_up() -> None:
    x, y, z = beam_frame(np.zeros(3), np.array([0.0, 5.0, 0.0]), np.array([0.0, 9.0, 2.0]), "b")
    assert np.array_equal([x, y, z], [[0, 1, 0], [-1, 0, 0], [0, 0, 1]])
    x, y, z = beam_frame(np.zeros(3), np.array([3.0, 1.0, 2.0]), None, "b")
    assert np.cross(x, y) == pytest.approx(z, abs=1e-15)
    assert z[1] == pytest.approx(np.sqrt(1.0 - x[1] ** 2))  # y is the axis farthest from the beam


def test_stiffness_grows_with_the_material() -> None:
    """Half the modulus, twice the deflection: E and G both derive from it."""
    soft = Material(E=STEEL.E / 2.0, nu=STEEL.nu)
    shear_modulus = soft.G
    assert shear_modulus == pytest.approx(soft.E / 2.6)
    build = ModelBuilder()
    build.node("a", [0, 0, 0])
    build.node("b", [LENGTH, 0, 0])
    build.beam("beam", "a", "b", plain_section(shear=40.0), soft, up=[0, 0, 1])
    build.fix("a")
    load = np.array([10.0, 20.0, 30.0, 40.0, 50.0, 60.0])
    tip = deflections(build.build(), {"b": load})["b"]
    assert tip == pytest.approx(2.0 * expected(plain_section(shear=40.0), load), rel=1e-9)
