"""Tap tones of the legs: closed forms, and the whole wire on a fine mesh of beam elements."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest

from fem import FemError
from fem.tone import end_turning_stiffness, span_frequency
from frames import case_from_dict
from frames.construct import Construct, construct
from frames.tones import leg_tones, legs_of
from tests.frames import cases
from tests.frames.wire_mesh import wire_tones


def place_of(
    centre: float = 0.0, bone: float = 26.0, hold: str = "pivot", share: float | None = None
) -> Construct:
    """Two rings, four wires; rings and bone set, and the wires' ``free_share``."""
    raw = cases.small(wires={} if share is None else {"free_share": share})
    raw["model"] = {"bone_hold": hold}
    raw["bone"].update(outer_mm=bone, inner_mm=8.0)
    for ring in raw["ring"]:
        ring["centre_mm"] = [centre, 0.0]
    return construct(case_from_dict(raw))


def numbers(place: Construct) -> tuple[np.ndarray, float, float]:
    """Spans of the first wire, its EI and mass."""
    wire = place.wires[0]
    d, E = wire.wire.diameter_mm, wire.wire.elastic[0]
    spans = np.linalg.norm(np.diff(wire.stations, axis=0), axis=1)
    return spans, E * pi * d**4 / 64, 1e-12 * wire.wire.density_kg_per_m3 * pi * d**2 / 4


def alike(place: Construct, tension: float) -> np.ndarray:
    return np.full(len(place.wires), tension)


def tones(centre: float, tension: float, bone: float = 26.0) -> tuple[np.ndarray, np.ndarray]:
    """Tones of the two legs of one wire by the product and by the mesh, Hz, ascending."""
    place = place_of(centre, bone)
    ours = leg_tones(place, alike(place, tension))[0]
    spans, EI, mass = numbers(place)
    return np.sort(ours), wire_tones(spans, [tension] * 3, EI, [mass] * 3)[:2]


@pytest.mark.parametrize("tension", [490.0, 1078.7, 1275.0])
def test_unequal_legs_keep_their_tones(tension: float) -> None:
    ours, mesh = tones(-25.0, tension)
    assert ours[1] > 1.15 * ours[0]
    assert ours == pytest.approx(mesh, rel=1e-2)


@pytest.mark.parametrize(("tension", "apart"), [(50.0, 0.05), (490.0, 0.03), (1275.0, 0.03)])
def test_equal_legs_share_two_tones_on_either_side(tension: float, apart: float) -> None:
    ours, mesh = tones(0.0, tension)
    assert ours[0] == pytest.approx(ours[1], rel=1e-9)
    assert ours.mean() == pytest.approx(mesh.mean(), rel=5e-3)
    assert (1 - apart) * ours[0] < mesh[0] < ours[0] < mesh[1] < (1 + apart) * ours[0]


@pytest.mark.parametrize("tension", [50.0, 490.0, 1275.0])
def test_springs_of_equal_legs_that_ring_together(tension: float) -> None:
    """Both tones of the pair, the span in the bone at rest: the mesh with no mass there."""
    place = place_of()
    legs = legs_of(place, place.wires[:1])
    T = np.full((1, 2), tension)
    pair = [span_frequency(legs.free, T, legs.EI, legs.mass, k)[0, 0] for k in legs.together(T)]
    spans, EI, mass = numbers(place)
    mesh = wire_tones(spans, [tension] * 3, EI, [mass, 0.0, mass])[:2]
    assert pair == pytest.approx(mesh, rel=1e-5)  # 8e-6 of the mesh: fourth order, 40 pieces


def test_alone_the_leg_turns_against_the_rest_of_the_wire() -> None:
    """k = s_b - c_b² / (s_b + s_o): to the last digit, whatever else the formula can do."""
    for centre in (0.0, -25.0):
        place = place_of(centre)
        legs, T = legs_of(place, place.wires), np.full((4, 1), 900.0)
        s_b, c_b = end_turning_stiffness(legs.bone, T, legs.EI)
        s_o, _ = end_turning_stiffness(legs.other_free, T, legs.EI)
        k = s_b - c_b**2 / (s_b + s_o)
        want = span_frequency(legs.free, T, legs.EI, legs.mass, k)
        np.testing.assert_array_equal(leg_tones(place, T[:, 0]), want)
        np.testing.assert_array_equal(leg_tones(place, np.repeat(T, 2, axis=1)), want)
        np.testing.assert_array_equal(leg_tones(place, T[:, 0], free_share=1.0), want)


def test_table_of_the_clamped_beam_between_ring_and_bone() -> None:
    """1.8 mm wire, 75 mm from clamp to bone, built in: exact frequencies of the clamped beam under
    tension, computed from its frequency equation."""
    raw = cases.small()
    raw["model"] = {"bone_hold": "built in"}
    raw["bone"]["outer_mm"] = 24.0  # holes on 174 mm
    place = construct(case_from_dict(raw))
    assert place.wires[0].legs == pytest.approx((75.0, 75.0), rel=1e-12)
    for kgf, hertz in ((50, 1820.0), (90, 2087.0), (110, 2207.0), (130, 2320.0)):
        assert leg_tones(place, alike(place, kgf * cases.KGF)) == pytest.approx(hertz, rel=3e-4)


def rest_still(place: Construct, share: float, T: np.ndarray, hold: str) -> list[float]:
    """Tones of start and end leg by the mesh; T (3,): start leg, bone, end leg."""
    spans, EI, mass = numbers(place)
    found = []
    for way in (1, -1):
        own, bone, other = spans[::way]
        t, t_bone, t_other = T[::way]
        parts = [share * own, (1 - share) * own, bone, (1 - share) * other, share * other]
        found.append(
            wire_tones(
                parts,
                [t, t, t_bone, t_other, t_other],
                EI,
                [mass, 0, 0, 0, 0],
                built_in=(1, 2) if hold == "built in" else (),
            )[0]
        )
    return found


