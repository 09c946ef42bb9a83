"""Where the parts of a case lie in space, against plane geometry.

Axes: x anterior, y towards the patient's left, z proximal; a bearing turns from anterior towards
medial, and medial is +y on a right leg, -y on a left one.
"""

from typing import Any

import numpy as np
import pytest

from frames import case_from_dict
from frames.construct import FRAGMENTS, Construct, bone_levels, construct
from frames.discretise import discretise
from tests.frames import cases
from tests.frames.cases import Raw


def lay_out(raw: Raw) -> Construct:
    return construct(case_from_dict(raw))


def _odd(side: str) -> Raw:
    raw = cases.small(side=side)
    raw["ring"][0].update(centre_mm=[-9.0, 4.0], hole_circle_mm=170.0)
    raw["wire"][0].update(offset_mm=5.0)
    raw["wire"][3].update(offset_mm=-3.0, diameter_mm=1.5)
    return raw


@pytest.mark.parametrize(("side", "medial"), [("right", 1.0), ("left", -1.0)])
def test_stations_of_wires(side: str, medial: float) -> None:
    """Clamps on the hole circle, cortices on the bone, all four on one line beside the axis."""
    raw = _odd(side)
    place = lay_out(raw)
    rings = {r["name"]: r for r in raw["ring"]}
    assert place.sign == medial
    for w, given in zip(place.wires, raw["wire"], strict=True):
        ring = rings[given["ring"]]
        a, m = ring.get("centre_mm", (0.0, 0.0))
        circle = ring.get("hole_circle_mm", ring["inner_diameter_mm"] + ring["width_mm"])
        centre = np.array([a, medial * m])
        flat = w.stations[:, :2]
        for k in (0, 3):
            assert np.linalg.norm(flat[k] - centre) == pytest.approx(circle / 2.0, rel=1e-12)
        for k in (1, 2):
            assert np.linalg.norm(flat[k]) == pytest.approx(13.0, rel=1e-12)
        b = np.radians(given["bearing_deg"])
        along = np.array([np.cos(b), medial * np.sin(b)])
        aside = np.array([-np.sin(b), medial * np.cos(b)])  # bearing + 90°
        np.testing.assert_allclose(flat @ aside, given.get("offset_mm", 0.0), atol=1e-12)
        assert (np.diff(flat @ along) < 0.0).all()  # start on the side of the bearing
        half = ring["thickness_mm"] / 2.0 + given["diameter_mm"] / 2.0
        way = 1.0 if given["face"] == "proximal" else -1.0
        np.testing.assert_allclose(w.stations[:, 2], ring["level_mm"] + way * half, rtol=1e-14)
        legs = np.linalg.norm(np.diff(w.stations, axis=0), axis=1)
        assert w.legs == (pytest.approx(legs[0]), pytest.approx(legs[2]))
        assert w.fragment == FRAGMENTS[int(ring["level_mm"] > 0.0)]


@pytest.mark.parametrize(("side", "medial"), [("right", 1.0), ("left", -1.0)])
def test_rods(side: str, medial: float) -> None:
    """On the hole circle of each ring at the bearing about that ring's own centre; named from
    distal to proximal whatever the order in the case file."""
    raw = _odd(side)
    for rod, given in zip(lay_out(raw).rods, raw["rod"], strict=True):
        b = np.radians(given["bearing_deg"])
        direction = np.array([np.cos(b), medial * np.sin(b), 0.0])
        assert rod.rings == ("R2", "R1")
        np.testing.assert_allclose(rod.points[0], 87.0 * direction + [0, 0, -60.0], atol=1e-12)
        expected = 85.0 * direction + [-9.0, medial * 4.0, 60.0]
        np.testing.assert_allclose(rod.points[1], expected, atol=1e-12)


def test_a_rod_through_three_rings() -> None:
    raw = cases.frame(levels=(100.0, 40.0, -40.0), rods=())
    raw["rod"] = [
        {"rings": ["R3", "R1", "R2"], "bearing_deg": b, "diameter_mm": 6.0} for b in (0.0, 120.0)
    ]
    place = lay_out(raw)
    assert place.rods[0].rings == ("R3", "R2", "R1")
    members = [n for n in discretise(place).model.members.names if n.startswith("rod")]
    assert len(members) == 4


