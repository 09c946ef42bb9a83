"""What is said of tilted rings, wires and pins, and of struts, that do not fit."""

import copy
from collections.abc import Callable

import pytest

from frames import CaseError, case_from_dict
from tests.frames import cases
from tests.frames.cases import Raw


def told(raw: Raw) -> list[str]:
    """Lines of what is wrong; none when nothing is."""
    try:
        case_from_dict(raw)
    except CaseError as error:
        return [str(p) for p in error.problems]
    return []


def changed(change: Callable[[Raw], object], **other: object) -> Raw:
    raw = copy.deepcopy(cases.small(**other))
    change(raw)
    return raw


def tilted(raw: Raw, tilt: float = 20.0, **other: object) -> None:
    raw["ring"][0].update(tilt_deg=tilt, **other)


def pin(**other: object) -> Raw:
    place = {"bearing_deg": 20.0, "height_mm": 12.0, "diameter_mm": 5.0}
    return {"name": "P1", "ring": "R1", **place, **other}


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("tilt", [-45.0, -10.0, 0.001, 20.0])
@pytest.mark.parametrize("towards", [0.0, 130.0])
def test_a_tilted_ring_is_no_fault(side: str, tilt: float, towards: float) -> None:
    raw = cases.frame(levels=(110.0, -60.0), side=side)
    raw["ring"][0].update(tilt_deg=tilt, tilt_bearing_deg=towards)
    raw["pin"] = [pin(tilt_deg=5.0)]
    assert told(raw) == []


def test_the_bone_does_not_fit_through_a_tilted_ring() -> None:
    """Inner radius 20 mm, bone 13 mm: through a bore of 5 mm height tilted by τ the bone's ellipse
    reaches 13 / cos τ + 2.5 tan τ from the ring's axis, at 45° 20.9 mm."""

    def narrow(raw: Raw, tilt: float) -> None:
        raw["ring"][0].update(inner_diameter_mm=40.0, tilt_deg=tilt, tilt_bearing_deg=30.0)
        for w in raw["wire"][:2]:
            del w["face"]
            w["height_mm"] = 0.0

    assert told(changed(lambda raw: narrow(raw, 40.0))) == []
    (line,) = told(changed(lambda raw: narrow(raw, 45.0)))
    assert line.startswith('ring "R1", tilt_deg: the tilted ring does not go round the bone')
    assert "20.8848 mm" in line
    assert "20 mm (got 45)" in line


def test_tilted_rings_need_room() -> None:
    """30 mm apart; one tilted by 20° comes 30 mm down at its rim of 94 mm."""

    def near(raw: Raw, tilt: float) -> None:
        raw["ring"].insert(1, cases.ring("R9", 30.0, tilt_deg=tilt))

    assert told(changed(lambda raw: near(raw, 10.0))) == []
    (line,) = told(changed(lambda raw: near(raw, 20.0)))
    assert line == (
        'ring "R9", tilt_deg: ring "R1" is in the way of it: tilted as they are, the two rings run '
        "into each other (got 20)"
    )

    def both(raw: Raw) -> None:
        tilted(raw)
        near(raw, 20.0)

    assert told(changed(both)) == []  # side by side


def test_a_square_ring_beside_a_tilted_one() -> None:
    def near(raw: Raw) -> None:
        tilted(raw, 25.0)
        raw["ring"].insert(1, cases.ring("R9", 30.0))

    (line,) = told(changed(near))
    assert line.startswith('ring "R9", level_mm: ring "R1" is in the way of it')


def test_a_wire_along_the_bone() -> None:
    """Ring and wire tilted together by a right angle."""

    def steep(raw: Raw) -> None:
        tilted(raw, 45.0, tilt_bearing_deg=50.0)
        raw["wire"][0].update(tilt_deg=45.0)

    (line,) = [t for t in told(changed(steep)) if t.startswith('wire "W1"')]
    assert line == (
        'wire "W1", tilt_deg: its line runs along the bone and does not go through it: ring "R1" '
        "is tilted by 45° already (got 45)"
    )


def test_a_clamp_in_the_opening_of_a_tilted_ring() -> None:
    def opened(raw: Raw) -> None:
        tilted(raw, arc_deg=270.0, opening_bearing_deg=50.0, tilt_bearing_deg=130.0)
        raw["rod"][0]["bearing_deg"] = 100.0
        raw["wire"][1]["bearing_deg"] = 130.0

    (line,) = told(changed(opened))
    assert line.startswith('wire "W1", bearing_deg: its clamp at the start would be at 50')
    assert 'ring "R1" is open from 5° to 95° (got 50)' in line


@pytest.mark.parametrize(
    ("bearing", "words"),
    [
        (
            0.0,
            'its clamp at the start would be inside the bone: the hole circle of tilted ring "R1"',
        ),
        (
            180.0,
            'its clamp at the end would be inside the bone: the hole circle of tilted ring "R1"',
        ),
    ],
)
def test_a_clamp_inside_the_bone(bearing: float, words: str) -> None:
    """80 mm above a ring tilted by 45° the bone has come 80 mm nearer to the side of its holes."""

    def high(raw: Raw) -> None:
        raw["bone"]["proximal_end_mm"] = 400.0
        tilted(raw, 45.0, tilt_bearing_deg=0.0)
        del raw["wire"][0]["face"]
        raw["wire"][0].update(bearing_deg=bearing, height_mm=80.0)

    (line,) = [t for t in told(changed(high)) if t.startswith('wire "W1"')]
    assert words in line
    assert line.startswith('wire "W1", ring: ')


