"""One answer against another: compliance against small loads, tangent against neighbouring loads,
units, and what bone as stiff as rigid lets one conclude.

A load of a case acts at the ends of the bone or at one face and is borne at the far end; the
stiffness at the gap is that of equal and opposite loads on both faces.  The two differ by what
the bone between face, wires and end gives, and by nothing else: with a bone ten times as stiff the
difference is a tenth.
"""

from collections.abc import Callable

import numpy as np
import pytest

from frames import Result
from tests.frames import cases
from tests.frames.cases import Raw, answers, axial, stiff_bone, wrench
from tests.frames.comparing import (
    Array,
    assert_same,
    matrix_difference,
    movement,
    values,
    vector_difference,
)

UNITS = (*np.eye(3) * 0.4, *np.eye(3) * 0.02)
"""Small forces (N) and moments (N·m): they move the gap by some hundredths of a millimetre."""

BASE = cases.small(gap=3.0)
BASE["ring"][0]["centre_mm"] = [-9.0, 4.0]

SYMMETRIC = cases.symmetric(gap=3.0)
"""Here pretension leaves the bone where it was.  In others it moves and tilts it by some tenths of
a millimetre over some hundred: by so much, 1e-3, the axes of before (in which bone, rings and the
movement at the gap are described) and those of after (along which columns press) differ."""

TILTED = 0.01
"""Relative: bound for such frames."""


def unit_wrench(i: int, share: float, at: str) -> Raw:
    """Share of the i-th small force or moment."""
    zero = np.zeros(3)
    force, moment = (UNITS[i], zero) if i < 3 else (zero, UNITS[i])
    return wrench(f"unit {i} {share}", (share * force).tolist(), (share * moment).tolist(), at)


def movement_per_load(raw: Raw, load: Callable[[float], Raw]) -> Array:
    """(6,) d movement / d share at no load, fourth order: central differences, extrapolated."""
    shares = (-1.0, -0.5, 0.5, 1.0)
    loads = [{**load(s), "name": f"share {s}"} for s in shares]
    a, b, c, d = (movement(r) for r in answers(cases.with_loads(raw, *loads)).loads)
    return np.asarray((8.0 * (c - b) - (d - a)) / 6.0)


def by_loads(raw: Raw, at: str) -> Array:
    """(6, 6) gap movement (columns) per unit wrench about the gap's centre, from small loads."""
    columns = [movement_per_load(raw, lambda s, i=i: unit_wrench(i, s, at)) for i in range(6)]
    size = np.array([0.4] * 3 + [20.0] * 3)  # N, N·mm
    C = np.array(columns).T / size
    level = {"knee": 170.0, "ankle": -170.0, "proximal face": 1.5, "distal face": -1.5}[at]
    sign = 1.0 if at in ("knee", "proximal face") else -1.0
    carry = np.eye(6)  # wrench at the point → about the gap's centre
    carry[3, 1], carry[4, 0] = -level, level
    return np.asarray(C @ np.linalg.inv(carry) * sign)


def difference_from_matrix(raw: Raw, at: str) -> float:
    """How far the compliance from loads at a point is from the inverse of the matrix."""
    C = np.linalg.inv(answers(raw).matrix)
    return matrix_difference(C, by_loads(raw, at))


POINTS = ["proximal face", "distal face", "knee", "ankle"]


@pytest.mark.parametrize("at", POINTS)
def test_matrix_against_small_loads(at: str) -> None:
    """All 36 entries, from loads at every named point, in the limit of a rigid bone."""
    soft = difference_from_matrix(stiff_bone(SYMMETRIC, 1e5), at)
    stiff = difference_from_matrix(stiff_bone(SYMMETRIC, 1e6), at)
    assert stiff < 2e-3
    assert stiff == pytest.approx(soft / 10.0, rel=0.02)


