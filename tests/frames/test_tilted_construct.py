"""Tilted rings and wires, struts and posts in space; and what a tilt must not change.

Geometry is plane and solid geometry, no source needed.
"""

import copy

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from fem import Model
from fem.algebra import Array
from fem.assembly import assemble_masters
from frames import case_from_dict
from frames.construct import Construct, construct
from frames.discretise import discretise
from tests.frames import cases
from tests.frames.at_rest import at_rest, stiffness
from tests.frames.cases import Raw, edited


def lay_out(raw: Raw) -> Construct:
    return construct(case_from_dict(raw))


def real(side: str = "right") -> Raw:
    """Nothing square: tilted rings, tilted and offset wires, a pin, posts, struts, halves."""
    raw = cases.small(side=side)
    raw["ring"][0].update(centre_mm=[-9.0, 4.0], tilt_deg=11.0, tilt_bearing_deg=35.0)
    raw["ring"][1].update(tilt_deg=-6.0, tilt_bearing_deg=110.0, halves="bolted")
    raw["ring"][1].update(split_bearing_deg=15.0, joint_play_deg=0.0)
    raw["wire"][0].update(tilt_deg=4.0, offset_mm=5.0)
    raw["wire"][3].update(tilt_deg=-7.0, post_diameter_mm=8.0)
    raw["rod"] = [
        {"rings": ["R1", "R2"], "bearings_deg": [a + d, a - d], "diameter_mm": 7.0, "ends": ends}
        for a in (0.0, 120.0, 240.0)
        for d, ends in ((22.0, "hinged"), (-22.0, "conical washers"))
    ]
    pin = {"name": "P1", "ring": "R1", "bearing_deg": 20.0, "height_mm": 14.0, "diameter_mm": 5.0}
    raw["pin"] = [{**pin, "tilt_deg": 9.0, "post_diameter_mm": 9.0, "offset_mm": -3.0}]
    raw["bone"]["callus"] = {"E_MPa": 0.4}
    return raw


def test_a_ring_lies_in_its_plane_with_all_that_is_on_it() -> None:
    place = lay_out(real())
    for ring in place.rings:
        for k in range(len(ring.angles)):
            arm = ring.point(k) - ring.centre
            assert np.linalg.norm(arm) == pytest.approx(87.0)
            assert arm @ ring.normal == pytest.approx(0.0, abs=1e-12)
    for rod in place.rods:
        for name, point in zip(rod.rings, rod.points, strict=True):
            ring = place.ring(name)
            arm = point - ring.centre
            assert arm @ ring.normal == pytest.approx(0.0, abs=1e-12)
            # holes keep the middle of the width; the node at their angle lies right there
            assert np.linalg.norm(arm) == pytest.approx(87.0)


@pytest.mark.parametrize(("side", "medial"), [("right", 1.0), ("left", -1.0)])
def test_struts_go_from_hole_to_hole(side: str, medial: float) -> None:
    raw = cases.small(side=side)
    raw["rod"] = [{"rings": ["R1", "R2"], "bearings_deg": [40.0, 75.0], "diameter_mm": 6.0}]
    rod = lay_out(raw).rods[0]
    assert rod.rings == ("R2", "R1")
    for point, bearing, level in zip(rod.points, (75.0, 40.0), (-60.0, 60.0), strict=True):
        b = np.radians(bearing)
        expected = [87.0 * np.cos(b), medial * 87.0 * np.sin(b), level]
        np.testing.assert_allclose(point, expected, atol=1e-12)


def test_levels_of_a_tilted_wire() -> None:
    """Its bone node lies between its cortices; both hang on it by arms."""
    raw = cases.small()
    raw["wire"][0].update(tilt_deg=10.0)
    parts = discretise(lay_out(raw))
    place = parts.construct.wires[0]
    assert place.stations[1, 2] - place.stations[2, 2] == pytest.approx(
        26.0 * np.tan(np.radians(10.0))
    )
    model = parts.model
    for cortex in ("start", "end"):
        node = model.node(f"W1 {cortex} cortex")
        assert model.points[model.master[node], 2] == pytest.approx(place.level)


