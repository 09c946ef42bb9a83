"""Distances of the fit in space against brute force: fine samples of skin and rings."""

import math
from typing import Any

import numpy as np
import pytest

from fem.algebra import Array
from frames import case_from_dict, fit
from frames.casefile.limb import Limb
from frames.construct import construct
from frames.fitting.limb_room import inner_edge
from frames.fitting.segments import distance_to_ring, rings_nearest
from frames.fitting.skin import skin_gap, through_skin
from frames.limb_outline import Outline
from frames.ring_nodes import RingPlace
from tests.frames import cases
from tests.frames.cases import Raw, edited

CALF = (
    Limb(level_mm=-150, widths_mm=(25, 32, 30, 34)),
    Limb(level_mm=20, widths_mm=(28, 45, 62, 52)),
    Limb(level_mm=170, girth_mm=330, centre_mm=(-14.0, 3.0)),
)


def skin_points(outline: Outline, low: float, high: float) -> Array:
    """(k, 3) of the skin of a right leg, 1 degree by 0.5 mm."""
    level, bearing = np.meshgrid(np.arange(low, high, 0.5), np.arange(0.0, 360.0, 1.0))
    r, b = outline.radius(level, bearing), np.radians(bearing)
    return np.stack([r * np.cos(b), r * np.sin(b), level], axis=-1).reshape(-1, 3)


def place_of(change: Any, raw: Raw | None = None) -> tuple[RingPlace, float]:
    place = construct(case_from_dict(edited(raw or cases.frame(), change)))
    return place.ring("R1"), place.sign


def test_cone() -> None:
    """A round leg that tapers by the angle α: the distance is (ρ - r(z)) cos α, from outside and
    from inside."""
    cone = Outline(
        (Limb(level_mm=-100, widths_mm=(30,) * 4), Limb(level_mm=100, widths_mm=(70,) * 4))
    )
    at = np.array([[80.0, 0, 0], [0, -75.0, 20.0], [-40.0, 0, 0], [60.0, 60.0, 10.0]])
    slope = 40.0 / 200.0
    here = np.hypot(at[:, 0], at[:, 1]) - (50.0 + slope * at[:, 2])
    expected = here / math.hypot(1.0, slope)
    assert skin_gap(cone, at, 1.0).tolist() == pytest.approx(expected.tolist(), abs=1e-3)


def test_distance_to_a_calf_against_fine_samples() -> None:
    outline = Outline(CALF, swelling_mm=2.0, swelling_share=0.05)
    rng = np.random.default_rng(7)
    b, rho = rng.uniform(0.0, 2.0 * math.pi, 30), rng.uniform(72.0, 100.0, 30)
    at = np.column_stack([rho * np.cos(b), rho * np.sin(b), rng.uniform(-70.0, 110.0, 30)])
    skin = skin_points(outline, -149.0, 169.5)
    for point, gap in zip(at, skin_gap(outline, at, 1.0).tolist(), strict=True):
        assert gap == pytest.approx(float(np.linalg.norm(skin - point, axis=1).min()), abs=0.1)


def test_beyond_the_measured_levels_nothing_is_known() -> None:
    at = np.array([[80.0, 0, -151.0], [80.0, 0, 171.0], [80.0, 0, 0.0]])
    assert np.isnan(skin_gap(Outline(CALF), at, 1.0)).tolist() == [True, True, False]


@pytest.mark.parametrize("side", ["right", "left"])
def test_tilted_ring_out_of_the_middle_round_a_calf(side: str) -> None:
    """Against the ring's inner edge and the skin, both sampled finely."""
    limb: list[Raw] = [
        {"level_mm": 40, "widths_mm": [30, 42, 50, 47]},
        {"level_mm": 240, "widths_mm": [36, 50, 66, 52]},
    ]
    raw = edited(
        cases.frame(side=side) | {"limb": limb},
        lambda raw: raw["ring"][0].update(
            tilt_deg=14.0, tilt_bearing_deg=130.0, centre_mm=[-8.0, 4.0]
        ),
    )
    found = [r for r in fit(case_from_dict(raw)).rings if r.ring == "R1"]
    t, beta = math.radians(14.0), math.radians(130.0)
    up = np.array([-math.sin(t) * math.cos(beta), -math.sin(t) * math.sin(beta), math.cos(t)])
    first = np.cross(up, [0.0, 0.0, 1.0]) / math.sin(t)
    angle = np.radians(np.arange(0.0, 360.0, 1.0))[:, None]
    circle = np.cos(angle) * first + np.sin(angle) * np.cross(up, first)
    centre = np.array([-8.0, 4.0, 140.0])
    edge = np.concatenate([centre + 80.0 * circle + h * up for h in (-2.5, 0.0, 2.5)])
    skin = skin_points(Outline(tuple(Limb(**one) for one in limb)), 100.0, 190.0)
    gaps = np.array([np.linalg.norm(skin - p, axis=1).min() for p in edge[::3]])
    gap = min(r.now_mm for r in found if r.now_mm is not None)
    assert gap == pytest.approx(gaps.min(), abs=0.1)


