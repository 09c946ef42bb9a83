"""What holds a wire along its axis, what it is pulled by, and clear of what fracture it runs."""

import math
from typing import Any

import pytest

from frames.casefile import Pin, Rod, Wire, case_from_dict, wire_height
from frames.sizes import SLIP_N_PER_NM
from tests.frames.casefile_edits import DEMO, FULL, Raw, changed, told

FULL_CASE = case_from_dict(FULL)


def _wire(**keys: Any) -> Wire:
    size = {"name": "W", "ring": "R", "bearing_deg": 0, "face": "distal", "diameter_mm": 2}
    return Wire(**size, **({"tension_N": 1000} | keys))


def test_defaults_are_the_ideal_wire() -> None:
    wire = _wire()
    assert (wire.slip, wire.end_tension, wire.pulled) == (math.inf, 1000.0, ("start", "end"))
    assert (wire.grip_N, wire.threaded, wire.olive, wire.tilt_deg) == (0.0, False, None, 0.0)
    assert (wire.order, wire.tensioner_drop_percent, wire.post_diameter_mm) == (None, None, None)
    assert wire.free_share == 1.0


@pytest.mark.parametrize(
    ("keys", "pulled"),
    [
        ({"olive": "start"}, ("end",)),
        ({"olive": "end"}, ("start",)),
        ({"olive": "end", "tension_from": "end"}, ("end",)),
        ({"olive": "end", "tension_from": "both"}, ("start", "end")),
        ({"tension_from": "start"}, ("start",)),
    ],
)
def test_ends_that_are_pulled(keys: Raw, pulled: tuple[str, ...]) -> None:
    assert _wire(**keys).pulled == pulled


def test_slip_of_clamps() -> None:
    """8 N·m held 900 N (Veterinary Surgery 2002;31:571-6), in proportion."""
    assert _wire(bolt_torque_Nm=8).slip == 900.0
    assert SLIP_N_PER_NM == 112.5
    assert _wire(bolt_torque_Nm=10).slip == 1125.0
    assert _wire(slip_N=700).slip == 700.0


def test_end_tension_is_in_newton_beside_kgf() -> None:
    wire = _wire(tension_N=None, tension_kgf=100, tension_from="both", end_tension_N=900)
    assert (wire.tension, wire.end_tension) == (100 * 9.80665, 900.0)


def test_pins_and_heights() -> None:
    pin = Pin(name="P", ring="A", bearing_deg=0, face="distal", diameter_mm=6)
    assert (pin.cortices, pin.yield_MPa, pin.elastic) == (2, 700.0, (193_000.0, 0.3))
    assert (pin.tilt_deg, pin.offset_mm, pin.post_diameter_mm) == (0.0, 0.0, None)
    assert wire_height(pin, FULL_CASE.ring[0]) == -3.0 - 3.0  # half ring, half pin
    assert wire_height(FULL_CASE.pin[0], FULL_CASE.ring[1]) == 15.0


def test_ends_of_rods() -> None:
    """Turning stiffness in N·mm/rad: 1 N·m/deg = 1000 × 180/π of these."""
    place = {"rings": ("A", "B"), "bearing_deg": 0, "thread": "M6"}
    assert Rod(**place).end_stiffness == math.inf
    assert Rod(**place, ends="hinged").end_stiffness == 0.0
    washers = Rod(**place, ends="conical washers", end_Nm_per_deg=2)
    # a turn of 3 degrees costs 6 N·m
    assert washers.end_stiffness * math.radians(3.0) == pytest.approx(6000.0, rel=1e-14)
    assert Rod(**place, ends="conical washers").end_stiffness == 2.5 * washers.end_stiffness


def test_struts() -> None:
    front, second, third = FULL_CASE.rod
    assert (front.bearing_in("A"), front.bearing_in("B")) == (10.0, 40.0)
    assert (second.bearing_in("A"), second.bearing_in("B")) == (90.0, 90.0)
    assert (front.label, second.label, third.label) == (
        "front",
        "rod A-B at 90°",
        "rod B-A at 270°",
    )
    strut = Rod(rings=("A", "B"), bearings_deg=(10, 40.5), diameter_mm=5)
    assert strut.label == "strut A-B at 10-40.5°"
    assert (strut.pitch_mm, front.pitch_mm, third.pitch_mm) == (None, 1.25, 1.0)


BOTH = {"tension_from": "both"}


@pytest.mark.parametrize(
    ("keys", "end", "held"),
    [
        # what is left of the two tensions (start 1000 N) against friction in two cortices
        ({"grip_N": 50} | BOTH, 1100, True),
        ({"grip_N": 49.9} | BOTH, 1100, "only 99.8 N (grip_N at both cortices) holds the wire"),
        ({"grip_N": 50} | BOTH, 899, "only 100 N (grip_N at both cortices) holds the wire"),
        (BOTH, 1001, "nothing holds the wire"),
        (BOTH, 1000, True),
        ({}, 1000, True),
        # threaded: any
        ({"threaded": True} | BOTH, 10, True),
        # a bead on the start side leans on the bone when the end pulls harder
        ({"olive": "start"} | BOTH, 1800, True),
        ({"olive": "end"} | BOTH, 200, True),
        (
            {"olive": "start"} | BOTH,
            999,
            "nothing holds the wire along its axis, its olive lies on",
        ),
        ({"olive": "end"} | BOTH, 1001, "nothing holds the wire along its axis, its olive lies on"),
        ({"olive": "end", "grip_N": 1} | BOTH, 1002, True),
    ],
)
def test_different_tensions_need_hold(keys: Raw, end: float, held: bool | str) -> None:
    wire = DEMO["wire"][0] | {"tension_N": 1000, "end_tension_N": end} | keys
    del wire["tension_kgf"]
    raw = changed(("wire.0", wire))
    if held is True:
        assert case_from_dict(raw).wire[0].end_tension == end
        return
    (line,) = told(raw)
    assert line.startswith(
        'wire "W1", end_tension_N: differs from the tension at the start (1000 N) by '
        f"{abs(end - 1000):g} N, and {held}"
    )
    assert line.endswith(f"it would slide until both are equal (got {end})")