@pytest.mark.parametrize("at", POINTS)
def test_matrix_against_small_loads_in_a_frame_askew(at: str) -> None:
    assert difference_from_matrix(stiff_bone(BASE, 1e6), at) < TILTED


@pytest.mark.parametrize("i", range(3, 6))
def test_a_moment_is_the_same_at_knee_and_face(i: int) -> None:
    def apart(E_MPa: float) -> float:
        raw = stiff_bone(SYMMETRIC, E_MPa)
        knee, face = (
            movement_per_load(raw, lambda s, at=at: unit_wrench(i, s, at))
            for at in ("knee", "proximal face")
        )
        return vector_difference(knee, face)

    assert apart(1e6) < 1e-3
    assert apart(1e6) == pytest.approx(apart(1e5) / 10.0, rel=0.02)


def test_a_load_on_the_ankle_is_its_opposite_on_the_knee() -> None:
    """Borne at the other end, so that force and moment at the knee are -F and -(M + r × F)."""
    F, M = np.array([12.0, -9.0, -80.0]), np.array([0.4, 0.3, -0.8])
    arm = np.array([0.0, 0.0, -340.0])
    at_knee = -(M + np.cross(arm, F) / 1000.0)
    result = answers(
        cases.with_loads(
            BASE,
            wrench("distal", F.tolist(), M.tolist(), "ankle"),
            wrench("proximal", (-F).tolist(), at_knee.tolist(), "knee"),
        )
    )
    low, high = result.loads
    assert vector_difference(movement(low), movement(high)) < 1e-9


def test_an_offset_load_is_an_axial_one_with_a_moment() -> None:
    """P at (a, m) = P on the axis with moments (-m P, a P) about the anterior and medial axis."""
    a, m = 7.0, -4.0

    def beside(share: float) -> Raw:
        return axial("beside", 0.4 * share, offset_mm=[a, m])

    def on_axis(share: float) -> Raw:
        P = 0.4 * share
        return wrench("on axis", (0.0, 0.0, -P), (-m * P / 1000.0, a * P / 1000.0, 0.0))

    for raw, bound in ((SYMMETRIC, 1e-6), (BASE, TILTED)):
        both = (movement_per_load(raw, load) for load in (beside, on_axis))
        assert vector_difference(*both) < bound


def test_named_stiffnesses_are_of_the_matrix() -> None:
    """1 / C_ii; N·mm/rad → N·m/deg by π/180/1000.  Sagittal bending turns about the medial axis."""
    result = answers(cases.with_loads(cases.demo(), axial("a", 300.0)))
    K = 1.0 / np.diag(np.linalg.inv(result.matrix))
    degree = np.pi / 180.0 / 1000.0
    expected = {
        "axial_N_per_mm": K[2],
        "shear_ap_N_per_mm": K[0],
        "shear_ml_N_per_mm": K[1],
        "bending_ap_Nm_per_deg": K[4] * degree,
        "bending_ml_Nm_per_deg": K[3] * degree,
        "torsion_Nm_per_deg": K[5] * degree,
    }
    assert dict(result.stiffness) == pytest.approx(expected, rel=1e-9)
    assert result.loads[0].tangent.keys() == expected.keys()


def test_sagittal_bending_turns_about_the_medial_axis() -> None:
    """A moment about the medial axis tilts the proximal fragment towards anterior at the top: on
    either leg, and by far the most about that axis."""
    for side in ("left", "right"):
        forward = wrench("forward", (0.0, 0.0, 0.0), (0.0, 0.05, 0.0))
        result = answers(stiff_bone(cases.with_loads(cases.symmetric(side=side), forward)))
        tilt = result.loads[0].gap_movement
        assert tilt["about_medial_deg"] > 0.0
        assert abs(tilt["about_anterior_deg"]) < 1e-6 * tilt["about_medial_deg"]
        expected = 0.05 / result.stiffness["bending_ap_Nm_per_deg"]
        assert tilt["about_medial_deg"] == pytest.approx(expected, rel=2e-3)


