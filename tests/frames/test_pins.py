"""Half-pins and posts against cantilevers in closed form.

A cantilever of length L: δ = F L³/3EI + F L/GA_s (Timoshenko); on an end that shifts by F/k and
turns by F L/c, each adds its own part.
"""

from math import pi

import numpy as np
import pytest
from numpy.typing import NDArray

import frames.discretise_pins as pins
from fem import ModelBuilder, make_system, solid_circle, solve
from fem.law import Law
from frames import case_from_dict
from frames.construct import construct
from frames.discretise_pins import add_pin, add_post, cortex_hold
from frames.hold_places import PinPlace
from tests.frames import cases
from tests.frames.at_rest import at_rest, parts_of, stiffness
from tests.frames.cases import Raw, edited

Array = NDArray[np.float64]
E, NU, E_BONE = 193_000.0, 0.3, 17_000.0


def pin(name: str, on: str, bearing: float, height: float, **other: float) -> Raw:
    """A pin of 6 mm."""
    place = {"bearing_deg": bearing, "height_mm": height, "diameter_mm": 6.0}
    return {"name": name, "ring": on, **place, **other}


def _place(**other: float) -> PinPlace:
    raw = cases.small()
    raw["pin"] = [pin("P1", "R1", 20.0, 12.0, **other)]
    return construct(case_from_dict(raw)).pins[0]


def _deflection(place: PinPlace, force: Array) -> Array:
    """(6,) of the clamp under a force and moment there, the bone held."""
    case = case_from_dict(cases.small())
    build = ModelBuilder()
    build.node("bone", (0.0, 0.0, place.level))
    build.fix("bone")
    build.node(place.names[0], place.stations[0])
    add_pin(build, place, case.bone, "bone")
    system = make_system(build.build(), keep=[place.names[0]])
    load = np.zeros((1, system.size))
    load[0, system.dofs(place.names[0])] = force
    found = solve(system, load, Law(natural=np.zeros(0)), np.zeros_like(load), ["pin"])
    return np.asarray(found.u[0, system.dofs(place.names[0])])


def test_where_a_pin_runs() -> None:
    """Clamp on the hole circle, then the middle of each wall: radius (26 + 14) / 4."""
    place = _place(offset_mm=4.0)
    radii = np.linalg.norm(place.stations[:, :2], axis=1)
    np.testing.assert_allclose(radii, [87.0, 10.0, 10.0])
    np.testing.assert_allclose(place.stations[:, 2], 72.0)
    b = np.radians(20.0)
    along, aside = np.array([np.cos(b), np.sin(b), 0.0]), np.array([-np.sin(b), np.cos(b), 0.0])
    np.testing.assert_allclose(place.stations @ aside, 4.0)
    assert (np.diff(place.stations @ along) < 0.0).all()
    assert len(_place(cortices=1).stations) == 2


def test_a_pin_in_one_cortex_is_a_cantilever_on_a_foundation() -> None:
    """Sideways, along and about itself; t = 6 mm of wall, d = 6 mm, L = 87 - 10 mm."""
    place = _place(cortices=1)
    t, d, L = 6.0, 6.0, 77.0
    I_z, A = pi * d**4 / 64.0, pi * d**2 / 4.0
    G = E / 2.0 / (1.0 + NU)
    A_s = solid_circle(d, NU).shear_area_y
    k, c, twist = E_BONE * t, E_BONE * t**3 / 12.0, E_BONE * t * (d / 2.0) ** 2
    F = 100.0
    aside = np.array([0.0, 0.0, 1.0])
    across = F / k + F * L**2 / c + F * L**3 / (3.0 * E * I_z) + F * L / (G * A_s)
    moved = _deflection(place, np.array([*(F * aside), 0.0, 0.0, 0.0]))
    assert moved[2] == pytest.approx(across, rel=1e-9)
    along = -place.direction
    moved = _deflection(place, np.array([*(F * along), 0.0, 0.0, 0.0]))
    assert moved[:3] @ along == pytest.approx(F / k + F * L / (E * A), rel=1e-9)
    moved = _deflection(place, np.array([0.0, 0.0, 0.0, *(F * along)]))
    assert moved[3:] @ along == pytest.approx(F / twist + F * L / (G * 2.0 * I_z), rel=1e-9)


