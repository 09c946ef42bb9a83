"""Parts of a draft by hand: tilted rings, wounds, rods, wires; wrong values."""

import math
from typing import Any

import pytest

from frames import CaseError
from frames.casefile.limb import Limb, Room, Wound
from frames.demo import demo_text
from frames.drafting import measurements_from_dict
from frames.drafting.building import wire_kind
from frames.drafting.directions import bearings_for, crossing
from frames.drafting.levels import fragments, half_extent
from frames.drafting.ring_size import enclosing_circle, wanted_points
from frames.drafting.rods import free_bearings
from frames.drafting.slant import PlannedRing, skin_levels
from frames.drafting.tables import REPEATED, SINGLE
from frames.limb_outline import Outline
from tests.frames.measured import DEMO, changed, level_zero


def test_tilted_ring_keeps_off_a_wound_on_its_low_side() -> None:
    """At 100 mm from the bone axis and 10 degrees, the lateral side lies 100 tan 10 = 17.6 mm
    below the middle, the medial side as much above; a wound 100 mm below the knee is reached 90
    from the fracture at 190."""
    wound = {"name": "w", "from_below_knee_mm": 100, "to_below_knee_mm": 101}
    lift = 100.0 * math.tan(math.radians(10.0))
    for bearings, least, most in (
        ((89, 91), lift, lift),
        ((269, 271), -lift, -lift),
        ((), -lift, lift),
    ):
        where = dict(zip(("from_bearing_deg", "to_bearing_deg"), bearings, strict=False))
        m = measurements_from_dict(changed(leg={"knee_tilt_deg": 10}, wound=[{**wound, **where}]))
        up, _ = fragments(m, (100.0, 100.0))
        assert up.closed == ((88.0, 89.0),), "the gap of 2 mm takes 1 mm"
        assert up.closed_tilted[0] == pytest.approx((88.0 - most, 89.0 - least), abs=0.02)


def test_tilted_ring_is_high_on_the_medial_side() -> None:
    outline = Outline((Limb(level_mm=0, girth_mm=2.0 * math.pi * 50.0),))
    at = skin_levels(outline, PlannedRing(100.0, 10.0, True), -3.0, 4.0)
    slope = math.tan(math.radians(10.0))
    assert at(90.0) == pytest.approx((96.0 + 53.0 * slope, 104.0 + 53.0 * slope))
    assert at(270.0) == pytest.approx((96.0 - 47.0 * slope, 104.0 - 47.0 * slope))


def test_tilted_ring_needs_to_be_larger_by_its_cosine() -> None:
    """A tube of leg of 60 mm radius with 20 mm of room, aslant by 15 degrees: an ellipse with the
    half axes 80 and 80 / cos 15."""
    outline = Outline((Limb(level_mm=0, girth_mm=2.0 * math.pi * 60.0),))
    room = Room(front_mm=20.0, side_mm=20.0, back_mm=20.0)
    _, radius = enclosing_circle(wanted_points(outline, room, [PlannedRing(0.0, 15.0, True)]))
    assert radius == pytest.approx(80.0 / math.cos(math.radians(15.0)), abs=0.05)


def test_calf_between_rings_needs_room_for_rods() -> None:
    """A calf of radius 70 halfway between rings where the leg is 40: 20 mm to the rods, whose
    surface is 4 mm outside the inner edge (ring 14 mm wide, rod of 6)."""
    around = [(100.0, 40.0), (0.0, 70.0), (-100.0, 40.0)]
    limb = tuple(Limb(level_mm=z, girth_mm=2.0 * math.pi * r) for z, r in reversed(around))
    room = Room(front_mm=20.0, side_mm=20.0, back_mm=20.0)
    rings = [PlannedRing(100.0, 0.0, True), PlannedRing(-100.0, 0.0, True)]
    _, radius = enclosing_circle(wanted_points(Outline(limb), room, rings))
    assert radius == pytest.approx(86.0, abs=0.01)


def test_wires_keep_off_wounds() -> None:
    """Without corridors the placeholders, turned only where a wound lies on one of their ends at
    the level at which it passes the skin."""
    wound = Wound(name="w", from_level_mm=-5, to_level_mm=5, from_bearing_deg=50, to_bearing_deg=70)
    assert bearings_for("R", level_zero, [], [], reference=False) == (60.0, 120.0)
    turned = bearings_for("R", level_zero, [], [wound], reference=False)
    assert not any(48.0 < b % 180.0 < 72.0 for b in turned)
    assert crossing(*turned) == pytest.approx(90.0)
    above = bearings_for("R", lambda _: (5.5, 9.0), [], [wound], reference=False)
    assert above == (60.0, 120.0)
    all_round = Wound(name="w", from_level_mm=-5, to_level_mm=5)
    with pytest.raises(CaseError, match="clear of wounds"):
        bearings_for("R", level_zero, [], [all_round], reference=False)


def test_rods_without_a_place_are_refused() -> None:
    with pytest.raises(CaseError, match="no place left for four rods"):
        free_bearings([0.0, 90.0, 180.0, 270.0], 94.0, 50.0)


def test_oblique_fracture_takes_length_along_the_bone() -> None:
    """26 mm of bone at 45 degrees: 26 mm, and the gap of 2."""
    m = measurements_from_dict(changed(fracture={"pattern": "oblique", "obliquity_deg": 45}))
    assert half_extent(m) == pytest.approx(14.0)


@pytest.mark.parametrize(
    ("mass", "sizes", "kind"),
    [
        (75, [1.5, 1.8, 2.0], (1.8, 110.0)),
        (110, [1.5, 1.8, 2.0], (1.8, 130.0)),
        (30, [1.5, 1.8, 2.0], (1.5, 90.0)),
        (75, [1.5], (1.5, 90.0)),
        (75, [1.0], (1.0, 40.0)),  # 510 MPa on 0.785 mm² is 401 N
    ],
)
def test_wires_by_body_mass_and_what_is_to_hand(
    mass: float, sizes: list[float], kind: tuple[float, float]
) -> None:
    raw = changed(leg={"body_mass_kg": mass}, parts={"wire_diameters_mm": sizes})
    assert wire_kind(measurements_from_dict(raw)) == kind


def test_every_key_is_explained_in_the_demo() -> None:
    text = demo_text("measurements")
    for kind, model in {**SINGLE, **REPEATED}.items():
        assert f"[{kind}]" in text
        for key in model.model_fields:
            if kind != "room":  # told in the case file
                assert f"{key} = " in text, (kind, key)


@pytest.mark.parametrize(
    "value", [-1e9, 0, 1e9, "x", True, [], {}, [{}], math.nan, math.inf, [1], [0, 0, 0, 0]]
)
def test_wrong_values_are_refused_in_words(value: Any) -> None:
    """Any value in any place: a draft or a refusal, nothing else."""
    for kind, model in {**SINGLE, **REPEATED}.items():
        for key in model.model_fields:
            raw = changed(target=[{"quantity": "axial_N_per_mm", "at_least": 50}])
            table = raw.setdefault(kind, {} if kind in SINGLE else [{}])
            (table if kind in SINGLE else table[0])[key] = value
            try:
                measurements_from_dict(raw)
            except CaseError as error:
                assert key in str(error)
        with pytest.raises(CaseError, match=kind):
            measurements_from_dict({**DEMO, kind: 3})