def test_secant_tends_to_the_tangent() -> None:
    def apart(newton: float, E_MPa: float) -> float:
        raw = stiff_bone(cases.with_loads(SYMMETRIC, axial("a", newton)), E_MPa)
        result = answers(raw)
        secant = result.loads[0].secant["axial_N_per_mm"]
        return secant / result.stiffness["axial_N_per_mm"] - 1.0

    bone = apart(0.05, 1e6)
    assert 0.0 < bone < 1e-4  # what the bone between wires and faces gives
    assert bone == pytest.approx(apart(0.05, 1e5) / 10.0, rel=0.02)
    # the rest grows with the square of the load: a symmetric wire does not know up from down
    stiffening = [apart(P, 1e6) - bone for P in (20.0, 40.0)]
    assert stiffening[1] / stiffening[0] == pytest.approx(4.0, rel=0.1)


@pytest.mark.parametrize("P", [50.0, 300.0, 700.0])
def test_secant_is_load_over_movement(P: float) -> None:
    load = answers(cases.with_loads(cases.demo(), axial("a", P))).loads[0]
    assert load.secant["axial_N_per_mm"] * load.closing_mm == pytest.approx(P, rel=1e-12)
    assert load.closing_mm == -load.gap_movement["axial_mm"]
    assert load.axial_N == P
    assert list(load.secant) == ["axial_N_per_mm"]  # no sideways force, no moment: no such secant


@pytest.mark.parametrize("P", [40.0, 300.0, 900.0])
def test_tangent_under_load_against_neighbouring_loads(P: float) -> None:
    h = 0.5
    around = [P - h, P - h / 2.0, P + h / 2.0, P + h]
    loads = [axial("at", P), *(axial(f"near {p}", p) for p in around)]
    result = answers(stiff_bone(cases.with_loads(SYMMETRIC, *loads)))
    at, *near = result.loads
    a, b, c, d = (r.closing_mm for r in near)
    per_newton = (8.0 * (c - b) - (d - a)) / (6.0 * h)
    # 1e-4: the bone between wires and faces, as for the secant
    assert at.tangent["axial_N_per_mm"] == pytest.approx(1.0 / per_newton, rel=1e-4)


def test_symmetric_frame_moves_along_its_axis_only() -> None:
    result = answers(cases.with_loads(SYMMETRIC, axial("a", 500.0)))
    move = movement(result.loads[0])
    assert np.abs(np.delete(move, 2)).max() < 1e-9 * abs(move[2])
    assert result.loads[0].shear_mm < 1e-9


def _moved_gap(raw: Raw, shift: float) -> Array:
    """Matrix with the fracture ``shift`` mm further up the same construct."""

    def move(new: Raw) -> None:
        for ring in new["ring"]:
            ring["level_mm"] -= shift
        new["bone"]["proximal_end_mm"] -= shift
        new["bone"]["distal_end_mm"] -= shift

    return answers(cases.edited(raw, move)).matrix


@pytest.mark.parametrize(
    ("raw", "bound"), [(cases.symmetric(gap=1e-2), 1e-6), (cases.small(gap=1e-2), 1e-3)]
)
def test_matrix_about_another_place_of_the_gap(raw: Raw, bound: float) -> None:
    """The same construct, cut 20 mm further up: movement there is u + θ × r, so K' = Tᵀ K T.

    The bone between the wires gives the same in both, but for a gap's width of it.
    """
    r = 20.0
    T = np.eye(6)  # motion at the new place → at the old one: u - θ × r
    T[0, 4], T[1, 3] = -r, r
    K = _moved_gap(raw, 0.0)
    assert matrix_difference(T.T @ K @ T, _moved_gap(raw, r)) < bound
    assert matrix_difference(K, _moved_gap(raw, r)) > 0.1  # or nothing was tested


