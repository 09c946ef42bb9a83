"""Callus and contact in the gap, against sections in closed form."""

from math import pi

import numpy as np
import pytest

from fem.contact import ContactHistory, contact_state
from tests.frames import cases
from tests.frames.at_rest import at_rest, parts_of, stiffness
from tests.frames.cases import Raw

AREA = pi * (26.0**2 - 14.0**2) / 4.0
SECOND = pi * (26.0**4 - 14.0**4) / 64.0
NM_PER_DEG = pi / 180.0 / 1000.0


def _with(key: str, gap: float = 2.0, side: str = "right", **other: float) -> Raw:
    raw = cases.small(gap=gap, side=side)
    raw["bone"][key] = other
    return raw


def test_callus_is_a_tube_beside_the_frame() -> None:
    """Springs side by side: what the callus adds is EA/l, EI/l, GJ/l to 1 %, the frame's own part
    being small and hardly changed (soft callus: the bone does not bend under it)."""
    frame, both = stiffness(cases.small()), stiffness(_with("callus", E_MPa=2.0, nu=0.25))
    E, L = 2.0, 2.0
    added = {
        "axial_N_per_mm": E * AREA / L,
        "bending_ap_Nm_per_deg": E * SECOND / L * NM_PER_DEG,
        "bending_ml_Nm_per_deg": E * SECOND / L * NM_PER_DEG,
        "torsion_Nm_per_deg": E / 2.5 * 2.0 * SECOND / L * NM_PER_DEG,
    }
    for name, value in added.items():
        assert both[name] - frame[name] == pytest.approx(value, rel=0.02), name


def test_callus_of_another_thickness_and_width() -> None:
    """Stiff as the modulus is high and the callus thin; wider callus by its own section."""
    base = at_rest(_with("callus", E_MPa=10.0)).compliance
    thick = at_rest(_with("callus", E_MPa=20.0, thickness_mm=4.0)).compliance
    np.testing.assert_allclose(thick, base, rtol=1e-9, atol=1e-15)
    parts = parts_of(_with("callus", E_MPa=10.0, outer_mm=40.0, inner_mm=26.0))
    assert parts.members["callus", "callus"] == ("callus",)
    row = parts.model.members.names.index("callus")
    wide = pi * (40.0**2 - 26.0**2) / 4.0
    assert parts.model.members.flexibility[row, 2, 2] == pytest.approx(2.0 / (10.0 * wide))


def test_points_of_contact_on_the_edges() -> None:
    parts = parts_of(_with("contact", points=9, layer_mm=0.5))
    contacts = parts.model.contacts
    assert len(contacts.names) == 18
    assert contacts.k_n.sum() == pytest.approx(17_000.0 * AREA / 0.5)
    np.testing.assert_allclose(contacts.k_t, contacts.k_n / 2.6)
    np.testing.assert_allclose(contacts.gap, 2.0)
    np.testing.assert_allclose(contacts.normal, np.tile([0.0, 0.0, 1.0], (18, 1)))


def _closing(raw: Raw, motion: list[float]) -> np.ndarray:
    """(6,) force and moment, about the gap's centre, of frictionless faces on the proximal one that
    is moved rigidly by ``motion`` about that centre against the distal one."""
    model = parts_of(raw).model
    contacts = model.contacts
    B = model.points[contacts.nodes[0, 1]]
    shift, turn = np.array(motion[:3]), np.array(motion[3:])
    q = np.concatenate([np.zeros(6), shift + np.cross(turn, B), turn])
    n = len(contacts.names)
    history = ContactHistory(contacts.gap, np.zeros((n, 3)), np.zeros(n))
    state = contact_state(contacts, np.tile(q, (n, 1)), history)
    # what the face gives is the energy's gradient; on the face acts its opposite
    on_face = -state.gradient[:, 6:].sum(axis=0)
    return np.concatenate([on_face[:3], on_face[3:] + np.cross(B, on_face[:3])])


def test_closed_faces_carry_like_a_layer_of_bone() -> None:
    """Axial E A / l; bending E I / l with I of the tube, about any axis (sums of squares of n
    evenly spaced sines are n/2 for every n > 2)."""
    raw = _with("contact", layer_mm=2.0)
    pressed = _closing(raw, [0.0, 0.0, -2.5, 0.0, 0.0, 0.0])
    assert pressed[2] == pytest.approx(0.5 * 17_000.0 * AREA / 2.0)
    np.testing.assert_allclose(pressed[[0, 1, 3, 4]], 0.0, atol=1e-6)
    for axis in (0.0, 17.0, 90.0):
        e = np.array([np.cos(np.radians(axis)), np.sin(np.radians(axis)), 0.0])
        bent = _closing(raw, [0.0, 0.0, -2.5, *(0.01 * e)])
        moment = (bent - pressed)[3:]
        np.testing.assert_allclose(
            moment, -0.01 * 17_000.0 * SECOND / 2.0 * e, rtol=1e-9, atol=1e-4
        )


@pytest.mark.parametrize(("side", "medial"), [("right", 1.0), ("left", -1.0)])
def test_an_oblique_plane_rises_towards_its_bearing(side: str, medial: float) -> None:
    raw = _with("contact", side=side, obliquity_deg=30.0, obliquity_bearing_deg=70.0, points=12)
    model = parts_of(raw).model
    contacts = model.contacts
    t = np.array([np.cos(np.radians(70.0)), medial * np.sin(np.radians(70.0)), 0.0])
    for k, name in enumerate(contacts.names):
        x, y = _place(contacts.jump[k], model.points[contacts.nodes[k, 0]])[:2]
        z = _place(contacts.jump[k], model.points[contacts.nodes[k, 0]])[2]
        radius = 13.0 if "outer" in name else 7.0
        assert np.hypot(x, y) == pytest.approx(radius)
        assert z == pytest.approx(np.tan(np.radians(30.0)) * (x * t[0] + y * t[1]), abs=1e-12)
    n = contacts.normal[0]
    assert n @ t == pytest.approx(-np.sin(np.radians(30.0)))
    assert n[2] == pytest.approx(np.cos(np.radians(30.0)))
    np.testing.assert_allclose(contacts.gap, 2.0 * np.cos(np.radians(30.0)))
    # faces shifted together along the bone touch everywhere at once, when the gap is used up
    assert not np.any(_closing(raw, [0.0, 0.0, -1.999, 0.0, 0.0, 0.0]))
    assert _closing(raw, [0.0, 0.0, -2.001, 0.0, 0.0, 0.0])[2] > 0.0


def _place(jump: np.ndarray, node: np.ndarray) -> np.ndarray:
    """(3,) point of a contact, read off the arm in its kinematics."""
    skew = -jump[:, 3:6]  # U_A = u - [a]× θ, and j = U_B - U_A: the block is [a]×
    arm = np.array([skew[1, 2], -skew[0, 2], skew[0, 1]])
    return np.asarray(node + arm)


def test_a_solid_bone_closes_on_its_middle_too() -> None:
    raw = _with("contact")
    raw["bone"]["inner_mm"] = 0.0
    bent = _closing(raw, [0.0, 0.0, -2.5, 0.01, 0.0, 0.0])
    solid = pi * 26.0**4 / 64.0
    assert bent[3] == pytest.approx(-0.01 * 17_000.0 * solid, rel=1e-9)