def test_nodes_of_a_ring() -> None:
    """On the centre line of its section, in order; every attachment at its own angle."""
    place = lay_out(_odd("right"))
    ring = place.rings[0]
    assert ring.radius == (160.0 + 14.0) / 2.0
    assert (np.diff(ring.angles) > 0.0).all()
    assert 0.0 <= ring.angles[0] < ring.angles[-1] < 2.0 * np.pi
    for k in range(len(ring.angles)):
        arm = ring.point(k) - np.array([-9.0, 4.0, 60.0])
        assert np.linalg.norm(arm) == pytest.approx(87.0, rel=1e-14)
    w = place.wires[0]
    clamp = w.stations[0] - ring.centre
    node = ring.point(ring.node_of["W1 start clamp"]) - ring.centre
    assert np.arctan2(clamp[1], clamp[0]) == pytest.approx(np.arctan2(node[1], node[0]))
    assert len(ring.node_of) == 2 * 2 + 3  # clamps of two wires, three rods
    spans = ring.spans()
    assert spans == [(i, (i + 1) % 7) for i in range(7)]


def test_attachments_at_one_place_share_a_node() -> None:
    """A rod in the very hole of a clamp, and two rods about the turn at 0°."""
    raw = cases.small()
    raw["rod"][0]["bearing_deg"] = 50.0  # where W1 is clamped
    raw["rod"][1]["bearing_deg"] = 359.99
    raw["rod"][2]["bearing_deg"] = 0.01  # 0.03 mm further round
    ring = lay_out(raw).rings[0]
    assert (
        ring.node_of["W1 start clamp"] == ring.node_of[next(n for n in ring.node_of if "50°" in n)]
    )
    near = [k for n, k in ring.node_of.items() if "359.99°" in n or " 0.01°" in n]
    assert len(near) == 2
    assert near[0] == near[1]
    gap = ring.angles[near[0]]
    assert min(gap, 2.0 * np.pi - gap) < 1e-9  # in the middle between the two
    assert len(ring.angles) == 4 + 3 - 2
    assert (np.diff(ring.angles) > 0.0).all()
    assert ring.angles[-1] < 2.0 * np.pi


@pytest.mark.parametrize("side", ["left", "right"])
def test_an_open_ring_has_no_piece_across_its_opening(side: str) -> None:
    raw = cases.small(side=side)
    raw["ring"][0].update(arc_deg=300.0, opening_bearing_deg=90.0)
    raw["wire"][1]["bearing_deg"] = 150.0
    ring = lay_out(raw).rings[0]
    spans = ring.spans()
    assert len(spans) == len(ring.angles) - 1
    middle = np.pi / 2.0 if side == "right" else 3.0 * np.pi / 2.0
    for i, j in spans:
        width = (ring.angles[j] - ring.angles[i]) % (2.0 * np.pi)
        assert (middle - ring.angles[i]) % (2.0 * np.pi) > width


def test_a_hair_open_ring_is_still_open() -> None:
    raw = cases.small()
    raw["ring"][0].update(arc_deg=359.9, opening_bearing_deg=90.0)
    ring = lay_out(raw).rings[0]
    assert len(ring.spans()) == len(ring.angles) - 1


def test_levels_of_the_bone() -> None:
    """A node at the face, at each wire's level and at the end; wires at one level share it."""
    raw = cases.frame(gap=3.0)
    place = lay_out(raw)
    levels, node_of = bone_levels(place, "proximal fragment")
    np.testing.assert_allclose(levels, [1.5, 46.6, 53.4, 136.6, 143.4, 170.0])
    assert [node_of[f"W{i}"] for i in (1, 2, 3, 4)] == [4, 3, 2, 1]
    levels, node_of = bone_levels(place, "distal fragment")
    np.testing.assert_allclose(levels, [-1.5, -46.6, -53.4, -136.6, -143.4, -170.0])
    level = cases.small(wires={"height_mm": 0.0})
    levels, node_of = bone_levels(lay_out(level), "proximal fragment")
    np.testing.assert_allclose(levels, [1.0, 60.0, 170.0])
    assert node_of == {"W1": 1, "W2": 1}