@pytest.mark.parametrize("raw", [cases.demo(), SYMMETRIC, BASE], ids=["demo", "symmetric", "small"])
def test_matrix_is_symmetric_and_positive(raw: Raw) -> None:
    K = answers(cases.with_loads(raw)).matrix
    assert np.array_equal(K, K.T)
    d = 1.0 / np.sqrt(np.diag(K))
    assert np.linalg.eigvalsh(K * np.outer(d, d)).min() > 0.01


def _checks(result: Result) -> tuple[float, float]:
    return (
        max(load.equilibrium_error for load in result.loads),
        max(load.energy_error for load in result.loads),
    )


@pytest.mark.parametrize("raw", [cases.demo(), SYMMETRIC, BASE], ids=["demo", "symmetric", "small"])
def test_equilibrium_and_energy_of_every_load(raw: Raw) -> None:
    loads = (
        axial("a", 50.0),
        axial("b", 900.0, offset_mm=[6.0, 2.0]),
        wrench("c", (5, 9, -60), (1, -0.5, 1)),
    )
    balance, energy = _checks(answers(cases.with_loads(raw, *loads)))
    assert balance < 1e-8
    assert energy < 1e-5  # Gauss' rule with five points on the whole way; no wire goes slack here


def test_all_moduli_tensions_and_loads_doubled() -> None:
    """Dimensional analysis: only ratios to E count, so movements stay and forces double."""
    raw = cases.own_constants(
        cases.with_loads(BASE, axial("a", 80.0), wrench("b", (4, 6, -50), (0.3, 0.2, 0.5)))
    )
    raw = cases.every(raw, "wire", tension_N=900.0, tension_kgf=None)

    def double(new: Raw) -> None:
        for part in (new["bone"], *new["ring"], *new["rod"], *new["wire"]):
            part["E_MPa"] *= 2.0
        for w in new["wire"]:
            w["tension_N"] *= 2.0
            w["yield_MPa"] = 1800.0
            w["density_kg_per_m3"] = 15_800.0  # twice the default: tones stay
        new["load"][0]["axial_N"] *= 2.0
        for key in ("force_N", "moment_Nm"):
            new["load"][1][key] = [2.0 * v for v in new["load"][1][key]]

    one, two = answers(raw), answers(cases.edited(raw, double))
    assert matrix_difference(2.0 * one.matrix, two.matrix) < 1e-9
    np.testing.assert_allclose(values(two.stiffness), 2.0 * values(one.stiffness), rtol=1e-9)
    for a, b in zip(one.loads, two.loads, strict=True):
        assert vector_difference(movement(a), movement(b)) < 1e-9
        for v, w in zip(a.wires, b.wires, strict=True):
            assert w.tension_N == pytest.approx(2.0 * v.tension_N, rel=1e-9)
            assert w.peak_stress_MPa == pytest.approx(2.0 * v.peak_stress_MPa, rel=1e-9)
    for v, w in zip(one.wires, two.wires, strict=True):
        assert w.tone_Hz == pytest.approx(v.tone_Hz, rel=1e-9)
    kinds = [[w.kind for w in r.warnings if w.kind != "tension range"] for r in (one, two)]
    assert kinds[0] == kinds[1]


LENGTHS = {
    "bone": ("proximal_end_mm", "distal_end_mm", "outer_mm", "inner_mm", "gap_mm"),
    "ring": ("level_mm", "inner_diameter_mm", "width_mm", "thickness_mm"),
    "rod": ("diameter_mm",),
    "wire": ("diameter_mm",),
}


