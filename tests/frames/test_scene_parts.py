"""The scene of half-pins, posts, olives, struts, rings in halves, callus and faces that touch."""

from typing import Any

import numpy as np
import pytest

from fem import node_displacements
from frames import case_from_dict, check_with_states
from frames.checking import Checked
from frames.picture import Scene, Strand
from frames.scene_of import frame_scene
from frames.wire_answers import span_tensions
from tests.frames import cases
from tests.frames.cases import Raw, axial
from tests.frames.real_frame import BOLTED_DEG, HINGED_DEG, pinned_frame, real_frame


class Drawn:
    """A checked frame, its scene, and where its nodes stand under the load drawn."""

    def __init__(self, raw: Raw, load: str | None = None) -> None:
        self.answer: Checked = check_with_states(case_from_dict(raw))
        self.scene: Scene = frame_scene(self.answer, load)
        self.place = self.answer.pre.parts.construct
        said = self.scene.notes[0].removeprefix("load: ").split(", ")[0]
        self.load = self.answer.result.load(said)
        number = [r.name for r in self.answer.result.loads].index(said)
        assert self.answer.solution is not None
        u = self.answer.solution.u[number]
        self.moved = node_displacements(self.answer.pre.system, u)[:, :3]
        tensions = span_tensions(self.answer.solution.response)[number]
        self.spans = dict(zip(self.answer.pre.parts.wire_names, tensions, strict=True))

    def strand(self, name: str, kind: str) -> Strand:
        (found,) = (s for s in self.scene.strands if (s.name, s.kind) == (name, kind))
        return found

    def kind(self, kind: str) -> list[Strand]:
        return [s for s in self.scene.strands if s.kind == kind]

    def shift(self, node: str) -> Any:
        return self.moved[self.answer.pre.parts.model.node(node)]


@pytest.fixture(scope="module", params=["right", "left"])
def drawn(request: pytest.FixtureRequest) -> Drawn:
    return Drawn(real_frame(request.param))


def direction(side: str, bearing: float) -> Any:
    """From anterior (+x) towards medial: +y on a right leg, -y on a left one."""
    a = np.radians(bearing)
    return np.array([np.cos(a), np.sin(a) * (1.0 if side == "right" else -1.0), 0.0])


def test_a_pin_runs_from_its_clamp_to_its_last_cortex(drawn: Drawn) -> None:
    assert [s.name for s in drawn.kind("pin")] == ["P1", "P2", "P3"]
    for place in drawn.place.pins:
        s = drawn.strand(place.pin.name, "pin")
        assert s.size == (place.pin.diameter_mm,)
        assert s.value is None
        np.testing.assert_allclose(s.points[[0, -1]], place.stations[[0, -1]], atol=1e-9)
        last = {1: "near cortex", 2: "far cortex"}[place.pin.cortices]
        for k, station in ((0, "pin clamp"), (-1, last)):
            there = drawn.shift(f"{place.pin.name} {station}")
            np.testing.assert_allclose(s.moved[k] - s.points[k], there, atol=1e-8)
        bearing = direction(drawn.scene.side, place.pin.bearing_deg)
        assert s.points[0] @ bearing > 70.0, "the clamp is on the side from which it enters"
        assert abs(s.points[-1] @ bearing) < 13.0
        # one cortex: ends on this side of the axis, two: beyond it
        assert (s.points[-1] @ bearing > 0.0) == (place.pin.cortices == 1)


def test_posts_join_ring_and_clamp(drawn: Drawn) -> None:
    posts = drawn.kind("post")
    assert [s.size for s in posts] == [(8.0,)] * 3  # two of W3, one of P2
    for post, s in zip(drawn.place.posts, posts, strict=True):
        holder = "P2" if "P2" in post.name else "W3"
        ring = drawn.place.ring("R1" if holder == "P2" else "R2")
        foot = s.points[0] - ring.centre
        assert foot @ ring.normal == pytest.approx(0.0, abs=1e-9)
        assert np.linalg.norm(foot) == pytest.approx(ring.ring.hole_circle_mm / 2.0)
        rise = s.points[-1] - s.points[0]
        assert np.linalg.norm(np.cross(rise, ring.normal)) < 1e-9
        held = drawn.strand(holder, "pin" if holder == "P2" else "wire")
        ends = [k for k in (0, -1) if np.allclose(held.points[k], s.points[-1], atol=1e-9)]
        assert len(ends) == 1
        np.testing.assert_allclose(s.moved[-1], held.moved[ends[0]], atol=1e-8)