def test_inner_edge_of_an_open_tilted_ring() -> None:
    """Every point lies on the ring's inner cylinder, within its thickness, on its body, and none in
    the opening."""

    def change(raw: Raw) -> None:
        raw["ring"][0].update(
            arc_deg=270.0, opening_bearing_deg=180.0, tilt_deg=12.0, tilt_bearing_deg=40.0
        )
        for wire, bearing in zip(raw["wire"][:2], (65.0, 115.0), strict=True):
            wire["bearing_deg"] = bearing
        for rod, bearing in zip(raw["rod"], (30.0, 110.0, 250.0, 330.0) * 3, strict=True):
            rod["bearing_deg"] = bearing

    ring, sign = place_of(change)
    edge = inner_edge(ring, sign)
    own = (edge - ring.centre) @ ring.axes.T
    np.testing.assert_allclose(np.hypot(own[:, 0], own[:, 1]), 80.0)
    assert set(np.round(own[:, 2], 9)) == {-2.5, 0.0, 2.5}
    np.testing.assert_allclose(distance_to_ring(ring, edge), 0.0, atol=1e-9)
    off = np.abs((np.degrees(np.arctan2(own[:, 1], own[:, 0])) + 360.0) % 360.0 - 180.0)
    assert off.min() == pytest.approx(45.0)


@pytest.mark.parametrize("arc", [360.0, 200.0])
def test_distance_to_a_ring_against_its_surface(arc: float) -> None:
    base, _ = place_of(lambda raw: None)
    ring = RingPlace(
        base.ring.model_copy(update={"arc_deg": arc}),
        base.centre,
        base.axes,
        base.radius,
        base.angles,
        base.node_of,
    )
    angle = math.pi + np.radians(np.linspace(-arc / 2.0, arc / 2.0, 721))
    r, h = np.meshgrid(np.linspace(80.0, 94.0, 15), np.linspace(-2.5, 2.5, 6))
    x, y = (np.multiply.outer(r.ravel(), f(angle)) for f in (np.cos, np.sin))
    body = np.stack([x, y, np.broadcast_to(h.reshape(-1, 1), x.shape)], axis=-1).reshape(-1, 3)
    at = np.random.default_rng(3).uniform(-110.0, 110.0, (40, 3)) * [1.0, 1.0, 0.3]
    found = distance_to_ring(ring, at + ring.centre)
    for point, gap in zip(at, found.tolist(), strict=True):
        assert gap == pytest.approx(float(np.linalg.norm(body - point, axis=1).min()), abs=0.7)


def test_two_rings() -> None:
    """Square ones 90 mm apart leave 85 mm. Tilted by τ about its middle, a ring reaches 94 sin τ +
    2.5 cos τ below it, there at 94 cos τ - 2.5 sin τ from the axis, over the other one's width."""
    place = construct(case_from_dict(cases.frame()))
    assert rings_nearest(place.ring("R1"), place.ring("R2"))[0] == pytest.approx(85.0)
    raw = edited(cases.frame(), lambda raw: raw["ring"][0].update(tilt_deg=25.0))
    tilted = construct(case_from_dict(raw))
    t = math.radians(25.0)
    assert 80.0 < 94.0 * math.cos(t) + 2.5 * math.sin(t) < 94.0
    expected = 90.0 - 2.5 - 94.0 * math.sin(t) - 2.5 * math.cos(t)
    found = rings_nearest(tilted.ring("R1"), tilted.ring("R2"))[0]
    assert found == pytest.approx(expected, abs=0.02)


def test_where_a_line_leaves_the_leg() -> None:
    """Beside the axis of a round leg: at x² + y² = R²; not at all when it ends within it, or where
    the leg was not measured."""
    leg = Outline((Limb(level_mm=-50, widths_mm=(50,) * 4), Limb(level_mm=50, widths_mm=(50,) * 4)))
    inner = np.array([[13.0, 6.0, 0.0], [13.0, 6.0, 0.0], [13.0, 6.0, 60.0]])
    outer = np.array([[90.0, 6.0, 7.7], [40.0, 6.0, 0.0], [90.0, 6.0, 60.0]])
    for sign in (1.0, -1.0):
        flip = np.array([1.0, sign, 1.0])
        bearing, level, met = through_skin(leg, inner * flip, outer * flip, sign)
        x = math.sqrt(50.0**2 - 6.0**2)
        assert met.tolist() == [True, False, False]
        assert bearing[0] == pytest.approx(math.degrees(math.atan2(6.0, x)), abs=1e-4)
        assert level[0] == pytest.approx(7.7 * (x - 13.0) / 77.0, abs=1e-4)
