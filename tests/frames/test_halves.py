"""Rings in two halves: stiff joints make a full ring, hinges and play open it.

What an unjointed or ideal ring does is textbook mechanics (``tests/published``); no source needed
here.
"""

import numpy as np
import pytest

import frames.discretise_ring as rings
from fem import Material
from frames import case_from_dict
from frames.construct import construct
from frames.ring_nodes import RingPlace
from tests.frames import cases
from tests.frames.at_rest import AtRest, at_rest, stiffness
from tests.frames.cases import Raw


def halves(kind: str = "bolted", at: float = 90.0, **other: float) -> Raw:
    raw = cases.small()
    for ring in raw["ring"]:
        ring.update(halves=kind, split_bearing_deg=at, **other)
    return raw


def _ring(raw: Raw) -> RingPlace:
    return construct(case_from_dict(raw)).rings[0]


@pytest.mark.parametrize("side", ["right", "left"])
def test_two_nodes_at_each_cut(side: str) -> None:
    raw = halves(at=100.0)
    raw["case"]["side"] = side
    ring = _ring(raw)
    full = _ring(cases.small(side=side))
    assert len(ring.angles) == len(full.angles) + 4
    cut = np.radians(100.0 if side == "right" else -100.0)
    for k, (i, j) in enumerate(ring.joints):
        np.testing.assert_allclose(ring.point(i), ring.point(j), atol=1e-12)
        at = [np.cos(cut + k * np.pi), np.sin(cut + k * np.pi), 0.0]
        np.testing.assert_allclose(ring.outward(i), at, atol=1e-12)
    spans = ring.spans()
    assert len(spans) == len(full.angles) + 2
    assert not set(ring.joints) & set(spans)
    length = sum((ring.angles[j] - ring.angles[i]) % (2.0 * np.pi) for i, j in spans)
    assert length == pytest.approx(2.0 * np.pi)
    for name, node in ring.node_of.items():
        np.testing.assert_allclose(ring.point(node), full.point(full.node_of[name]), atol=1e-9)


def test_what_lies_at_the_cut_belongs_to_one_half() -> None:
    """A clamp a hair before the cut hangs on the node before it, one behind it on the other."""
    raw = halves(at=50.0)  # W1 starts there
    raw["wire"][0]["bearing_deg"] = 49.99
    ring = _ring(raw)
    before, after = ring.joints[0]
    assert ring.node_of["W1 start clamp"] == before
    raw["wire"][0]["bearing_deg"] = 50.01
    assert _ring(raw).node_of["W1 start clamp"] == after
    assert len(ring.angles) == len(_ring(raw).angles)


def test_joints_as_stiff_as_the_ring_make_a_full_ring() -> None:
    full = stiffness(cases.small())
    for at in (0.0, 37.0, 90.0):
        assert stiffness(halves(at=at, joint_Nm_per_deg=1e6)) == pytest.approx(full, rel=0.01)


def test_bolted_halves_are_a_little_softer() -> None:
    full, bolted, hinged = (stiffness(r) for r in (cases.small(), halves(), halves("hinged")))
    for name in full:
        assert bolted[name] < full[name]
        assert hinged[name] < full[name]
        assert min(bolted[name], hinged[name]) > 0.99 * full[name]  # rods and wires hold the shape


def test_faces_that_do_not_shift(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten times as stiff against shifting changes less than 0.1 %."""
    found = [stiffness(halves()), stiffness(halves("hinged"))]
    monkeypatch.setattr(rings, "FACES_N_PER_MM", 10.0 * rings.FACES_N_PER_MM)
    stiffer = [stiffness(halves()), stiffness(halves("hinged"))]
    for one, other in zip(found, stiffer, strict=True):
        assert other == pytest.approx(one, rel=1e-3)


def test_stiffness_of_a_bolted_joint() -> None:
    """20 mm of the ring's section, b = 14 mm wide, h = 5 mm thick: b³h/12 in its plane, bh³/12
    out of it."""
    ring = case_from_dict(halves()).ring[0]
    E, nu = ring.elastic
    turning = rings.joint_turning(ring, rings.ring_section(ring), Material(E, nu, "steel"))
    assert turning[1] == pytest.approx(E * 14.0 * 5.0**3 / 12.0 / 20.0)
    assert turning[2] == pytest.approx(E * 5.0 * 14.0**3 / 12.0 / 20.0)
    # St Venant, b/h = 2.8: J = 0.258 b h³ (Timoshenko & Goodier, table of §109: 0.249 at 2.5 and
    # 0.263 at 3)
    G = E / 2.0 / (1.0 + nu)
    assert turning[0] == pytest.approx(G * 0.258 * 14.0 * 5.0**3 / 20.0, rel=0.01)
    given = case_from_dict(halves(joint_Nm_per_deg=8.0)).ring[0]
    turning = rings.joint_turning(given, rings.ring_section(ring), Material(E, nu, "steel"))
    np.testing.assert_allclose(turning, 8.0 * 1000.0 * 180.0 / np.pi)


def _opening(found: AtRest, name: str = "R1") -> float:
    """Turn (rad) of the first joint about the ring's axis, by pretension."""
    ring = found.parts.construct.ring(name)
    before, after = (found.parts.model.node(f"ring {name} node {k + 1}") for k in ring.joints[0])
    turn = found.moved[after, 3:] - found.moved[before, 3:]
    return float(turn @ ring.normal)


def test_a_hinge_opens_under_the_pull_of_wires() -> None:
    """Wires across the hinge's diameter push the ring inwards at their clamps and out at the hinge:
    there a full ring carries bending, and a hinge turns instead."""
    bolted, hinged = (at_rest(halves(kind, at=0.0)) for kind in ("bolted", "hinged"))
    assert _opening(hinged) > 5.0 * _opening(bolted) > 0.0


def test_a_hinge_carries_no_bending() -> None:
    """In equilibrium of the pretensioned frame the joint passes nothing about the ring's axis,
    and the bolted one opposite does."""
    found = at_rest(halves("hinged"))
    model = found.parts.model
    for name, free in (("ring R1 joint 1", True), ("ring R1 joint 2", False)):
        j = model.joints.names.index(name)
        q = found.moved[model.joints.nodes[j]].ravel()
        moment = (model.joints.stiffness[j] * (model.joints.motion[j] @ q))[5]
        assert moment == 0.0 if free else abs(moment) > 100.0


@pytest.mark.parametrize("at", [40.0, 220.0])
def test_the_hinge_is_at_the_split_bearing(at: float) -> None:
    parts = at_rest(halves("hinged", at=at)).parts
    joints = parts.model.joints
    free = [j for j, name in enumerate(joints.names) if joints.stiffness[j, 5] == 0.0]
    assert [joints.names[j] for j in free] == ["ring R1 joint 1", "ring R2 joint 1"]
    for j in free:
        x, y, _ = parts.model.points[joints.nodes[j, 0]]
        assert np.degrees(np.arctan2(y, x)) % 360.0 == pytest.approx(at)


def test_play_lets_the_joints_open() -> None:
    """They turn through their play before they hold, and no farther than without any hold."""
    bolted, free = (_opening(at_rest(halves(at=0.0, joint_play_deg=p))) for p in (0.0, 10.0))
    for play in (0.05, 0.2, 0.4):
        opening = _opening(at_rest(halves(at=0.0, joint_play_deg=play)))
        assert bolted < opening < free
        assert opening > np.radians(play)
        # past the play it opens by what a bolted joint under the rest of the moment does
        rest = (1.0 - np.radians(play) / free) * bolted
        assert opening == pytest.approx(np.radians(play) + rest, rel=0.02)