def test_rigid_clamps_off_their_ring_are_held_by_a_bar(drawn: Drawn) -> None:
    """P3, and both ends of W2, which its tilt takes off the ring; not clamps on a face."""
    arms = {s.name: s for s in drawn.kind("arm")}
    clamps = {"P3 pin clamp": "R4", "W2 start clamp": "R1", "W2 end clamp": "R1"}
    assert set(arms) == {f"arm of {clamp}" for clamp in clamps}
    for clamp, on in clamps.items():
        s, ring = arms[f"arm of {clamp}"], drawn.place.ring(on)
        assert (s.points[0] - ring.centre) @ ring.normal == pytest.approx(0.0, abs=1e-9)
        np.testing.assert_allclose(s.moved[-1] - s.points[-1], drawn.shift(clamp), atol=1e-9)
        before, after = (np.linalg.norm(line[-1] - line[0]) for line in (s.points, s.moved))
        assert after == pytest.approx(before, rel=1e-3)  # turns as a body, to first order


@pytest.mark.parametrize(("wire", "olive"), [("W5", "start"), ("W6", "end")])
def test_an_olive_lies_on_its_wire_outside_the_cortex_on_its_side(
    drawn: Drawn, wire: str, olive: str
) -> None:
    bead, line = drawn.strand(f"olive of {wire}", "olive"), drawn.strand(wire, "wire")
    (entry,) = (w for w in drawn.place.case.wire if w.name == wire)
    assert bead.size == (2.5 * 1.8,)
    towards = direction(drawn.scene.side, entry.bearing_deg) * (1.0 if olive == "start" else -1.0)
    assert (bead.points @ towards > 0.0).all()
    away = np.hypot(bead.points[:, 0], bead.points[:, 1])
    assert away.min() == pytest.approx(13.0)  # at the outside of a bone of 26 mm
    assert away.max() == pytest.approx(13.0 + 3.0 * 1.8)
    for of_bead, of_wire in ((bead.points, line.points), (bead.moved, line.moved)):
        pieces = np.diff(of_wire, axis=0)
        for point in of_bead:
            t = np.einsum("ij,ij->i", point - of_wire[:-1], pieces) / np.sum(pieces**2, axis=1)
            near = of_wire[:-1] + np.clip(t, 0.0, 1.0)[:, None] * pieces
            assert np.linalg.norm(near - point, axis=1).min() < 0.02
    # a bead against the bone moves with the cortex that it touches
    k = int(np.argmin(away))
    cortex = drawn.shift(f"{wire} {olive} cortex")
    np.testing.assert_allclose(bead.moved[k] - bead.points[k], cortex, atol=1e-9)


def test_only_olive_wires_have_beads(drawn: Drawn) -> None:
    assert {s.name for s in drawn.kind("olive")} == {"olive of W5", "olive of W6"}


def test_every_span_has_the_colour_of_its_own_tension(drawn: Drawn) -> None:
    for wire in drawn.load.wires:
        s = drawn.strand(wire.name, "wire")
        assert s.value is not None
        np.testing.assert_allclose(s.value[[0, -1]], wire.legs_N)
        assert len(np.unique(s.value)) <= 3
        (place,) = (w for w in drawn.place.wires if w.wire.name == wire.name)
        along = place.stations[3] - place.stations[0]
        at = (s.points - place.stations[0]) @ along / (along @ along)
        assert (np.diff(at) > 0.0).all()
        first, second = ((place.stations[[1, 2]] - place.stations[0]) @ along) / (along @ along)
        assert np.ptp(s.value[at <= first + 1e-9]) == 0.0
        assert np.ptp(s.value[at > second + 1e-9]) == 0.0
        assert np.ptp(s.value[(at > first + 1e-9) & (at <= second + 1e-9)]) == 0.0
        (middle,) = np.unique(s.value[(at > first + 1e-9) & (at <= second + 1e-9)])
        assert middle == pytest.approx(drawn.spans[wire.name][1])
    assert min(np.abs(np.diff(drawn.spans["W7"]))) > 1.0, "spans that grip keeps apart"