def test_posts_stand_on_their_holes() -> None:
    """Along the ring's axis, from the mid-plane to the clamp, at least 5 mm; nearer clamps sit on
    the ring."""
    place = lay_out(real())
    posts = {post.clamp: post for post in place.posts}
    w4 = place.wires[3]
    ring = place.ring("R2")
    heights = {name: float((at - ring.centre) @ ring.normal) for name, at in w4.clamps.items()}
    assert min(abs(h) for h in heights.values()) > 5.0
    assert len({round(h) for h in heights.values()}) == 2  # tilted: not the same on both sides
    for name, at in w4.clamps.items():
        foot, tip = posts[name].points
        np.testing.assert_allclose(tip, at)
        np.testing.assert_allclose(tip - foot, heights[name] * ring.normal, atol=1e-12)
        assert np.linalg.norm(foot - ring.centre) == pytest.approx(87.0)
    low = edited(cases.small(), lambda raw: raw["wire"][0].update(post_diameter_mm=8.0))
    assert lay_out(low).posts == ()


def test_left_and_right_leg() -> None:
    right, left = (at_rest(real(side)).compliance for side in ("right", "left"))
    d = np.sqrt(np.diag(right))
    assert np.abs((right - left) / np.outer(d, d)).max() < 1e-9


def test_seen_from_another_bearing() -> None:
    """Everything turned about the bone: shears and bendings turn, axial and torsion stay."""
    raw = real()
    new = copy.deepcopy(raw)
    by = 73.0
    for kind, keys in (
        ("ring", ("tilt_bearing_deg", "split_bearing_deg")),
        ("wire", ("bearing_deg",)),
        ("pin", ("bearing_deg",)),
    ):
        for part in new[kind]:
            for key in keys:
                if key in part:
                    part[key] += by
    for rod in new["rod"]:
        rod["bearings_deg"] = [b + by for b in rod["bearings_deg"]]
    for ring in new["ring"]:
        if "centre_mm" in ring:
            ring["centre_mm"] = cases.turned_pair(ring["centre_mm"], by)
    c, s = np.cos(np.radians(by)), np.sin(np.radians(by))
    R = np.kron(np.eye(2), np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]]))
    C, turned = at_rest(raw).compliance, at_rest(new).compliance
    expected = R @ C @ R.T
    d = np.sqrt(np.diag(expected))
    assert np.abs((turned - expected) / np.outer(d, d)).max() < 1e-9


def test_wires_from_their_other_end() -> None:
    raw = real()
    assert stiffness(
        edited(raw, lambda new: [w.update(_swapped(w)) for w in new["wire"]])
    ) == pytest.approx(stiffness(raw), rel=1e-9)


def _swapped(w: Raw) -> Raw:
    return {
        "bearing_deg": w["bearing_deg"] + 180.0,
        "offset_mm": -w.get("offset_mm", 0.0),
        "tilt_deg": -w.get("tilt_deg", 0.0),
    }


def test_a_vanishing_tilt_changes_nothing() -> None:
    """Linear in the tilt: 1e-6° moves points by 1e-6 mm."""
    raw = cases.small()

    def tilt(new: Raw) -> None:
        new["ring"][0].update(tilt_deg=1e-6, tilt_bearing_deg=77.0)
        new["wire"][1].update(tilt_deg=-1e-6)

    assert stiffness(edited(raw, tilt)) == pytest.approx(stiffness(raw), rel=1e-6)