def test_a_line_that_misses_the_hole_circle() -> None:
    """100 mm above it, the bone has left the cylinder of the holes; a pin says so of itself."""

    def high(raw: Raw) -> None:
        raw["bone"]["proximal_end_mm"] = 400.0
        tilted(raw, 45.0, tilt_bearing_deg=0.0)
        raw["pin"] = [pin(bearing_deg=90.0, height_mm=100.0)]

    (line,) = [t for t in told(changed(high)) if t.startswith('pin "P1"')]
    assert line == (
        'pin "P1", ring: the pin\'s line does not meet the hole circle of tilted ring "R1" '
        "(diameter 174 mm)"
    )


@pytest.mark.parametrize("kind", ["wire", "pin"])
def test_cortices_in_two_fragments(kind: str) -> None:
    """Across the bone, 26 mm, a tilt of 40° rises by 21.8 mm."""

    def cross(raw: Raw) -> None:
        raw["ring"][0]["level_mm"] = 5.0
        part = raw["wire"][0] if kind == "wire" else pin()
        part.pop("face", None)
        part.update(height_mm=0.0, tilt_deg=40.0)
        if kind == "pin":
            raw["pin"] = [part]

    (line,) = [t for t in told(changed(cross)) if "fragments" in t]
    assert line.startswith(f'{kind} "{"W1" if kind == "wire" else "P1"}": its cortices would lie')
    assert "at levels 15.9083 and -5.9083 mm" in line


def test_a_pin_of_one_cortex_may_point_across() -> None:
    def cross(raw: Raw) -> None:
        raw["ring"][0]["level_mm"] = 5.0
        for w in raw["wire"][:2]:
            w.update(height_mm=10.0)
            del w["face"]
        raw["pin"] = [pin(height_mm=0.0, tilt_deg=40.0, cortices=1)]

    assert told(changed(cross)) == []


@pytest.mark.parametrize(
    ("level", "tilt", "words"),
    [
        (160.0, 40.0, "cortex at the start would be at level 170.9"),
        (11.0, 40.0, "in the fracture gap"),
        (11.6, 40.0, "in the fracture gap"),
    ],
)
def test_a_cortex_past_the_end_or_in_the_gap(level: float, tilt: float, words: str) -> None:
    def move(raw: Raw) -> None:
        raw["ring"][0]["level_mm"] = level
        del raw["wire"][0]["face"]
        raw["wire"][0].update(height_mm=0.0, tilt_deg=tilt)

    lines = told(changed(move))
    assert len(lines) == 1
    assert words in lines[0]
    assert lines[0].startswith('wire "W1": its cortex at the ')


def test_pins_that_only_graze_the_bone() -> None:
    """The middle of the wall lies at 10 mm."""
    assert told(changed(lambda raw: raw.update(pin=[pin(offset_mm=9.9)]))) == []
    (line,) = told(changed(lambda raw: raw.update(pin=[pin(offset_mm=-10.5)])))
    assert line.startswith('pin "P1", offset_mm: the pin would only graze the bone')
    assert "less than 10 mm" in line
    (line,) = told(changed(lambda raw: raw.update(pin=[pin(offset_mm=13.5)])))
    assert "passes beside the bone" in line


def test_a_rod_without_room_between_tilted_rings() -> None:
    """Rings tilted against each other until their sides meet at the rod."""

    def against(raw: Raw) -> None:
        raw["ring"][0].update(level_mm=22.0, tilt_deg=-45.0)
        raw["ring"][1].update(level_mm=-90.0, tilt_deg=20.0)
        raw["rod"] = [{"rings": ["R1", "R2"], "bearing_deg": 0.0, "diameter_mm": 6.0}]
        raw["rod"] += [{"rings": ["R1", "R2"], "bearings_deg": [90.0, 180.0], "diameter_mm": 6.0}]

    lines = told(changed(against))
    assert any(line.startswith("rod 1, rings: between its holes in rings") for line in lines)
    assert not any(line.startswith("rod 2") for line in lines)


def test_what_cannot_be_known_is_not_told() -> None:
    """Wrong fields elsewhere: no more lines than those, and no crash."""
    for change in (
        lambda raw: raw["ring"][0].update(tilt_deg=60.0),
        lambda raw: raw["ring"][0].update(tilt_deg=20.0, inner_diameter_mm="wide"),
        lambda raw: raw["wire"][0].update(tilt_deg="steep"),
        lambda raw: raw["bone"].update(outer_mm=-1.0),
        lambda raw: raw["rod"][0].update(bearing_deg="there"),
    ):

        def both(raw: Raw, change: Callable[[Raw], object] = change) -> None:
            raw["ring"][1].update(tilt_deg=-12.0)
            raw["pin"] = [pin(tilt_deg=3.0)]
            change(raw)

        assert len(told(changed(both))) == 1