def test_held_wires_are_unbroken_and_bend_as_their_clamps_hold_them(drawn: Drawn) -> None:
    """Between stations that move differently the wire starts flat at its clamp."""
    for place in drawn.place.wires:
        s = drawn.strand(place.wire.name, "wire")
        away = s.moved - s.points
        for station in ("start clamp", "start cortex", "end cortex", "end clamp"):
            name = f"{place.wire.name} {station}"
            there = drawn.answer.pre.parts.model.points[drawn.answer.pre.parts.model.node(name)]
            k = int(np.argmin(np.linalg.norm(s.points - there, axis=1)))
            np.testing.assert_allclose(s.points[k], there, atol=1e-9)
            np.testing.assert_allclose(away[k], drawn.shift(name), atol=1e-9)
        steps = np.linalg.norm(np.diff(away, axis=0), axis=1)
        assert steps.max() < 0.4 * np.linalg.norm(away, axis=1).max()


def test_an_ideal_and_a_held_wire_are_drawn_alike() -> None:
    """A slip load that nothing reaches brings the general law in and changes no answer."""
    raw = cases.frame(loads=[axial("a", 200.0)])
    ideal = frame_scene(check_with_states(case_from_dict(raw)))
    held = frame_scene(check_with_states(case_from_dict(cases.every(raw, "wire", slip_N=1e5))))
    for a, b in zip(ideal.strands, held.strands, strict=True):
        assert a.points.shape == b.points.shape
        np.testing.assert_allclose(a.moved, b.moved, atol=1e-4)


def test_rings_lie_in_their_planes_and_halves_are_drawn_whole(drawn: Drawn) -> None:
    for place in drawn.place.rings:
        s = drawn.strand(place.ring.name, "ring")
        assert s.closed == (place.ring.name != "R1")
        arm = s.points - place.centre
        np.testing.assert_allclose(arm @ place.normal, 0.0, atol=1e-9)
        np.testing.assert_allclose(np.linalg.norm(arm, axis=1), place.radius)
        if s.closed:
            turn = np.degrees(np.unwrap(np.arctan2(arm @ place.axes[1], arm @ place.axes[0])))
            steps = np.diff(np.append(turn, turn[0] + 360.0))
            assert steps.min() > 0.0 and steps.max() <= 9.0 + 1e-9
    top = drawn.strand("R1", "ring").points
    front = top[np.argmax(top[:, 0]), 2]
    assert front == pytest.approx(140.0 + 87.0 * np.sin(np.radians(8.0)), abs=0.3)
    assert front > top[np.argmin(top[:, 0]), 2] + 10.0, "raised in front"


def test_joints_of_halves_are_marked(drawn: Drawn) -> None:
    """First joint at its bearing, the other opposite; a hinge along the ring's axis, bolts across
    the ring."""
    assert [s.name for s in drawn.kind("hinge")] == ["R2 hinge"]
    assert [s.name for s in drawn.kind("joint")] == ["R2 joint", "R3 joint", "R3 joint"]
    marks = {
        "R2": [(drawn.kind("hinge")[0], HINGED_DEG), (drawn.kind("joint")[0], HINGED_DEG + 180.0)],
        "R3": [
            (drawn.kind("joint")[1], BOLTED_DEG),
            (drawn.kind("joint")[2], BOLTED_DEG + 180.0),
        ],
    }
    for name, found in marks.items():
        ring = drawn.place.ring(name)
        for s, bearing in found:
            out = direction(drawn.scene.side, bearing)
            middle = 0.5 * (s.points[0] + s.points[-1])
            np.testing.assert_allclose(middle, ring.centre + ring.radius * out, atol=1e-9)
            along = (s.points[-1] - s.points[0]) / np.linalg.norm(s.points[-1] - s.points[0])
            wanted = ring.normal if s.kind == "hinge" else out
            assert abs(along @ wanted) == pytest.approx(1.0)
            round_ = drawn.strand(name, "ring")
            k = int(np.argmin(np.linalg.norm(round_.points - middle, axis=1)))
            np.testing.assert_allclose(round_.points[k], middle, atol=1e-9)
            moved = 0.5 * (s.moved[0] + s.moved[-1]) - middle
            np.testing.assert_allclose(moved, round_.moved[k] - round_.points[k], atol=1e-3)


