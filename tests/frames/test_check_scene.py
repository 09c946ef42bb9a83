"""The scene drawn of a checked frame: every part where it was built and where a load moves it."""

import numpy as np
import pytest

from fem import node_displacements
from frames import case_from_dict, check_with_states
from frames.checking import Checked
from frames.picture import Scene, Strand
from frames.scene_of import frame_scene
from tests.frames import cases
from tests.frames.cases import Raw, axial, every


def checked(raw: Raw) -> Checked:
    return check_with_states(case_from_dict(raw))


def strand(scene: Scene, name: str) -> Strand:
    (found,) = (s for s in scene.strands if s.name == name)
    return found


def _open_ring() -> Raw:
    raw = cases.small(loads=[axial("a", 30.0)])
    raw["ring"][0].update(arc_deg=300.0, opening_bearing_deg=90.0, centre_mm=[-5.0, 3.0])
    raw["wire"][1]["bearing_deg"] = 150.0
    return raw


ALL = {
    "demo": cases.demo(),
    "open ring": _open_ring(),
    "three through": {
        **cases.frame(levels=(90.0, 40.0, -40.0), rods=(), loads=[axial("a", 30.0)]),
        "rod": [
            {"rings": ["R3", "R1", "R2"], "bearing_deg": b, "diameter_mm": 6.0}
            for b in (0.0, 120.0, 240.0)
        ],
    },
    "one rod": {**cases.small(), "rod": cases.small()["rod"][:1]},
    "no tension": every(cases.small(loads=[axial("a", 5.0)]), "wire", tension_kgf=0.0),
}


@pytest.fixture(scope="module", params=ALL)
def drawn(request: pytest.FixtureRequest) -> tuple[Checked, Scene]:
    answer = checked(ALL[request.param])
    return answer, frame_scene(answer)


def test_every_part_is_there(drawn: tuple[Checked, Scene]) -> None:
    answer, scene = drawn
    case = answer.pre.parts.construct.case
    kinds = [s.kind for s in scene.strands]
    assert kinds.count("ring") == len(case.ring)
    assert kinds.count("rod") == len(case.rod)
    assert kinds.count("wire") == len(case.wire)
    assert kinds.count("bone") == 2
    assert {s.name for s in scene.strands if s.kind == "wire"} == {w.name for w in case.wire}
    for s in scene.strands:
        assert np.isfinite(s.points).all()
        assert np.isfinite(s.moved).all()


def test_wires_run_from_clamp_to_clamp(drawn: tuple[Checked, Scene]) -> None:
    answer, scene = drawn
    for place in answer.pre.parts.construct.wires:
        s = strand(scene, place.wire.name)
        np.testing.assert_allclose(s.points[[0, -1]], place.stations[[0, 3]], atol=1e-9)
        line = place.stations[3] - place.stations[0]
        off = np.cross(s.points - place.stations[0], line / np.linalg.norm(line))
        assert np.abs(off).max() < 1e-9
        assert s.size == (place.wire.diameter_mm,)
        assert s.value is not None
        assert np.ptp(s.value) == 0.0


def test_parts_meet_after_they_moved(drawn: tuple[Checked, Scene]) -> None:
    """Clamps and cortices of a wire move with their nodes; the wire is unbroken between."""
    answer, scene = drawn
    pre = answer.pre
    u = pre.u
    if answer.solution is not None:
        shown = scene.notes[0].removeprefix("load: ").split(", ")[0]
        u = answer.solution.u[[r.name for r in answer.result.loads].index(shown)]
    d = node_displacements(pre.system, u)[:, :3]
    model = pre.parts.model
    for place in pre.parts.construct.wires:
        s = strand(scene, place.wire.name)
        for station in ("start clamp", "start cortex", "end cortex", "end clamp"):
            node = model.node(f"{place.wire.name} {station}")
            k = int(np.argmin(np.linalg.norm(s.points - model.points[node], axis=1)))
            np.testing.assert_allclose(s.points[k], model.points[node], atol=1e-9)
            np.testing.assert_allclose(s.moved[k] - s.points[k], d[node], atol=1e-9)
        steps = np.linalg.norm(np.diff(s.moved - s.points, axis=0), axis=1)
        assert steps.max() < 0.5 * np.linalg.norm(s.moved - s.points, axis=1).max() + 1e-9


def test_rings_are_round(drawn: tuple[Checked, Scene]) -> None:
    answer, scene = drawn
    for place in answer.pre.parts.construct.rings:
        s = strand(scene, place.ring.name)
        away = np.linalg.norm(s.points - place.centre, axis=1)
        np.testing.assert_allclose(away, place.radius, rtol=1e-12)
        np.testing.assert_allclose(s.points[:, 2], place.ring.level_mm)
        full = place.ring.arc_deg == 360.0
        assert s.closed is full
        angles = np.unwrap(
            np.arctan2(s.points[:, 1] - place.centre[1], s.points[:, 0] - place.centre[0])
        )
        assert (np.diff(angles) > 0.0).all()  # once round, never back
        swept = np.degrees(angles[-1] - angles[0])
        assert swept < place.ring.arc_deg
        assert swept > (200.0 if full else 150.0)
        assert s.size == (place.ring.width_mm, place.ring.thickness_mm)