@pytest.mark.parametrize("hold", ["pivot", "built in"])
@pytest.mark.parametrize("share", [0.95, 0.7, 0.3])
@pytest.mark.parametrize("T", [(1078.7, 1078.7), (1200.0, 500.0), (0.0, 300.0)])
def test_soft_tissue_holds_part_of_the_leg(hold: str, share: float, T: tuple[float, float]) -> None:
    place = place_of(-25.0, hold=hold, share=share)
    ours = leg_tones(place, np.tile(T, (4, 1)))[0]
    mesh = rest_still(place, share, np.array([T[0], (T[0] + T[1]) / 2, T[1]]), hold)
    assert ours == pytest.approx(mesh, rel=1e-5)  # 8e-6 of the mesh


@pytest.mark.parametrize("centre", [0.0, -25.0])
@pytest.mark.parametrize("share", [0.9, 0.7])
@pytest.mark.parametrize("tension", [490.0, 1275.0])
def test_a_short_remainder_need_not_be_still(centre: float, share: float, tension: float) -> None:
    """All of the wire free to move between its five holds: within 1 %, equal legs 0.6 % apart."""
    place = place_of(centre, share=share)
    spans, EI, mass = numbers(place)
    a, b, c = spans
    parts = [share * a, (1 - share) * a, b, (1 - share) * c, share * c]
    mesh = wire_tones(parts, [tension] * 5, EI, [mass] * 5)[:2]
    ours = np.sort(leg_tones(place, alike(place, tension))[0])
    assert ours == pytest.approx(mesh, rel=1e-2)
    if centre == 0.0:
        assert mesh[1] < 1.006 * mesh[0]


def test_tension_in_the_bone_may_be_given() -> None:
    place = place_of(-25.0)
    T, in_bone = (1200.0, 500.0), 1200.0
    ours = leg_tones(place, np.tile(T, (4, 1)), in_bone=alike(place, in_bone))[0]
    spans, EI, mass = numbers(place)
    mesh = [
        wire_tones(spans, [1200.0, in_bone, 500.0], EI, [mass, 0, 0])[0],
        wire_tones(spans, [1200.0, in_bone, 500.0], EI, [0, 0, mass])[0],
    ]
    assert ours == pytest.approx(mesh, rel=1e-5)
    assert (ours != leg_tones(place, np.tile(T, (4, 1)))[0]).all()


def test_share_of_the_wire_and_share_given_are_one() -> None:
    asked = leg_tones(place_of(share=0.6), np.full(4, 900.0))
    given = leg_tones(place_of(), np.full(4, 900.0), free_share=0.6)
    each = leg_tones(place_of(), np.full(4, 900.0), free_share=[0.6, 1.0, 0.6, 1.0])
    np.testing.assert_array_equal(asked, given)
    np.testing.assert_array_equal(each[::2], given[::2])
    np.testing.assert_array_equal(each[1::2], leg_tones(place_of(), np.full(4, 900.0))[1::2])


def test_a_built_in_wire_does_not_see_the_other_side() -> None:
    place = place_of(-25.0, hold="built in")
    one = leg_tones(place, np.tile((900.0, 0.0), (4, 1)))
    other = leg_tones(place, np.tile((900.0, 1275.0), (4, 1)))
    np.testing.assert_array_equal(one[:, 0], other[:, 0])


@pytest.mark.parametrize("bone", [14.0, 26.0, 40.0])
@pytest.mark.parametrize("tension", [500.0, 1275.0])
def test_hardly_any_tissue_holds_the_slope_like_bone(bone: float, tension: float) -> None:
    near_one, pivot, built_in = (
        leg_tones(place_of(bone=bone, hold=hold), np.full(4, tension), free_share=share)[0, 0]
        for hold, share in (("pivot", 1 - 1e-9), ("pivot", 1.0), ("built in", 1.0))
    )
    assert near_one == pytest.approx(built_in, rel=1e-6)
    assert 1.04 < near_one / pivot < 1.13


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"tension": [1.0, 2.0]}, r"shape \(4,\) or \(4, 2\) for 4 wires \(got \(2,\)\)"),
        ({"tension": [1.0, 2.0, -3.0, 4.0]}, r"Wire W3: tension must .* at least 0 N \(got -3.0\)"),
        ({"tension": [1.0, np.nan, 3.0, 4.0]}, "Wire W2: tension must be a number"),
        ({"in_bone": [1.0, 2.0, 3.0, -4.0]}, "Wire W4: tension in the bone"),
        ({"in_bone": np.ones((4, 2))}, r"tension in the bone: needs shape \(4,\) for"),
        ({"free_share": 0.05}, r"Wire W1: free_share must be 0.1 to 1 \(got 0.05\)"),
        ({"free_share": [1, 1, 1.2, 1]}, r"Wire W3: free_share must be 0.1 to 1 \(got 1.2\)"),
    ],
)
def test_wrong_numbers_are_told(change: dict, words: str) -> None:
    with pytest.raises(FemError, match=words):
        leg_tones(place_of(), **{"tension": np.full(4, 900.0), **change})


def test_no_wires_no_tones() -> None:
    """A case may hold the bone with half-pins alone."""
    place = replace(place_of(), wires=())
    assert leg_tones(place, np.zeros(0)).shape == (0, 2)
    assert leg_tones(place, np.zeros((0, 2)), in_bone=np.zeros(0)).shape == (0, 2)