@pytest.mark.parametrize("keys", [{"tension_from": "start"}, {"olive": "end"}])
def test_tension_of_an_end_that_is_not_pulled(keys: Raw) -> None:
    wire = DEMO["wire"][0] | {"end_tension_N": 900} | keys
    assert told(changed(("wire.0", wire))) == [
        'wire "W1", end_tension_N: the wire is pulled from its start only: a tension of its own at '
        'the end needs tension_from = "both" (got 900)'
    ]


def test_clamps_hold_a_final_tension() -> None:
    assert told(changed(("wire.0.bolt_torque_Nm", 9))) == [
        'wire "W1", bolt_torque_Nm: its clamps let the wire slip at 1012.5 N, less than its '
        'tension of 1078.73 N in the finished frame (pretension = "final" in [model]) (got 9)'
    ]
    assert told(changed(("wire.0.slip_N", 1078)))[0].startswith('wire "W1", slip_N: its clamps')
    case_from_dict(changed(("wire.0.slip_N", 1079)))
    # what is dialled may be lost again
    case_from_dict(changed(("wire.0.slip_N", 900), ("model.pretension", "dialled")))
    wire = DEMO["wire"][0] | BOTH | {"threaded": True, "slip_N": 1100, "end_tension_N": 1101}
    assert "slip at 1100 N, less than its tension of 1101 N" in told(changed(("wire.0", wire)))[0]


def _oblique(height: float, obliquity: float, bearing: float, side: str = "left") -> Raw:
    """One wire of bearing 0, that is from front to back, at level 50 + height."""
    wire = DEMO["wire"][2] | {"bearing_deg": 0, "height_mm": height}
    del wire["face"]
    contact = {"obliquity_deg": obliquity, "obliquity_bearing_deg": bearing}
    return changed(("case.side", side), ("bone.contact", contact), ("wire.2", wire), ("rod", []))


def test_wire_across_an_oblique_fracture() -> None:
    """Cortices 13 mm in front of and behind the axis: a plane at 45° that rises forward stands at
    +13 and -13 mm there; half a gap (1 mm) more is needed."""
    case_from_dict(_oblique(-35.9, 45, 0))  # level 14.1
    assert told(_oblique(-36.1, 45, 0)) == [
        'wire "W3": its cortex at the start would not be in the proximal fragment: it is at level '
        "13.9 mm, and the oblique fracture, 2 mm wide, has its middle at 13 mm there"
    ]
    assert "cortex at the end" in told(_oblique(-36.1, 45, 180))[0]
    for side in ("left", "right"):
        case_from_dict(_oblique(-36.1, 45, 90, side))  # rises sideways
    case_from_dict(_oblique(-48, 0, 0))


def test_pin_across_an_oblique_fracture() -> None:
    pin = {"name": "P", "ring": "R2", "bearing_deg": 90, "height_mm": -38, "diameter_mm": 5}
    contact = {"obliquity_deg": 45, "obliquity_bearing_deg": 270}
    raw = changed(("bone.contact", contact), ("pin", [pin]))
    # medial near cortex: the plane stands at -13 mm there, and at +13 mm on the far, lateral side
    assert told(raw) == [
        'pin "P": its far cortex would not be in the proximal fragment: it is at level 12 mm, and '
        "the oblique fracture, 2 mm wide, has its middle at 13 mm there"
    ]
    case_from_dict(raw | {"pin": [pin | {"cortices": 1}]})
    near = raw | {"pin": [pin | {"cortices": 1, "bearing_deg": 270}]}
    assert told(near)[0].startswith('pin "P": its near cortex would not be')


def test_fracture_plane_ends_on_the_shaft() -> None:
    """13 tan 75° = 48.5 mm and half a gap: 49.5."""
    ends = ("bone.proximal_end_mm", 49.4), ("bone.distal_end_mm", -100.0)
    raw = changed(("bone.contact", {"obliquity_deg": 75}), *ends, ("ring.0.level_mm", 90))
    line = told(raw)[0]
    assert line == (
        "bone.contact, obliquity_deg: the fracture plane rises 48.5167 mm from the bone axis to "
        "its surface, and the nearer end of the bone is 49.4 mm away: make the plane less oblique "
        "or the bone longer (got 75)"
    )
    raw["bone"]["proximal_end_mm"] = 49.6
    assert not told(raw)[0].startswith("bone.contact")


def test_tube_of_callus_follows_the_bone() -> None:
    case = case_from_dict(changed(("bone.callus", {"E_MPa": 20})))
    assert case.bone.callus_tube == (26.0, 14.0, 2.0)
    own = {"E_MPa": 20, "outer_mm": 30, "inner_mm": 0, "thickness_mm": 1}
    assert case_from_dict(changed(("bone.callus", own))).bone.callus_tube == (30.0, 0.0, 1.0)
    with pytest.raises(ValueError, match="no callus"):
        _ = case_from_dict(DEMO).bone.callus_tube