def test_an_open_ring_is_drawn_open() -> None:
    """No stroke crosses the opening."""
    answer = checked(_open_ring())
    s = strand(frame_scene(answer), "R1")
    assert not s.closed
    centre = answer.pre.parts.construct.rings[0].centre
    bearing = np.degrees(np.arctan2(s.points[:, 1] - centre[1], s.points[:, 0] - centre[0])) % 360
    assert not ((bearing > 60.0 + 1e-6) & (bearing < 120.0 - 1e-6)).any()


def test_bones_end_at_the_gap_and_at_their_ends(drawn: tuple[Checked, Scene]) -> None:
    answer, scene = drawn
    bone = answer.pre.parts.construct.case.bone
    for name, levels in (
        ("proximal fragment", (bone.gap_mm / 2, bone.proximal_end_mm)),
        ("distal fragment", (-bone.gap_mm / 2, bone.distal_end_mm)),
    ):
        s = strand(scene, name)
        np.testing.assert_allclose(s.points[[0, -1], 2], levels)
        np.testing.assert_allclose(s.points[:, :2], 0.0, atol=1e-12)


def test_gap_closes_in_the_picture_by_what_the_result_says() -> None:
    answer = checked(cases.symmetric(gap=5.0, loads=[axial("a", 100.0)]))
    scene = frame_scene(answer)
    top, bottom = (strand(scene, f"{f} fragment") for f in ("proximal", "distal"))
    closed = (top.points[0] - bottom.points[0]) - (top.moved[0] - bottom.moved[0])
    assert closed[2] == pytest.approx(answer.result.loads[0].closing_mm, abs=1e-3)


def test_which_load_is_drawn() -> None:
    """The largest movement that leaves the gap open; else the least; the one asked for; none."""
    loads = [axial("a", 20.0), axial("b", 100.0), axial("c", 400.0)]
    raw = cases.frame(gap=3.0, loads=loads)
    answer = checked(raw)
    assert frame_scene(answer).notes[0].startswith("load: b")
    assert frame_scene(answer, "c").notes[0] == "load: c, 400 N along the bone"
    narrow = checked({**raw, "bone": {**raw["bone"], "gap_mm": 0.1}})
    assert frame_scene(narrow).notes[0].startswith("load: a")
    assert frame_scene(checked(cases.frame())).notes[0] == "pretension, no load"
    with pytest.raises(KeyError, match="no load is called 'd'"):
        frame_scene(answer, "d")


def test_tension_in_the_picture_is_that_under_the_load() -> None:
    answer = checked(cases.frame(loads=[axial("a", 300.0)]))
    scene = frame_scene(answer, "a")
    for w in answer.result.loads[0].wires:
        value = strand(scene, w.name).value
        assert value is not None
        np.testing.assert_allclose(value, w.tension_N)


def test_magnification_never_closes_the_gap() -> None:
    for P in (1.0, 30.0, 120.0):
        answer = checked(cases.frame(loads=[axial("a", P)]))
        scene = frame_scene(answer)
        assert scene.magnification >= 1.0
        closing = answer.result.loads[0].closing_mm
        assert scene.magnification * closing < 2.0 or scene.magnification == 1.0


@pytest.mark.parametrize(
    "name", ["ring rod", "ring R1 from node", "distal fragment 1", "proximal fragment from 1"]
)
def test_a_rod_may_have_any_name(name: str) -> None:
    raw = cases.small(loads=[axial("a", 20.0)])
    raw["rod"][0]["name"] = name
    scene = frame_scene(checked(raw))
    assert [s.kind for s in scene.strands].count("rod") == 3
    assert [s.kind for s in scene.strands].count("ring") == 2
    assert [s.kind for s in scene.strands].count("bone") == 2
    assert all(not s.closed or s.kind == "ring" for s in scene.strands)


@pytest.mark.parametrize("name", ["1 from node 2", "R2 from node 1"])
def test_a_ring_may_have_any_name(name: str) -> None:
    raw = cases.small(loads=[axial("a", 20.0)])
    raw["ring"][0]["name"] = name
    for w in raw["wire"][:2]:
        w["ring"] = name
    for rod in raw["rod"]:
        rod["rings"][0] = name
    scene = frame_scene(checked(raw))
    rings = [s for s in scene.strands if s.kind == "ring"]
    assert [s.name for s in rings] == [name, "R2"]
    assert {round(float(s.points[0, 2])) for s in rings} == {60, -60}


def test_wires_bend_the_way_they_are_pushed() -> None:
    """Along the bone under a load along it, and aside not at all.  The clamp holds the slope: near
    it the wire lags behind the straight line to the cortex."""
    answer = checked(cases.symmetric(loads=[axial("a", 100.0)]))
    scene = frame_scene(answer)
    for place in answer.pre.parts.construct.wires:
        s = strand(scene, place.wire.name)
        away = s.moved - s.points
        along = place.stations[3] - place.stations[0]
        aside = np.cross(along / np.linalg.norm(along), [0.0, 0.0, 1.0])
        assert np.abs(away @ aside).max() < 0.02
        k = int(np.argmin(np.linalg.norm(s.points - place.stations[1], axis=1)))
        leg = np.linalg.norm(s.points[: k + 1] - s.points[0], axis=1)
        sag = away[: k + 1, 2] - away[0, 2]
        share = sag / sag[-1]
        chord = leg / leg[-1]
        assert (np.diff(np.abs(sag)) > 0.0).all()
        near = chord < 0.5
        assert (share[near][1:] < chord[near][1:]).all()
        assert share[1] / chord[1] < 0.5  # flat at the clamp
