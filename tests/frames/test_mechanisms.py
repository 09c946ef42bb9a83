"""Frames that cannot hold the bone are refused in words; frames that only just can are not.

What holds what is statics, no source needed: one wire lets a fragment slide along it and turn about
it; parallel wires let it slide along them; every frame needs rods across the gap.
"""

import re
from collections.abc import Callable

import pytest

from fem import FemError, MechanismError
from frames import CaseError
from tests.frames import cases
from tests.frames.cases import Raw, answers, axial, edited

LOAD = axial("a", 50.0)


def refusal(raw: Raw) -> MechanismError:
    with pytest.raises(MechanismError) as caught:
        answers(raw)
    assert len(str(caught.value).splitlines()) == 1
    return caught.value


def _without(raw: Raw, *names: str) -> Raw:
    return {**raw, "wire": [w for w in raw["wire"] if w["name"] not in names]}


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("bearing", [1.0, 40.0, 120.0])
def test_one_wire_in_a_fragment(side: str, bearing: float) -> None:
    """It can slide along the wire, and turn about it: its bearing and its level are named."""
    raw = _without(cases.small(side=side, loads=[LOAD]), "W4")
    raw["wire"][2].update(bearing_deg=bearing, height_mm=8.0)
    del raw["wire"][2]["face"]
    error = refusal(raw)
    assert str(error).startswith("Distal fragment is free to move (pretension): it can ")
    assert f"slide along bearing {bearing:.0f}°" in str(error)
    assert f"turn about an axis along bearing {bearing:.0f}° through level -52 mm" in str(error)
    assert "held by 1 wire (W3)" in str(error)
    assert "Add a wire that crosses" in str(error)
    assert len(error.motions) == 2


@pytest.mark.parametrize("count", [2, 3])
def test_parallel_wires_only(count: int) -> None:
    """At different levels they stop the turn; the slide stays."""
    raw = cases.small(loads=[LOAD])
    raw["wire"] = [w for w in raw["wire"] if w["ring"] == "R2"] + [
        cases.wire(f"P{i}", "R1", 70.0, "proximal", height_mm=6.0 * i - 7.0) for i in range(count)
    ]
    error = refusal(raw)
    assert str(error).startswith("Proximal fragment is free to move (pretension): it can slide ")
    assert "slide along bearing 70°" in str(error)
    assert "turn" not in str(error).split(". It is held by")[0]
    assert f"held by {count} wires" in str(error)
    assert len(error.motions) == 1


def test_parallel_wires_in_both_fragments() -> None:
    """Both slide; the words are about one, the motions hold both."""
    raw = cases.frame(levels=(60.0, -60.0), bearings=((45.0, 45.0), (100.0, 100.0)))
    error = refusal(raw)
    assert "fragment is free to move" in str(error)
    assert len(error.motions) == 2


@pytest.mark.parametrize("fragment", ["proximal", "distal"])
def test_no_wire_in_a_fragment(fragment: str) -> None:
    names = ("W1", "W2") if fragment == "proximal" else ("W3", "W4")
    error = refusal(_without(cases.small(loads=[LOAD]), *names))
    assert str(error) == (
        f"The {fragment} fragment is held by no wire and no pin: it is free to move in every "
        "direction. Add at least two crossing wires to it, or pins."
    )


def test_ring_without_a_rod_that_carries_wires() -> None:
    raw = cases.frame()
    raw["rod"] = [rod for rod in raw["rod"] if "R4" not in rod["rings"]]
    message = str(refusal(raw))
    assert message.startswith("Ring R4 is joined to the frame by no rod")
    assert "wires W7, W8" in message


def test_ring_that_nothing_is_attached_to() -> None:
    spare = cases.ring("spare", 100.0)
    message = str(refusal(edited(cases.frame(), lambda raw: raw["ring"].append(spare))))
    assert message.startswith("Ring spare is joined to the frame by no rod")
    assert "free to move in every direction" in message


def test_no_rods_across_the_gap() -> None:
    raw = cases.frame()
    raw["rod"] = [rod for rod in raw["rod"] if rod["rings"] != ["R2", "R3"]]
    message = str(refusal(raw))
    assert message.startswith("The proximal fragment and the distal fragment are not joined")
    for word in ("rings R1, R2", "rings R3, R4", "Add rods"):
        assert word in message


