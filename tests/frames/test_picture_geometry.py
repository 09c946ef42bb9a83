"""Geometry of pictures: swept solids, the parallel view, the placing of names."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from frames.picture import Strand
from frames.picture.layout import layout_of, subtitle
from frames.picture.legend import round_numbers
from frames.picture.scene import WORDS
from frames.picture.sweep import BLUNT, STEP, surface, unit
from frames.picture.view import medial, view_of
from frames.picture.words import folded, number, shortened, spread, width_of
from tests.frames.picture_scene import scene


def volume(solid) -> float:
    """Volume inside a closed surface by the divergence theorem, one third of the flux of x.

    Each quadrilateral is taken as two triangles. Negative if normals point inwards.
    """
    a, b, c, d = (solid.corners[solid.quads[:, i]] for i in range(4))
    flux = np.einsum("ij,ij->i", a, np.cross(b, c)) + np.einsum("ij,ij->i", a, np.cross(c, d))
    return float(flux.sum() / 6.0)


def is_closed(solid) -> bool:
    """Each edge is run through once each way, corners at the same place taken as one."""
    _, same = np.unique(np.round(solid.corners, 6), axis=0, return_inverse=True)
    quads = same.reshape(-1)[solid.quads]
    edges = np.concatenate([quads[:, [i, (i + 1) % 4]] for i in range(4)])
    edges = edges[edges[:, 0] != edges[:, 1]]
    forward = sorted(map(tuple, edges))
    return forward == sorted((b, a) for a, b in forward)


def polygon(diameter: float, sides: int) -> float:
    """Area of a regular polygon in a circle."""
    return 0.125 * sides * diameter**2 * np.sin(2.0 * np.pi / sides)


LINE = np.array([[3.0, -1.0, 2.0], [23.0, 5.0, 40.0]])
LENGTH = float(np.linalg.norm(LINE[1] - LINE[0]))


@pytest.mark.parametrize(
    ("kind", "size", "area"),
    [
        ("rod", (6.0,), polygon(6.0, 16)),
        ("wire", (1.8,), polygon(1.8, 12)),
        ("bone", (26.0, 14.0), polygon(26.0, 48) - polygon(14.0, 48)),
        ("bone", (26.0, 0.0), polygon(26.0, 48)),
    ],
)
def test_straight_solid_has_the_volume_of_a_prism(kind, size, area):
    solid = surface(Strand("part", kind, LINE, LINE, size), LINE)
    assert volume(solid) == pytest.approx(area * LENGTH, rel=1e-12)
    assert is_closed(solid)


@pytest.mark.parametrize("arc", [360.0, 210.0])
def test_ring_has_the_volume_of_pappus(arc):
    """Area times the way of its centroid; the polygon is shorter by about (pi/n)^2/2."""
    bearing = np.deg2rad(np.linspace(0.0, arc, 721))
    turned = np.linalg.qr(np.array([[1.0, 0.4, 0.2], [0.1, 1.0, -0.5], [0.3, 0.2, 1.0]]))[0]
    points = 87.0 * np.stack([np.cos(bearing), np.sin(bearing), 0.0 * bearing], axis=1) @ turned
    ring = Strand("R1", "ring", points, points, (14.0, 5.0), None, arc == 360.0)
    solid = surface(ring, points)
    assert abs(volume(solid)) == pytest.approx(14.0 * 5.0 * 87.0 * np.deg2rad(arc), rel=2e-5)
    assert volume(solid) > 0.0
    assert is_closed(solid)
    out_of_plane = np.abs(solid.corners @ turned.T[:, 2])
    assert out_of_plane.max() == pytest.approx(2.5, abs=1e-9), "5 mm are along the bone"


def test_pieces_are_short_and_value_goes_along():
    wire = Strand("W1", "wire", LINE, LINE, (1.8,), np.array([900.0, 1100.0]))
    solid = surface(wire, LINE)
    quads = solid.quads[~solid.ends]
    assert np.linalg.norm(
        solid.corners[quads[:, 3]] - solid.corners[quads[:, 0]], axis=1
    ).max() <= (STEP + 1e-9)
    along = (solid.corners - LINE[0]) @ (LINE[1] - LINE[0]) / LENGTH**2
    np.testing.assert_allclose(solid.value, 900.0 + 200.0 * along, rtol=1e-12)


def test_bead_is_an_ellipsoid_with_its_ends_cut():
    """Between the ends at ±c of the half length a, ∫ π r² (1 - x²/a²) dx = 2 π r² a (c - c³/3)."""
    line = LINE[0] + np.linspace(0.0, 1.0, 401)[:, None] * (LINE[1] - LINE[0])
    solid = surface(Strand("olive", "olive", line, line, (4.5,)), line)
    c = BLUNT
    smooth = 2.0 * (c - c**3 / 3.0) * LENGTH / (2.0 * c)
    assert volume(solid) == pytest.approx(polygon(4.5, 20) * smooth, rel=1e-4)
    assert is_closed(solid)
    wide = np.linalg.norm(np.cross(solid.corners - line[0], unit(line[-1] - line[0])), axis=1)
    assert wide.max() == pytest.approx(2.25, rel=1e-4)


def test_bead_stays_thicker_than_its_wire():
    wire = Strand("W1", "wire", LINE, LINE, (1.0,))
    line = np.linspace(LINE[0], LINE[1], 9)
    olive = Strand("olive", "olive", line, line, (2.5,))
    for least in (0.0, 4.0):
        wide = []
        for strand, along in ((wire, LINE), (olive, line)):
            corners = surface(strand, along, least).corners
            off = np.cross(corners - LINE[0], unit(LINE[1] - LINE[0]))
            wide.append(np.linalg.norm(off, axis=1).max())
        assert wide[1] == pytest.approx(2.5 * wide[0], rel=1e-6)


@pytest.mark.parametrize("inner", [0.0, 14.0])
@pytest.mark.parametrize("oblique", [10.0, 60.0])
def test_bone_cut_obliquely(inner, oblique):
    """The first face lies in its plane, the last is square; what is taken off at one side is put on
    at the other, so that the volume stays."""
    line = np.array([[0.0, 0.0, 3.0], [0.0, 0.0, 100.0]])
    a = np.deg2rad(oblique)
    cut = (0.0, -np.sin(a), np.cos(a))
    square = surface(Strand("bone", "bone", line, line, (26.0, inner)), line)
    solid = surface(Strand("bone", "bone", line, line, (26.0, inner), None, False, cut), line)
    assert volume(solid) == pytest.approx(volume(square), rel=1e-9)
    assert is_closed(solid)
    corners = solid.corners[solid.quads[solid.ends]].reshape(-1, 3)
    near = corners[:, 2] < 60.0
    np.testing.assert_allclose((corners[near] - line[0]) @ cut, 0.0, atol=1e-9)
    np.testing.assert_allclose(corners[~near, 2], 100.0)
    assert corners[near, 2].max() == pytest.approx(3.0 + 13.0 * np.tan(a))
    sides = solid.normals()[~solid.ends]
    radial = solid.corners[solid.quads[~solid.ends]].mean(axis=1)[:, :2]
    out = np.einsum("ij,ij->i", sides[:, :2], radial) > 0.0
    assert out.sum() == (len(out) if inner == 0.0 else len(out) // 2), "no wall is turned over"


def test_thin_wire_is_drawn_thicker_but_not_a_rod():
    wire = Strand("W1", "wire", LINE, LINE, (1.8,))
    rod = Strand("T1", "rod", LINE, LINE, (1.8,))
    assert volume(surface(wire, LINE, 4.0)) == pytest.approx(polygon(4.0, 12) * LENGTH)
    assert volume(surface(rod, LINE, 4.0)) == pytest.approx(polygon(1.8, 16) * LENGTH)


@pytest.mark.parametrize("side", ["left", "right"])
def test_view(side):
    points = np.random.default_rng(1).uniform(-150.0, 150.0, (50, 3))
    area = (200.0, 100.0, 900.0, 800.0)
    view = view_of(points, side, (1400, 1000), area)
    axes = np.stack([view.right, view.up, view.eye])
    np.testing.assert_allclose(axes @ axes.T, np.eye(3), atol=1e-12)
    assert np.linalg.det(axes) == pytest.approx(1.0), "a mirror image would have -1"
    assert view.eye @ [1.0, 0.0, 0.0] > 0.5, "from the front"
    assert view.eye @ medial(side) > 0.2, "from the medial side"
    assert 0.1 < view.eye[2] < 0.6, "a little from above"
    sheet = view.pixels(points)
    low, high = sheet.min(axis=0), sheet.max(axis=0)
    assert (low >= np.array([200.0, 100.0]) - 1e-6).all()
    assert (high <= np.array([900.0, 800.0]) + 1e-6).all()
    np.testing.assert_allclose(0.5 * (low + high), [550.0, 450.0], atol=1e-6)
    # a length in the plane of the sheet has its true number of pixels
    ends = view.pixels(np.stack([view.centre, view.centre + 50.0 * view.right]))
    np.testing.assert_allclose(ends[1] - ends[0], [50.0 * view.scale, 0.0], atol=1e-9)


def test_medial_of_each_leg():
    """y is towards the patient's left: of the left leg that is lateral."""
    assert medial("left").tolist() == [0.0, -1.0, 0.0]
    assert medial("right").tolist() == [0.0, 1.0, 0.0]


