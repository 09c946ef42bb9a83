"""The arc beam: closed forms of a quarter circle (Castigliano; Timoshenko, Strength of Materials,
from memory), its limit of many straight beams, cutting and turning."""

from math import cos, pi, sin

import numpy as np
import pytest

from fem import ModelBuilder, Section, rectangle
from fem.model import Model
from tests.fem.linear_models import STEEL, deflections, plain_section, random_rotation, turned

RADIUS = 80.0
SLENDER = plain_section(area=1e9, I_y=400.0, I_z=900.0, J=350.0)  # bends and twists only
STOCKY = rectangle(14.0, 5.0, 0.3)
FREE_TIP = np.array([300.0, -200.0, 150.0, 4000.0, -2500.0, 7000.0])


def arc_cantilever(
    section: Section, angles: list[float], R: np.ndarray | None = None, straight: bool = False
) -> Model:
    """Circle about z turned by R; nodes "n0" (held), "n1" … at ``angles``, arcs or
    straight beams."""
    R = np.eye(3) if R is None else R
    centre = np.array([5.0, -2.0, 11.0])
    build = ModelBuilder()
    for i, a in enumerate(angles):
        build.node(f"n{i}", centre + R @ [RADIUS * cos(a), RADIUS * sin(a), 0.0])
    for i in range(len(angles) - 1):
        ends = (f"p{i}", f"n{i}", f"n{i + 1}")
        if straight:
            build.beam(*ends, section, STEEL, up=R @ [0.0, 0.0, 1.0])
        else:
            build.arc(*ends, centre, 3.0 * R @ [0.0, 0.0, 1.0], section, STEEL)
    build.fix("n0")
    return build.build()


def tip(model: Model, load: np.ndarray) -> np.ndarray:
    last = model.names[-1]
    return deflections(model, {last: load})[last]


def test_quarter_circle_bent_in_its_plane() -> None:
    """Held at angle 0, where the tangent is +y; at the tip, 90°, it is -x."""
    unit = RADIUS**3 / (STEEL.E * SLENDER.I_z)
    model = arc_cantilever(SLENDER, [0.0, pi / 2])
    along_root = tip(model, np.array([0, 1.0, 0, 0, 0, 0]))
    # EA = 2e14 N adds 1e-9 of the bending
    assert along_root[1] == pytest.approx(pi / 4 * unit, rel=1e-7)
    assert along_root[0] == pytest.approx(unit / 2, rel=1e-7)
    along_tip = tip(model, np.array([-1.0, 0, 0, 0, 0, 0]))
    assert along_tip[0] == pytest.approx(-(3 * pi / 4 - 2) * unit, rel=1e-7)
    assert 3 * pi / 4 - 2 == pytest.approx(0.35619, abs=5e-6)
    moment = tip(model, np.array([0, 0, 0, 0, 0, 1.0]))
    assert moment[5] == pytest.approx(pi / 2 * unit / RADIUS**2, rel=1e-7)


def test_quarter_circle_bent_out_of_its_plane() -> None:
    bend, twist = STEEL.E * SLENDER.I_y, STEEL.G * SLENDER.J
    got = tip(arc_cantilever(SLENDER, [0.0, pi / 2]), np.array([0, 0, 1.0, 0, 0, 0]))
    want = RADIUS**3 * (pi / (4 * bend) + (3 * pi / 4 - 2) / twist)
    assert got[2] == pytest.approx(want, rel=1e-10)


def test_stretch_and_shear_of_the_quarter_circle_add_to_bending() -> None:
    """Load along the root tangent: N = P cos a, V = P sin a, so each adds π P R / 4 over
    its stiffness."""
    got = tip(arc_cantilever(STOCKY, [0.0, pi / 2]), np.array([0, 1.0, 0, 0, 0, 0]))[1]
    want = pi / 4 * RADIUS**3 / (STEEL.E * STOCKY.I_z)
    want += pi / 4 * RADIUS / (STEEL.E * STOCKY.area)
    want += pi / 4 * RADIUS / (STEEL.G * STOCKY.shear_area_y)
    assert got == pytest.approx(want, rel=1e-10)


@pytest.mark.parametrize("angle", [0.4, pi / 2, 4.0])
def test_many_straight_beams_tend_to_the_arc(angle: float) -> None:
    """Inscribed polygons: second order in the length of a side, for all six motions of the tip."""
    exact = tip(arc_cantilever(STOCKY, [0.0, angle]), FREE_TIP)
    errors = []
    for sides in (8, 16, 32, 64):
        angles = list(np.linspace(0.0, angle, sides + 1))
        polygon = tip(arc_cantilever(STOCKY, angles, straight=True), FREE_TIP)
        errors.append(np.abs(polygon - exact).max() / np.abs(exact).max())
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    # the fourth-order term still takes 0.02 off with 8 sides of half a radian
    assert orders[-1] == pytest.approx(2.0, abs=5e-3)
    # a chord lies inside its arc by (angle of a side)²/8 of the radius at most
    assert errors[-1] < 0.5 * (angle / 64) ** 2


@pytest.mark.parametrize(
    "cuts", [[0.0, 1.0, 2.0], [0.0, 0.3, 1.9, 2.0], [0.3, 6.0], [0.3, 2.0, 5.9, 6.0]]
)
def test_cut_arcs_join_to_one(cuts: list[float]) -> None:
    """One element between two attachments is exact, also beyond a half turn."""
    whole = tip(arc_cantilever(STOCKY, [cuts[0], cuts[-1]]), FREE_TIP)
    halves = [cuts[0], (cuts[0] + cuts[-1]) / 2, cuts[-1]] if len(cuts) == 2 else cuts
    assert tip(arc_cantilever(STOCKY, halves), FREE_TIP) == pytest.approx(whole, rel=1e-9, abs=1e-9)


def test_arc_in_any_orientation() -> None:
    angles = [0.2, 1.4, 2.9]
    plain = tip(arc_cantilever(STOCKY, angles), FREE_TIP)
    for seed in range(4):
        R = random_rotation(seed)
        got = tip(arc_cantilever(STOCKY, angles, R), turned(R, FREE_TIP))
        assert turned(R.T, got) == pytest.approx(plain, rel=1e-9, abs=1e-12)


def test_rigid_motions_of_an_arc_cost_nothing() -> None:
    model = arc_cantilever(STOCKY, [0.2, 3.9], random_rotation(9))
    K = model.members.stiffness()[0]
    X = model.points
    for axis in range(3):
        w = np.eye(3)[axis]
        shift = np.concatenate([w, np.zeros(3), w, np.zeros(3)])
        turn = np.concatenate([np.cross(w, X[0]), w, np.cross(w, X[1]), w])
        for motion in (shift, turn):
            assert np.abs(K @ motion).max() < 1e-12 * np.abs(K).max() * np.abs(motion).max()


def test_wide_circle_tends_to_the_straight_beam() -> None:
    """A chord of 50 mm on a radius of 1e5 mm rises 3 µm: tip deflections as of a beam
    within 1e-5."""
    R, L = 1e5, 50.0
    build = ModelBuilder()
    a = L / R
    build.node("a", [R, 0.0, 0.0])
    build.node("b", [R * cos(a), R * sin(a), 0.0])
    build.arc("arc", "a", "b", [0, 0, 0], [0, 0, 1], STOCKY, STEEL)
    build.fix("a")
    got = tip(build.build(), np.array([1.0, 0, 0, 0, 0, 0]))[0]
    want = L**3 / (3 * STEEL.E * STOCKY.I_z) + L / (STEEL.G * STOCKY.shear_area_y)
    assert got == pytest.approx(want, rel=1e-5)