def test_a_pin_in_two_cortices() -> None:
    """Force F at the clamp, L outside and a between the walls: the walls take F (1 + L/a) and
    -F L/a when they do not turn it (rigid pin on two springs k):
    δ = F/k [(1 + L/a)² + (L/a)²], plus bending; walls that turn it make it stiffer."""
    place = _place()
    L, a, k = 77.0, 20.0, E_BONE * 6.0
    I_z, F = pi * 6.0**4 / 64.0, 100.0
    G, A_s = E / 2.0 / (1.0 + NU), solid_circle(6.0, NU).shear_area_y
    rigid = F / k * ((1.0 + L / a) ** 2 + (L / a) ** 2)
    bent = F * L**2 * (L + a) / (3.0 * E * I_z) + F * L / (G * A_s) + F * L**2 / a / (G * A_s)
    moved = _deflection(place, np.array([0.0, 0.0, F, 0.0, 0.0, 0.0]))[2]
    built_in = F * L**3 / (3.0 * E * I_z) + F * L / (G * A_s) + F / k
    assert built_in < moved < rigid + bent
    assert _deflection(_place(cortices=1), np.array([0.0, 0.0, F, 0, 0, 0]))[2] > moved


def test_the_hold_is_one_of_the_pin_not_of_the_axes() -> None:
    """Turned with the pin, and the same about every direction across it."""
    bone = case_from_dict(cases.small()).bone
    along = np.array([1.0, 2.0, -0.5]) / np.linalg.norm([1.0, 2.0, -0.5])
    K = cortex_hold(bone, 5.0, along)
    np.testing.assert_allclose(K, K.T)
    assert along @ K[3:, 3:] @ along == pytest.approx(E_BONE * 6.0 * 2.5**2)
    aside = np.cross(along, [0.0, 0.0, 1.0])
    aside /= np.linalg.norm(aside)
    assert aside @ K[3:, 3:] @ aside == pytest.approx(E_BONE * 6.0**3 / 12.0)


@pytest.mark.parametrize(("inner", "wall"), [(14.0, 6.0), (13.0, 6.5), (4.0, 6.5), (0.0, 6.5)])
def test_wall_of_a_solid_bone(inner: float, wall: float) -> None:
    """At most a quarter of the outer diameter, and no jump on the way to a solid bone."""
    raw = cases.small()
    raw["bone"]["inner_mm"] = inner
    raw["pin"] = [pin("P1", "R1", 20.0, 12.0)]
    place = construct(case_from_dict(raw)).pins[0]
    assert np.linalg.norm(place.stations[1, :2]) == pytest.approx(13.0 - wall / 2.0)


def test_a_post_is_a_cantilever() -> None:
    raw = cases.small()
    raw["wire"][0] = cases.wire("W1", "R1", 50.0, "", height_mm=24.0, post_diameter_mm=9.0)
    post = construct(case_from_dict(raw)).wires[0].posts[0]
    build = ModelBuilder()
    build.node("ring", post.points[0] - [2.0, 1.0, 0.0])
    build.fix("ring")
    add_post(build, post, "ring")
    system = make_system(build.build(), keep=[post.clamp])
    load = np.zeros((1, system.size))
    load[0, system.dofs(post.clamp)[:3]] = [1000.0, 0.0, 0.0]
    found = solve(system, load, Law(natural=np.zeros(0)), np.zeros_like(load), ["post"])
    G, A_s = E / 2.0 / (1.0 + NU), solid_circle(9.0, NU).shear_area_y
    I_z = pi * 9.0**4 / 64.0
    expected = 1000.0 * (24.0**3 / (3.0 * E * I_z) + 24.0 / (G * A_s))
    assert found.u[0, system.dofs(post.clamp)[0]] == pytest.approx(expected, rel=1e-9)


def test_a_wire_on_posts_pulls_them_over() -> None:
    """Clamps come nearer by what ring and posts give; with thick posts only the ring."""

    def nearer(**post: float) -> float:
        raw = cases.small()
        raw["wire"][0] = cases.wire("W1", "R1", 50.0, "", height_mm=24.0, **post)
        found = at_rest(raw)
        clamps = [f"W1 {end} clamp" for end in ("start", "end")]
        ends = [found.place(c) for c in clamps]
        built = [found.parts.model.points[found.parts.model.node(c)] for c in clamps]
        return float(np.linalg.norm(built[0] - built[1]) - np.linalg.norm(ends[0] - ends[1]))

    T = 110.0 * cases.KGF
    I_z = pi * 9.0**4 / 64.0
    both = 2.0 * T * 24.0**3 / (3.0 * E * I_z)
    rigid, stiff, soft = nearer(), nearer(post_diameter_mm=40.0), nearer(post_diameter_mm=9.0)
    assert stiff == pytest.approx(rigid, rel=0.02)
    assert soft - rigid == pytest.approx(both, rel=0.05)