def test_no_rods_at_all() -> None:
    message = str(refusal({**cases.frame(), "rod": []}))
    assert message.startswith("The proximal fragment and the distal fragment are not joined")


def test_every_refusal_names_what_to_do() -> None:
    raws: list[Raw] = [
        _without(cases.small(), "W1"),
        _without(cases.small(), "W1", "W2"),
        {**cases.small(), "rod": []},
        edited(cases.small(), lambda raw: raw["ring"].append(cases.ring("R9", 5.0))),
    ]
    for raw in raws:
        assert re.search(r"\bAdd\b", str(refusal(raw)))


def _one_rod(raw: Raw) -> None:
    raw["rod"] = raw["rod"][:1]


def _two_rods_side_by_side(raw: Raw) -> None:
    raw["rod"] = [{**raw["rod"][0], "bearing_deg": b} for b in (10.0, 14.0)]


def _thin(raw: Raw) -> None:
    for w in raw["wire"]:
        w["diameter_mm"] = 1.0


def _no_tension(raw: Raw) -> None:
    for w in raw["wire"]:
        w.pop("tension_kgf")
        w["tension_N"] = 0.0


def _almost_parallel(raw: Raw) -> None:
    for i, w in enumerate(raw["wire"]):
        w["bearing_deg"] = 60.0 + 3.0 * (i % 2)


def _same_level(raw: Raw) -> None:
    for w in raw["wire"]:
        del w["face"]
        w["height_mm"] = 0.0


def _near_the_gap(raw: Raw) -> None:
    for r, level in zip(raw["ring"], (12.0, -12.0), strict=True):
        r["level_mm"] = level


def _open_rings(raw: Raw) -> None:
    for r in raw["ring"]:
        r.update(arc_deg=230.0, opening_bearing_deg=180.0)
    for i, w in enumerate(raw["wire"]):
        w["bearing_deg"] = (85.0, 100.0)[i % 2]
    raw["rod"] = [{**raw["rod"][0], "bearing_deg": b} for b in (300.0, 0.0, 60.0)]


def _soft_carbon(raw: Raw) -> None:
    for r in raw["ring"]:
        r.update(E_MPa=5000.0, nu=0.3, section_factor=0.5)


def _thick_and_thin(raw: Raw) -> None:
    raw["rod"][0]["diameter_mm"] = 40.0
    raw["rod"][1]["diameter_mm"] = 1.0


@pytest.mark.parametrize(
    "change",
    [
        lambda raw: None,
        _one_rod,
        _two_rods_side_by_side,
        _thin,
        _no_tension,
        _almost_parallel,
        _same_level,
        _near_the_gap,
        _open_rings,
        _soft_carbon,
        _thick_and_thin,
    ],
)
def test_no_false_alarm(change: Callable[[Raw], object]) -> None:
    """Two rings with two wires each, made as weak as can be: soft, but no mechanism."""
    result = answers(edited(cases.small(loads=[axial("a", 0.05)]), change))
    assert min(result.stiffness.values()) > 0.0


def test_a_weak_frame_is_weak() -> None:
    """Nearly parallel wires: the bone slides easily along them, and the numbers say so."""
    good = answers(cases.small()).stiffness
    weak = answers(edited(cases.small(), _almost_parallel)).stiffness
    assert weak["shear_ap_N_per_mm"] < 0.2 * good["shear_ap_N_per_mm"]


def test_refusals_are_errors_of_the_kernel() -> None:
    """One family to catch: what cannot be solved."""
    with pytest.raises(FemError):
        answers(_without(cases.small(), "W1"))


def test_rings_a_hair_apart_are_no_mechanism_of_the_members() -> None:
    """Two rings a nanometre apart with rods between them: refused as a case, or solved; but never
    told that a ring bolted by four rods is free to move."""
    raw = cases.demo()
    raw["ring"][1]["level_mm"] = 140.000000001
    try:
        answers(raw)
    except CaseError as error:
        assert "level" in str(error)


def _pin(name: str, on: str, bearing: float, height: float, **other: float) -> Raw:
    place = {"bearing_deg": bearing, "height_mm": height, "diameter_mm": 5.0}
    return {"name": name, "ring": on, **place, **other}


@pytest.mark.parametrize("cortices", [1, 2])
def test_one_pin_holds_a_fragment(cortices: int) -> None:
    """It is threaded into the bone and a beam: soft, but no mechanism."""
    raw = _without(cases.small(), "W1", "W2")
    raw["pin"] = [_pin("P1", "R1", 30.0, 12.0, cortices=cortices)]
    assert min(answers(raw).stiffness.values()) > 0.0