def test_struts_go_from_hole_to_hole(drawn: Drawn) -> None:
    """Also telescopic and hinged ones, whose ends move with their holes."""
    for number, bearings in ((1, (20.0, 50.0)), (2, (-20.0, -50.0))):
        s = drawn.strand(f"strut {number}", "rod")
        assert s.size == (8.0,)
        for ring, bearing in zip(("R1", "R2"), bearings, strict=True):
            place = drawn.place.ring(ring)
            k = int(np.argmin(np.abs((s.points - place.centre) @ place.normal)))
            a = np.radians(bearing) * (1.0 if drawn.scene.side == "right" else -1.0)
            hole = place.centre + 87.0 * (np.cos(a) * place.axes[0] + np.sin(a) * place.axes[1])
            np.testing.assert_allclose(s.points[k], hole, atol=1e-9)
            there = drawn.shift(f"strut {number} in {ring}")
            np.testing.assert_allclose(s.moved[k] - s.points[k], there, atol=1e-6)


def test_callus_fills_the_gap(drawn: Drawn) -> None:
    callus = drawn.strand("callus", "callus")
    assert callus.size == (34.0, 14.0)
    ends = [drawn.strand(f"{f} fragment", "bone") for f in ("distal", "proximal")]
    for k, bone in zip((0, -1), ends, strict=True):
        np.testing.assert_allclose(callus.points[k], bone.points[0], atol=1e-9)
        np.testing.assert_allclose(callus.moved[k], bone.moved[0], atol=1e-8)


def test_without_wires() -> None:
    drawn = Drawn(pinned_frame())
    assert not drawn.kind("wire") and not len(drawn.scene.values())
    assert drawn.scene.colour_limits() is None
    assert len(drawn.kind("pin")) == len(drawn.kind("post")) == 4


def touching(obliquity: float = 0.0, gap: float = 0.3, **more: Any) -> Raw:
    loads = [axial("a", 200.0), axial("b", 400.0)]
    raw = {**cases.frame(gap=gap, loads=loads), **more}
    raw["bone"]["contact"] = {"obliquity_deg": obliquity, "obliquity_bearing_deg": 90.0}
    return raw


@pytest.mark.parametrize("obliquity", [0.0, 30.0])
def test_faces_that_touch_under_every_load(obliquity: float) -> None:
    drawn = Drawn(touching(obliquity))
    assert drawn.load.name == "a", "the least movement, as no load leaves the gap open"
    assert drawn.load.faces is not None
    ((_, words),) = drawn.scene.marks
    assert words == "gap closed"
    assert drawn.scene.magnification == 1.0
    share, pressed = drawn.load.faces.touching, drawn.load.faces.pressed_N
    said = f"at {share:.0%} of their points, pressed together by {pressed:.0f} N"
    assert drawn.scene.notes[1] == f"fracture faces touch {said}"
    a = np.radians(obliquity)
    for bone in drawn.kind("bone"):
        # rises towards medial, +y of a right leg
        assert bone.cut == (pytest.approx((0.0, -np.sin(a), np.cos(a))) if obliquity else None)


def test_faces_that_do_not_touch() -> None:
    drawn = Drawn(touching(gap=20.0))
    assert drawn.scene.notes[1] == "fracture faces may touch; they do not here"
    ((_, words),) = drawn.scene.marks
    assert words == f"gap {20.0 - drawn.load.closing_mm:.1f} mm"
    assert drawn.scene.magnification * drawn.load.closing_mm < 20.0


@pytest.mark.parametrize(("longer", "contact"), [(1.0, False), (-3.0, True)])
def test_turned_nuts_are_there_without_load(longer: float, contact: bool) -> None:
    """The frame without load is the one with its nuts turned, not the one as built; the wires give
    a little, so that the gap of 2 mm does not open by all of the rods' millimetre."""
    raw = cases.symmetric(loads=[axial("a", 20.0)])
    raw["nut_turn"] = [{"name": "n", "rings": ["R2", "R3"], "lengthen_mm": longer}]
    if contact:
        raw["bone"]["contact"] = {}
    drawn = Drawn(raw)
    bottom, top = (drawn.strand(f"{f} fragment", "bone") for f in ("distal", "proximal"))
    before = float(top.points[0, 2] - bottom.points[0, 2])
    after = float(top.moved[0, 2] - bottom.moved[0, 2])
    assert before - after == pytest.approx(drawn.load.closing_mm, abs=1e-6)
    ((_, words),) = drawn.scene.marks
    if contact:
        assert words == "gap closed"
        assert abs(before) < 0.01
        assert drawn.scene.magnification > 1.0  # a closed gap cannot be drawn closed by mistake
    else:
        assert words == f"gap {after:.1f} mm"
        assert before == pytest.approx(3.0, abs=0.01)