@pytest.mark.parametrize("side", ["right", "left"])
@pytest.mark.parametrize("tilt", [25.0, -40.0])
def test_a_frame_tilted_as_a_whole(side: str, tilt: float) -> None:
    """Both rings tilted alike about the gap's centre, so that rings, joints, rods and struts are
    those of a square frame turned in space: the flexibility of ring against ring turns with them.

    Wires and bone do not take part: these do not turn along.
    """
    raw = cases.small(side=side)
    raw["rod"][1].pop("bearing_deg")
    raw["rod"][1]["bearings_deg"] = [100.0, 140.0]
    raw["ring"][0].update(halves="hinged", split_bearing_deg=70.0, joint_Nm_per_deg=30.0)
    raw["ring"][1].update(arc_deg=300.0, opening_bearing_deg=180.0)
    medial = 1.0 if side == "right" else -1.0
    b = np.radians(50.0)
    axis = np.cross([np.cos(b), medial * np.sin(b), 0.0], [0.0, 0.0, 1.0])
    R = Rotation.from_rotvec(np.radians(tilt) * axis).as_matrix()
    tilted = copy.deepcopy(raw)
    for ring in tilted["ring"]:
        x, y, z = R @ [0.0, 0.0, ring["level_mm"]]
        ring.update(level_mm=z, centre_mm=[x, medial * y], tilt_deg=tilt, tilt_bearing_deg=50.0)
    flexibilities = []
    for one in (raw, tilted):
        flexibilities.append(_ring_against_ring(one))
    turn = np.kron(np.eye(2), R)
    square, turned = flexibilities
    expected = turn @ square @ turn.T
    d = np.sqrt(np.diag(expected))
    assert np.abs((turned - expected) / np.outer(d, d)).max() < 1e-8


def _ring_against_ring(raw: Raw) -> Array:
    """(6, 6) motion of one hole of R1 under unit forces while a hole of R2 is held."""
    parts = discretise(lay_out(raw))
    place = parts.construct
    names = [place.ring("R1").holder("rod R1-R2 at 240° (3) in R1")]
    held = place.ring("R2").holder("rod R1-R2 at 0° (1) in R2")
    K, number = _stiffness_of_members(parts.model)
    fixed = 6 * number[held] + np.arange(6)
    loaded = 6 * number[names[0]] + np.arange(6)
    keep = np.setdiff1d(np.arange(len(K)), fixed)
    inverse = np.linalg.inv(K[np.ix_(keep, keep)])
    at = np.searchsorted(keep, loaded)
    return np.asarray(inverse[np.ix_(at, at)])


def _stiffness_of_members(model: Model) -> tuple[Array, dict[str, int]]:
    """Dense stiffness of rings, rods and joints, on the masters of ring nodes only."""
    K = assemble_masters(model).toarray()
    masters = [m for m in range(len(model.names)) if model.master[m] == m]
    column = {m: i for i, m in enumerate(masters)}
    for j, (a, b) in enumerate(model.joints.nodes):
        dofs = [6 * column[m] + k for m in (a, b) for k in range(6)]
        D = model.joints.motion[j]
        K[np.ix_(dofs, dofs)] += D.T @ (model.joints.stiffness[j][:, None] * D)
    rings = [m for m in masters if model.names[m].startswith("ring ")]
    rows = np.concatenate([6 * column[m] + np.arange(6) for m in rings])
    return K[np.ix_(rows, rows)], {model.names[m]: i for i, m in enumerate(rings)}


def test_a_tilted_frame_of_wires_is_as_stiff_along_its_own_axis() -> None:
    """Tilted by a few degrees, its stiffness changes with the square of the tilt."""
    raw = cases.symmetric()
    base = stiffness(raw)["axial_N_per_mm"]
    changes = []
    for tilt in (4.0, 8.0):
        new = copy.deepcopy(raw)
        for ring in new["ring"]:
            ring.update(tilt_deg=tilt, tilt_bearing_deg=0.0)
        changes.append(stiffness(new)["axial_N_per_mm"] / base - 1.0)
    assert abs(changes[1]) < 0.1
    assert changes[1] / changes[0] == pytest.approx(4.0, rel=0.25)