@pytest.mark.parametrize("height", [0.04, 109.96])
def test_a_wire_at_the_very_face_or_end(height: float) -> None:
    """Nearer than the least length of a piece of bone: it shares the node there."""
    raw = cases.small()
    raw["ring"][0]["level_mm"] = 60.0
    for w in raw["wire"][:2]:
        del w["face"]
        w["height_mm"] = height if height > 1.0 else height - 59.0
    levels, node_of = bone_levels(lay_out(raw), "proximal fragment")
    assert (np.diff(levels) >= 0.1 - 1e-12).all()
    assert set(node_of) == {"W1", "W2"}
    assert cases.answers(raw).stiffness["axial_N_per_mm"] > 0.0


def test_a_wire_belongs_to_the_fragment_it_runs_through() -> None:
    """Its ring may stand on the other side of the gap."""
    raw = cases.frame(levels=(60.0, 20.0, -60.0))
    for w in raw["wire"][2:4]:
        del w["face"]
        w["height_mm"] = -45.0
    place = lay_out(raw)
    assert [w.fragment for w in place.wires[2:4]] == ["distal fragment"] * 2


def test_model_of_the_demo() -> None:
    """Every part is in the model under its name; clamps and cortices hang on arms."""
    place = lay_out(cases.demo())
    parts = discretise(place)
    model = parts.model
    assert parts.wire_names == tuple(f"W{i}" for i in range(1, 9))
    assert [w.names for w in model.wires] == [parts.wire_names]
    assert sum(n.startswith("rod ") for n in model.members.names) == 12
    assert set(parts.point_node) == {"knee", "ankle", "proximal face", "distal face"}
    for point, level in (("knee", 170.0), ("proximal face", 1.0), ("distal face", -1.0)):
        at = model.points[model.node(parts.point_node[point])]
        np.testing.assert_allclose(at, [0.0, 0.0, level])
    for w in place.wires:
        for k, station in enumerate(("start clamp", "start cortex", "end cortex", "end clamp")):
            node = model.node(f"{w.wire.name} {station}")
            np.testing.assert_allclose(model.points[node], w.stations[k])
            master = model.names[model.master[node]]
            assert parts.owner[master] == (f"ring {w.wire.ring}" if k in (0, 3) else w.fragment)


def test_wire_stiffness_and_hold() -> None:
    """EA and EI of a round wire; the hold of a wire goes before that of the model."""
    raw = cases.small()
    raw["model"] = {"bone_hold": "built in"}
    raw["wire"][1]["bone_hold"] = "pivot"
    raw["wire"][2].update(E_MPa=100_000.0, nu=0.3, diameter_mm=2.0)
    wires = discretise(lay_out(raw)).model.wires[0]
    np.testing.assert_array_equal(wires.turns[:2], [[True] * 4, [True, False, False, True]])
    assert wires.EA[0] == pytest.approx(193_000.0 * np.pi * 1.8**2 / 4.0)
    assert wires.EA[2] == pytest.approx(100_000.0 * np.pi)
    assert wires.EI[2] == pytest.approx(100_000.0 * np.pi / 4.0)


@pytest.mark.parametrize(
    "name", ["ring spacer", "distal fragment rod", "proximal fragment from 1 to 2", "Ω", "W1"]
)
@pytest.mark.parametrize("kind", ["ring", "rod", "wire"])
def test_any_name_will_do(kind: str, name: str) -> None:
    """Names are labels: they decide nothing, and none of them breaks the model."""
    raw: dict[str, Any] = cases.small()
    if kind == "ring":
        for w in raw["wire"][:2]:
            w["ring"] = name
        for rod in raw["rod"]:
            rod["rings"][0] = name
    raw[kind][0]["name"] = name
    before = cases.answers(cases.small()).stiffness
    assert dict(cases.answers(raw).stiffness) == pytest.approx(dict(before), rel=1e-9)