@given(
    wanted=st.lists(st.floats(-50.0, 1050.0), max_size=40).map(np.array),
    gap=st.floats(1.0, 40.0),
)
def test_names_keep_apart_and_in_order(wanted, gap):
    places = spread(wanted.astype(float), gap, 0.0, 1000.0)
    if not len(wanted):
        assert not len(places)
        return
    assert places.min() >= -1e-9 and places.max() <= 1000.0 + 1e-9
    order = np.argsort(wanted, kind="stable")
    least = min(gap, 1000.0 / max(len(wanted) - 1, 1))
    assert (np.diff(places[order]) >= least - 1e-9).all()


def test_names_with_room_stay_where_they_are():
    wanted = np.array([700.0, 100.0, 400.0])
    np.testing.assert_allclose(spread(wanted, 30.0, 0.0, 1000.0), wanted)
    # two that collide give way equally: 100 and 110 with 30 between them
    np.testing.assert_allclose(spread(np.array([110.0, 100.0]), 30.0, 0.0, 500.0), [120.0, 90.0])


def test_numbers_and_text():
    told = [number(v) for v in (1083.4, 96.23, 9.876, 0.12834, 0.0, 1e-12, -42.06)]
    assert told == ["1083", "96.2", "9.88", "0.128", "0", "0", "-42.1"]
    assert round_numbers(900.0, 1215.0).tolist() == [900, 950, 1000, 1050, 1100, 1150, 1200]
    assert round_numbers(-0.31, 0.33).tolist() == [-0.3, -0.2, -0.1, 0.0, 0.1, 0.2, 0.3]
    long = "a name that is far too long for the place it has"
    assert shortened(long, 100.0, 18.0).endswith("…")
    assert width_of(shortened(long, 100.0, 18.0), 18.0) <= 100.0
    lines = folded(long, 150.0, 18.0)
    assert " ".join(lines) == long and max(width_of(line, 18.0) for line in lines) <= 150.0


