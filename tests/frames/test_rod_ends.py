"""Telescopic, hinged and conical-washer rods in a frame."""

import itertools

import numpy as np
import pytest

from fem import MechanismError
from tests.frames import cases
from tests.frames.at_rest import at_rest, parts_of, stiffness
from tests.frames.cases import Raw, every

E = 193_000.0


def _long(**keys: object) -> Raw:
    """Rods through all of three rings."""
    raw = cases.frame(levels=(100.0, 40.0, -60.0), bearings=((50.0, 130.0),), rods=())
    raw["rod"] = [
        {"rings": ["R1", "R2", "R3"], "bearing_deg": b, "diameter_mm": 6.0, **keys}
        for b in (0.0, 120.0, 240.0)
    ]
    return raw


def test_ends_are_the_outermost_ones() -> None:
    """A rod through three rings is one bar: hinged at its two ends only."""
    members = parts_of(_long(ends="hinged")).model.members
    rows = [k for k, name in enumerate(members.names) if name.startswith("rod ")][:2]
    np.testing.assert_array_equal(members.joints[rows], [[0.0, np.inf], [np.inf, 0.0]])
    short = parts_of(every(cases.small(), "rod", ends="conical washers")).model.members
    row = next(k for k, name in enumerate(short.names) if name.startswith("rod "))
    np.testing.assert_allclose(short.joints[row], 5.0 * 1000.0 * 180.0 / np.pi)


def test_telescopic_pieces() -> None:
    """Each piece between neighbouring rings has the axial stiffness that is given."""
    parts = parts_of(_long(axial_N_per_mm=800.0))
    chords = parts.model.chords
    found = [k for name, k in zip(chords.names, chords.stiffness, strict=True) if "rod " in name]
    assert found == [800.0] * 6


def test_softer_and_softer_ends() -> None:
    by = [stiffness(cases.small())]
    for k in (100.0, 5.0, 0.2):
        raw = every(cases.small(), "rod", ends="conical washers", end_Nm_per_deg=k)
        by.append(stiffness(raw))
    for name in by[0]:
        assert all(b[name] < a[name] for a, b in itertools.pairwise(by)), name


def test_parallel_hinged_rods_are_a_mechanism() -> None:
    with pytest.raises(MechanismError):
        at_rest(every(cases.small(), "rod", ends="hinged"))


def test_six_hinged_struts_are_a_frame() -> None:
    """Six struts in three pairs hold a ring; the stiffness of ring on ring is that of pin-jointed
    bars, K = Σ EA/L u uᵀ with u the unit wrench of each strut, when the rings are rigid."""
    raw = cases.small()
    raw["rod"] = [
        {
            "rings": ["R1", "R2"],
            "bearings_deg": [a + d, a - d],
            "diameter_mm": 6.0,
            "ends": "hinged",
        }
        for a in (0.0, 120.0, 240.0)
        for d in (25.0, -25.0)
    ]
    assert min(stiffness(raw).values()) > 0.0
    parts = parts_of(raw)
    model = parts.model
    K = np.zeros((6, 6))
    for rod in parts.construct.rods:
        a, b = rod.points
        L = np.linalg.norm(b - a)
        u = (b - a) / L
        wrench = np.concatenate([u, np.cross(b, u)])
        K += E * np.pi * 9.0 / L * np.outer(wrench, wrench)
    members = model.members
    k = members.stiffness()
    found = np.zeros((6, 6))
    for row, name in enumerate(members.names):
        if name.startswith("strut"):
            B = model.points[members.ends[row, 1]]
            carry = np.eye(6)  # motion of the upper ring about the origin → of the strut's end
            carry[:3, 3:] = [[0.0, B[2], -B[1]], [-B[2], 0.0, B[0]], [B[1], -B[0], 0.0]]
            found += carry.T @ k[row][6:, 6:] @ carry
    # torsion of the struts goes through their ends and stays: it is small
    scale = np.sqrt(np.diag(K))
    assert np.abs((found - K) / np.outer(scale, scale)).max() < 2e-3