def test_all_lengths_doubled() -> None:
    """With forces four times and moments eight times as large stresses and turns stay, movements
    double, tones halve, N/mm double and N·m/deg are eight times as large."""
    raw = cases.with_loads(BASE, axial("a", 80.0), wrench("b", (4, 6, -50), (0.3, 0.2, 0.5)))
    raw = cases.every(raw, "wire", tension_N=900.0, tension_kgf=None)

    def grow(new: Raw) -> None:
        for kind, keys in LENGTHS.items():
            for part in new[kind] if kind != "bone" else [new[kind]]:
                for key in keys:
                    part[key] *= 2.0
        new["ring"][0]["centre_mm"] = [2.0 * v for v in new["ring"][0]["centre_mm"]]
        for w in new["wire"]:
            w["tension_N"] *= 4.0
        new["load"][0]["axial_N"] *= 4.0
        new["load"][1]["force_N"] = [4.0 * v for v in new["load"][1]["force_N"]]
        new["load"][1]["moment_Nm"] = [8.0 * v for v in new["load"][1]["moment_Nm"]]

    one, two = answers(raw), answers(cases.edited(raw, grow))
    np.testing.assert_allclose(
        values(two.stiffness), values(one.stiffness) * [2, 2, 2, 8, 8, 8], rtol=1e-9
    )
    for a, b in zip(one.loads, two.loads, strict=True):
        scaled = movement(a) * [2, 2, 2, 1, 1, 1]
        assert vector_difference(scaled, movement(b)) < 1e-9
        for v, w in zip(a.wires, b.wires, strict=True):
            assert w.tension_N == pytest.approx(4.0 * v.tension_N, rel=1e-9)
            assert w.peak_stress_MPa == pytest.approx(v.peak_stress_MPa, rel=1e-9)
    for v, w in zip(one.wires, two.wires, strict=True):
        assert 2.0 * np.array(w.tone_Hz) == pytest.approx(v.tone_Hz, rel=1e-9)


def test_a_load_of_nothing_moves_nothing() -> None:
    result = answers(cases.with_loads(cases.demo(), axial("none", 0.0), wrench("none either")))
    for load in result.loads:
        assert np.abs(movement(load)).max() < 1e-4  # mm; what the held end bore at pretension
        assert load.secant == {}
        assert [w.tension_N for w in load.wires] == pytest.approx(
            [w.tension_N for w in result.wires], rel=1e-6
        )
        assert load.tangent == pytest.approx(dict(result.stiffness), rel=TILTED)


def test_final_tensions_are_those_asked_for() -> None:
    raw = cases.demo()
    for i, w in enumerate(raw["wire"]):
        del w["tension_kgf"]
        w["tension_N"] = 600.0 + 80.0 * i
    result = answers(cases.with_loads(raw))
    assert [w.tension_N for w in result.wires] == pytest.approx(
        [w["tension_N"] for w in raw["wire"]], rel=1e-9
    )


def test_a_kilogram_force() -> None:
    """1 kgf = 9.80665 N, standard gravity."""
    by_kgf = cases.every(cases.small(), "wire", tension_kgf=100.0)
    by_N = cases.every(cases.small(), "wire", tension_kgf=None, tension_N=980.665)
    assert_same(answers(by_kgf), answers(by_N), tolerance=1e-12)


def test_body_weight_is_mass_times_gravity() -> None:
    raw = cases.small(
        loads=[{"name": "share", "body_weight": 0.1}, axial("newton", 0.1 * 75 * 9.80665)]
    )
    share, newton = answers(raw).loads
    assert share.axial_N == pytest.approx(newton.axial_N, rel=1e-12)
    assert vector_difference(movement(share), movement(newton)) < 1e-12


def test_the_short_leg_has_the_high_tone() -> None:
    """Ring centre 20 mm behind the bone: a wire from front to back has its short leg in front."""
    raw = cases.frame(bearings=((10.0, 80.0),), rings={"centre_mm": [-20.0, 0.0]})
    result = answers(raw)
    for w in result.wires[::2]:
        assert w.tone_Hz[0] > 1.5 * w.tone_Hz[1]  # it starts in front
    for w in answers(cases.swapped_ends(raw)).wires[::2]:
        assert w.tone_Hz[1] > 1.5 * w.tone_Hz[0]