def test_scale_of_the_movement_is_said():
    assert "movement drawn 5 times larger (largest 0.868 mm)" in subtitle(scene())
    assert "true scale" in subtitle(scene(magnification=1.0))
    assert "movement" not in subtitle(scene(strands=scene().strands[-1:]))
    assert subtitle(scene(side="right")).startswith("right leg")


@pytest.mark.parametrize("size", [(1400, 1000), (800, 600), (800, 1400)])
def test_kinds_of_part_are_explained(size):
    """Every kind but rings, wires and bone, once, within the sheet; nothing in a plain frame."""
    assert layout_of(scene(), size).key == []
    strands = tuple(Strand(kind, kind, LINE, LINE, (6.0,)) for kind in WORDS if kind != "callus")
    strands += (Strand("callus", "callus", LINE, LINE, (30.0, 14.0)),)
    plan = layout_of(scene(strands=scene().strands + strands), size)
    assert [kind for line in plan.key for _, kind in line] == list(WORDS)
    for line in plan.key:
        x, kind = line[-1]
        assert x + width_of(WORDS[kind], 18.0 * plan.unit) < size[0] - 60.0 * plan.unit
    assert plan.area[1] > layout_of(scene(), size).area[1]


def test_colour_limits():
    assert scene().colour_limits() == (900.0, 1215.0)
    assert scene(limits=(0.0, 2000.0)).colour_limits() == (0.0, 2000.0)
    same = tuple(s for s in scene().strands if s.name == "W1")
    assert scene(strands=same).colour_limits() == (855.0, 945.0)
    assert scene(strands=scene().strands[-1:]).colour_limits() is None
