"""Bone ends that touch, and callus, under load: springs side by side, order of touching, wedges."""

from math import pi, radians, tan
from typing import Any

import numpy as np
import pytest

from fem import Solution, solve
from frames.fracture import bone_compression, faces_result, points_of_side
from frames.gap import gap_directions, mirror
from frames.loading import load_vector
from frames.onset import KINK_TOLERANCE
from frames.pretension import Pretensioned
from tests.frames import cases
from tests.frames.at_rest import stiffness
from tests.frames.at_stages import before_load, steps_to_one, walk
from tests.frames.cases import Raw, answers, axial, wrench

AREA = pi * (26.0**2 - 14.0**2) / 4.0


def touching(raw: Raw, gap: float = 0.5, **contact: Any) -> Raw:
    """Faces that may touch."""
    contact = {"friction": 0.0, **contact}
    return {**raw, "bone": {**raw["bone"], "gap_mm": gap, "contact": contact}}


def open_gap(raw: Raw) -> Raw:
    """The same ends, which do not touch."""
    return {**raw, "bone": {k: v for k, v in raw["bone"].items() if k != "contact"}}


def loaded(pre: Pretensioned, steps: int = 1) -> Solution:
    return walk(pre, steps_to_one(steps))[-1].solution


def movement(pre: Pretensioned, u: np.ndarray) -> np.ndarray:
    return gap_directions(pre.parts, pre.system).T @ (u - pre.u)


def bone_N(pre: Pretensioned, found: Solution) -> float:
    passed = bone_compression(found.response, 0)
    assert passed is not None
    return passed


def on_proximal_face(found: Solution, pre: Pretensioned) -> np.ndarray:
    """(6,) anatomical wrench of the distal face on the proximal one about the gap's centre."""
    contacts, state = pre.system.model.contacts, found.response.contacts
    assert state is not None
    points = pre.system.model.points[contacts.nodes[:, 1]]
    block = -contacts.jump[:, :, 9:12]  # U_B = u - [a]× θ: arms from the node to the point
    arms = np.stack([block[:, 2, 1], block[:, 0, 2], block[:, 1, 0]], axis=-1)
    force = state.force[0]
    total = np.concatenate([force.sum(axis=0), np.cross(points + arms, force).sum(axis=0)])
    return total * mirror(pre.parts.construct.sign)


# what the faces take, the frame does not -------------------------------------------------------


@pytest.mark.parametrize("P", [60.0, 200.0])
@pytest.mark.parametrize("layer", [1.0, 50.0])
def test_faces_and_frame_side_by_side(P: float, layer: float) -> None:
    """Two springs in parallel once the gap is closed: the frame, as it is alone at the same closing
    under the rest of the load, and the faces with E A / layer past the gap."""
    pre = before_load(touching(cases.symmetric(loads=[axial("a", P)]), layer_mm=layer))
    found = loaded(pre)
    closing, bone = -movement(pre, found.u[0])[2], bone_N(pre, found)
    assert closing > 0.5
    assert bone == pytest.approx((closing - 0.5) * 17_000.0 * AREA / layer, rel=1e-7)
    alone = before_load(cases.symmetric(loads=[axial("a", P)], gap=0.5))
    vector = load_vector(alone.parts.construct.case.load[0], alone.parts, alone.system)
    D = gap_directions(alone.parts, alone.system)
    rest = vector.force + bone * D[:, 2]
    law, words = alone.law, ["rest"]
    far = solve(alone.system, rest[None], law, alone.u[None], words, held=vector.held)
    assert -movement(alone, far.u[0])[2] == pytest.approx(closing, rel=1e-6)


@pytest.mark.parametrize("friction", [0.0, 0.5])
def test_the_frame_bears_load_and_faces(friction: float) -> None:
    """Equilibrium of both fragments: the same frame without contact, under the load and the forces
    of the faces as loads, stands in the same place. A skew load on an oblique fracture of a left
    leg: all six components act."""
    load = wrench("all at once", (8.0, -6.0, -90.0), (0.5, -0.3, 0.4))
    raw = cases.small(side="left", loads=[load])
    raw = touching(raw, 0.3, friction=friction, obliquity_deg=25.0, obliquity_bearing_deg=70.0)
    pre = before_load(raw)
    found = loaded(pre, 3)
    faces = on_proximal_face(found, pre)
    assert np.abs(faces[:3]).min() > 0.5
    alone = before_load(open_gap(raw))
    vector = load_vector(alone.parts.construct.case.load[0], alone.parts, alone.system)
    force = vector.force + gap_directions(alone.parts, alone.system) @ faces
    same = solve(alone.system, force[None], alone.law, alone.u[None], ["faces"], held=vector.held)
    # forces of the faces act where these were built, first order: moments err by force × shift
    there, here = movement(pre, found.u[0]), movement(alone, same.u[0])
    assert np.abs(there - here)[:3].max() < 2e-3 * np.abs(there[:3]).max()
    assert np.abs(there - here)[3:].max() < 1e-2 * np.abs(there[3:]).max()