def _on_pins(**other: float) -> Raw:
    """The proximal fragment on two pins, the distal one on wires."""
    raw = cases.small()
    raw["wire"] = raw["wire"][2:]
    raw["pin"] = [
        pin(f"P{i}", "R1", b, 12.0 * i - 18.0, **other) for i, b in ((1, 20.0), (2, 95.0))
    ]
    return raw


def test_a_frame_on_pins_alone() -> None:
    raw = edited(_on_pins(), lambda new: new.pop("wire"))
    raw["pin"] += [pin(f"Q{i}", "R2", b, 12.0 * i - 18.0) for i, b in ((1, 20.0), (2, 95.0))]
    found = at_rest(raw)
    assert found.parts.pin_names == ("P1", "P2", "Q1", "Q2")
    assert min(found.stiffness.values()) > 0.0


def test_thicker_longer_held_pins_are_stiffer() -> None:
    base = stiffness(_on_pins())
    for change, sign in (
        ({"diameter_mm": 5.0}, -1.0),
        ({"cortices": 1}, -1.0),
        ({"post_diameter_mm": 10.0}, -1.0),
        ({"diameter_mm": 7.0}, 1.0),
    ):
        other = stiffness(_on_pins(**change))
        assert all(sign * (other[name] - base[name]) > 0.0 for name in base), change


@pytest.mark.parametrize("factor", [0.5, 2.0])
@pytest.mark.parametrize(("cortices", "most"), [(2, 0.007), (1, 0.09)])
def test_what_the_foundation_modulus_decides(
    monkeypatch: pytest.MonkeyPatch, factor: float, cortices: int, most: float
) -> None:
    """Its order of magnitude is known, not its value: half or twice as much matters little."""
    base = stiffness(_on_pins(cortices=cortices))
    own = pins.cortex_hold
    monkeypatch.setattr(pins, "cortex_hold", lambda *of: factor * own(*of))
    other = stiffness(_on_pins(cortices=cortices))
    assert all(0.0 < abs(other[name] / base[name] - 1.0) < most for name in base)


def test_forces_and_stress_of_opposite_pins() -> None:
    """Two pins of each fragment opposite each other at one level, the load P along the bone: by
    symmetry each carries P/2 across itself, and the bone does not turn. Held rigidly at both ends
    a pin bends to P/2 · L/2 at its clamp; walls and ring that give move that by some. Stress by
    statics: M falls by P/2 a millimetre from the clamp inwards, and peaks at one of the two ends.
    """
    raw = cases.frame(levels=(60.0, -60.0), rods=(0.0, 90.0, 180.0, 270.0))
    raw["wire"] = []
    raw["pin"] = [pin(f"{on}{b}", on, b, 0.0) for on in ("R1", "R2") for b in (45.0, 225.0)]
    raw["load"] = [cases.axial("P", 100.0)]
    found = cases.answers(raw).load("P")
    L, W, A = 77.0, pi * 6.0**3 / 32.0, pi * 6.0**2 / 4.0
    assert len(found.pins) == 4
    for p in found.pins:
        assert p.shear_N == pytest.approx(50.0, rel=1e-3)
        clamp = p.clamp_moment_Nm * 1000.0
        assert clamp == pytest.approx(50.0 * L / 2.0, rel=0.1)
        assert clamp != pytest.approx(50.0 * L / 2.0, rel=1e-3)
        peak = max(clamp, p.shear_N * L - clamp)
        assert p.peak_stress_MPa == pytest.approx(abs(p.axial_N) / A + peak / W, rel=0.02)


def test_names_of_members() -> None:
    parts = parts_of(_on_pins(post_diameter_mm=10.0))
    assert parts.members["pin", "P1"] == ("pin P1, clamp to bone", "pin P1, in the bone")
    assert parts.members["post", "P1 pin clamp"] == ("post of P1 pin clamp",)
    assert set(parts.model.members.names) == {n for own in parts.members.values() for n in own}