def test_one_wire_and_a_pin_across_it() -> None:
    raw = _without(cases.small(), "W1")
    raw["pin"] = [_pin("P1", "R1", 30.0, 12.0)]
    assert min(answers(raw).stiffness.values()) > 0.0


def test_a_loose_ring_that_carries_pins() -> None:
    raw = cases.frame()
    raw["rod"] = [rod for rod in raw["rod"] if "R4" not in rod["rings"]]
    raw["pin"] = [_pin("P1", "R4", 30.0, 12.0)]
    message = str(refusal(raw))
    assert message.startswith("Ring R4 is joined to the frame by no rod")
    assert "on wires W7, W8 and pin P1 only" in message


def test_pins_hold_the_other_fragment_to_the_ring_of_wires() -> None:
    """Pins count as holding a fragment: no rods are needed on a ring that holds both."""
    raw = cases.small(loads=[LOAD])
    raw["ring"] = raw["ring"][:1]
    raw["rod"] = []
    raw["wire"] = raw["wire"][:2]
    raw["pin"] = [_pin(f"P{i}", "R1", b, -75.0 - 9.0 * i) for i, b in enumerate((0.0, 80.0))]
    assert min(answers(raw).stiffness.values()) > 0.0


def test_a_ring_in_halves_is_one_ring() -> None:
    def halve(raw: Raw) -> None:
        raw["ring"][0].update(halves="hinged", split_bearing_deg=70.0)
        raw["ring"][1].update(halves="bolted", joint_play_deg=0.1)

    result = answers(edited(cases.small(loads=[axial("a", 20.0)]), halve))
    assert min(result.stiffness.values()) > 0.0


@pytest.mark.parametrize("pin", [False, True])
def test_hinged_rods_that_stand_side_by_side(pin: bool) -> None:
    """Rings slide against each other like the sides of a parallelogram, along every bearing; rods
    resist their turning. It is a ring that moves, and rods are what stops it."""
    raw = cases.every(cases.small(loads=[LOAD]), "rod", ends="hinged")
    raw["pin"] = [_pin("P1", "R1", 30.0, 12.0)] if pin else []
    error = refusal(raw)
    found = re.match(
        r"Ring R\d is free to move \(pretension\): it can slide along bearing (\d+)° and slide "
        r"along bearing (\d+)°\. Join it to its neighbours with rods whose ends are fixed",
        str(error),
    )
    assert found is not None
    assert abs(int(found[1]) - int(found[2])) in (89, 90, 91)
    assert len(error.motions) == 2


def test_pins_are_named_among_what_holds_a_fragment() -> None:
    """A pin that follows the bone: its ring is no part of the frame, and the rest holds nothing
    against sliding along parallel wires."""
    raw = cases.small()
    raw["wire"] = [w for w in raw["wire"] if w["ring"] == "R2"] + [
        cases.wire(f"P{i}", "R1", 70.0, "proximal", height_mm=6.0 * i - 7.0) for i in range(2)
    ]
    assert "held by 2 wires (P0, P1). Add" in str(refusal(raw))
    raw["pin"] = [_pin("Q1", "R1", 70.0, 12.0)]
    assert min(answers(raw).stiffness.values()) > 0.0  # it cannot slide along a pin


def _bridged(raw: Raw) -> Raw:
    return {**raw, "bone": {**raw["bone"], "callus": {"E_MPa": 50.0}}}


def test_callus_joins_the_fragments() -> None:
    """Rods taken out across the gap, or the wires of a fragment: what bridges the gap carries."""
    bridged = answers(_bridged(cases.frame())).stiffness
    apart = cases.frame()
    apart["rod"] = [rod for rod in apart["rod"] if rod["rings"] != ["R2", "R3"]]
    for raw in (apart, _without(cases.small(), "W3", "W4")):
        left = answers(_bridged(raw)).stiffness
        assert all(0.0 < left[name] < bridged[name] for name in left)


def test_a_ring_on_nothing_beside_callus() -> None:
    spare = cases.ring("spare", 100.0)
    raw = edited(_bridged(cases.frame()), lambda new: new["ring"].append(spare))
    message = str(refusal(raw))
    assert message.startswith("Ring spare is joined to the frame by no rod")
    assert "free to move in every direction" in message