def test_share_of_the_bone() -> None:
    """Nothing before touching, then more and more, never all; as the load is shared."""
    loads = [axial(f"{P} N", P) for P in (5.0, 30.0, 100.0, 300.0)]
    result = answers(touching(cases.symmetric(loads=loads), friction=0.3))
    shares = [(load.bone_share_percent or 0.0) / 100.0 for load in result.loads]
    assert shares[0] == 0.0
    assert shares == sorted(shares)
    assert shares[-1] < 1.0
    assert shares[-1] > 0.5
    for load, share, P in zip(result.loads, shares, (5.0, 30.0, 100.0, 300.0), strict=True):
        assert load.bone_N == pytest.approx(share * P, abs=1e-9)
        assert load.faces is not None
        assert load.faces.pressed_N == pytest.approx(load.bone_N, abs=1e-9)  # square to the bone
        assert load.faces.touching == (1.0 if load.bone_N else 0.0)


# which side first ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("offset", "order"),
    [
        ([3.0, 0.0], ["anterior", ("lateral", "medial"), "posterior"]),
        ([-3.0, 0.0], ["posterior", ("lateral", "medial"), "anterior"]),
        ([0.0, 3.0], ["medial", ("anterior", "posterior"), "lateral"]),
        ([0.0, -3.0], ["lateral", ("anterior", "posterior"), "medial"]),
    ],
)
def test_the_loaded_side_touches_first(offset: list[float], order: list[Any]) -> None:
    """On either leg; the far side last, or, lifted off by the tilt, never."""
    raw = cases.symmetric(side="left", loads=[axial("beside", 150.0, offset_mm=offset)])
    touches = answers(touching(raw, 0.5)).touches
    sides = [t.side for t in sorted(touches, key=lambda t: t.share)]
    assert sides[0] == order[0]
    assert sorted(sides[1:3]) == sorted(order[1])
    assert sides[3:] in ([], [order[2]])
    assert [t.load for t in touches] == ["beside"] * len(touches)


def test_load_at_which_a_side_touches() -> None:
    """The first one: where the open frame, loaded like that, closes the gap on that side."""
    at = axial("beside", 60.0, offset_mm=[5.0, -4.0])
    raw = touching(cases.small(loads=[at]), 0.5)
    touches = answers(raw).touches
    first = min(touches, key=lambda t: t.share)
    load = first.load_N
    assert load is not None
    assert first.share == pytest.approx(load / 60.0)

    def opening(P: float) -> float:
        only = cases.with_loads(open_gap(raw), {**at, "axial_N": P})
        alone = before_load(only)
        u = loaded(alone).u[0]
        move = movement(alone, u) * mirror(alone.parts.construct.sign)
        bearings = np.radians(30.0 * np.arange(12))
        x, y = 13.0 * np.cos(bearings), 13.0 * np.sin(bearings) * alone.parts.construct.sign
        along = 0.5 + move[2] + move[3] * y - move[4] * x
        return float(along[points_of_side(first.side, 12)[:12]].min())

    tolerance = KINK_TOLERANCE * 60.0
    assert opening(load - tolerance) > 0.0 > opening(load)


# wedges ----------------------------------------------------------------------------------------


def _oblique(P: float, **contact: Any) -> Raw:
    raw = cases.symmetric(loads=[axial("a", P)])
    return touching(raw, 0.3, obliquity_deg=30.0, **contact)


def test_without_friction_faces_push_square_to_their_plane() -> None:
    """The bone's part of the load goes on a plane that rises forward by α: the proximal end is
    pushed back with B tan α, and the frame bears that."""
    pre = before_load(_oblique(100.0))
    found = loaded(pre)
    B = bone_N(pre, found)
    faces = on_proximal_face(found, pre)
    assert B > 5.0
    assert faces[0] == pytest.approx(-B * tan(radians(30.0)), rel=1e-9)
    assert faces[1] == pytest.approx(0.0, abs=1e-7)
    state = found.response.contacts
    assert state is not None
    told = faces_result(state, 0, pre.system.model.contacts.normal[0])
    assert told.pressed_N == pytest.approx(B / np.cos(radians(30.0)), rel=1e-9)
    assert told.rubbed_N == pytest.approx(0.0, abs=1e-9)
    assert movement(pre, found.u[0])[0] < -0.05


@pytest.mark.parametrize("bearing", [0.0, 90.0, 200.0])
@pytest.mark.parametrize("side", ["right", "left"])
def test_ends_slide_down_the_plane(bearing: float, side: str) -> None:
    """The proximal end, pressed on a plane that rises towards a bearing, goes the other way."""
    raw = _oblique(100.0, obliquity_bearing_deg=bearing)
    raw["case"]["side"] = side
    pre = before_load(raw)
    move = movement(pre, loaded(pre).u[0])[:2]
    rises = np.array([np.cos(radians(bearing)), np.sin(radians(bearing))])
    assert move @ rises < -0.05
    assert move @ rises == pytest.approx(-np.linalg.norm(move), rel=0.05)


def test_friction_beyond_the_angle_of_the_plane_locks_the_ends() -> None:
    """tan 30° = 0.58: with friction of 0.7 more load slides nothing, and the frame bears no more;
    with 0.4 it slides on."""
    slid = {}
    for friction in (0.0, 0.4, 0.7):
        raw = _oblique(400.0, friction=friction)
        pre = before_load(raw)
        steps = walk(pre, [0.2, 0.4, 0.6, 0.8, 1.0])
        states = [step.solution.response.contacts for step in steps]
        moves = np.array([movement(pre, step.solution.u[0]) for step in steps])
        bone = np.array([bone_N(pre, step.solution) for step in steps])
        slid[friction] = moves[-1, 0] - moves[1, 0]
        last = states[-1]
        assert last is not None
        if friction == 0.7:
            assert not last.slipping[0][last.pressure[0] > 0.0].any()
            # all of the last 240 N but what the give of the faces lets through
            assert bone[-1] - bone[1] == pytest.approx(240.0, rel=5e-3)
        if friction == 0.4:
            told = faces_result(last, 0, pre.system.model.contacts.normal[0])
            assert told.sliding == 1.0
            assert told.rubbed_N == pytest.approx(0.4 * told.pressed_N, rel=1e-6)
    assert slid[0.0] < slid[0.4] < -0.1
    assert abs(slid[0.7]) < 1e-3 * abs(slid[0.0])


# callus ----------------------------------------------------------------------------------------


def _healing(E_MPa: float, **other: Any) -> Raw:
    raw = cases.stiff_bone(cases.symmetric(gap=3.0, **other))
    inner = (26.0**4 - 20_000.0 * 64.0 / pi) ** 0.25  # I = 20,000 mm⁴
    raw["bone"].update(inner_mm=inner, callus={"E_MPa": E_MPa})
    return raw


@pytest.mark.parametrize("plane", ["bending_ap_Nm_per_deg", "bending_ml_Nm_per_deg"])
def test_callus_at_the_end_of_healing(plane: str) -> None:
    """15 N·m/deg of bending is called healed (Richardson and others, J Bone Joint Surg Br
    1994;76:389-94, as quoted by later papers). E I / l is that for 129 MPa over 3 mm with I =
    20,000 mm⁴; beside a frame it adds to the frame's own. (The bone beside it, as stiff as a case
    allows, gives by 0.3 %.)"""
    both = stiffness(_healing(129.0))[plane]
    frame = stiffness(_open_callus())[plane]
    assert 129.0 * 20_000.0 / 3.0 * pi / 180.0 / 1000.0 == pytest.approx(15.0, abs=0.02)
    assert both - frame == pytest.approx(15.0, rel=0.01)


def _open_callus() -> Raw:
    raw = _healing(1.0)
    del raw["bone"]["callus"]
    return raw


@pytest.mark.parametrize("E_MPa", [0.1, 1.0, 20.0])
def test_load_share_of_the_frame(E_MPa: float) -> None:
    """K_frame / (K_frame + K_callus): definition, springs side by side."""
    K = stiffness(_open_callus())["axial_N_per_mm"]
    inner = (26.0**4 - 20_000.0 * 64.0 / pi) ** 0.25
    callus = E_MPa * pi * (26.0**2 - inner**2) / 4.0 / 3.0
    load = answers(_healing(E_MPa, loads=[axial("a", 1.0)])).loads[0]
    assert load.bone_share_percent is not None
    assert load.faces is None
    assert 1.0 - load.bone_share_percent / 100.0 == pytest.approx(K / (K + callus), rel=2e-3)
    assert load.bone_N == pytest.approx(callus * load.closing_mm, rel=1e-3)


def test_no_share_without_a_bridge_or_axial_load() -> None:
    raw = touching(cases.small(loads=[wrench("turn", moment=(0.0, 0.0, 0.2))]))
    assert answers(raw).loads[0].bone_share_percent is None
    load = answers(cases.small(loads=[axial("a", 10.0)])).loads[0]
    assert load.bone_share_percent is None
    assert load.bone_N is None
