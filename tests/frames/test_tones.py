"""Tap tones of the legs against the whole wire on a fine mesh of beam elements.

Elements: cubic beam with consistent geometric and mass matrices (textbook: Przemieniecki 1968,
chapters 11 and 15).
"""

from math import pi

import numpy as np
import pytest
from scipy import linalg

from frames import case_from_dict
from frames.construct import construct
from frames.tones import leg_tones
from tests.frames import cases


def whole_wire(spans: np.ndarray, T: float, EI: float, mass: float, pieces: int = 40) -> np.ndarray:
    """Hz, the two lowest tones of a wire clamped at its ends and resting on two knife edges."""
    lengths = np.repeat(spans / pieces, pieces)
    n = len(lengths) + 1
    K, M = np.zeros((2 * n, 2 * n)), np.zeros((2 * n, 2 * n))
    for i, h in enumerate(lengths):
        at = slice(2 * i, 2 * i + 4)
        K[at, at] += EI / h**3 * np.array(
            [
                [12, 6 * h, -12, 6 * h],
                [6 * h, 4 * h * h, -6 * h, 2 * h * h],
                [-12, -6 * h, 12, -6 * h],
                [6 * h, 2 * h * h, -6 * h, 4 * h * h],
            ]
        ) + T / (30 * h) * np.array(
            [
                [36, 3 * h, -36, 3 * h],
                [3 * h, 4 * h * h, -3 * h, -h * h],
                [-36, -3 * h, 36, -3 * h],
                [3 * h, -h * h, -3 * h, 4 * h * h],
            ]
        )
        M[at, at] += (
            mass
            * h
            / 420
            * np.array(
                [
                    [156, 22 * h, 54, -13 * h],
                    [22 * h, 4 * h * h, 13 * h, -3 * h * h],
                    [54, 13 * h, 156, -22 * h],
                    [-13 * h, -3 * h * h, -22 * h, 4 * h * h],
                ]
            )
        )
    held = [0, 1, 2 * pieces, 4 * pieces, 2 * n - 2, 2 * n - 1]
    free = np.setdiff1d(np.arange(2 * n), held)
    square = linalg.eigh(K[np.ix_(free, free)], M[np.ix_(free, free)], eigvals_only=True)
    return np.sqrt(square[:2]) / (2 * pi)


def tones(centre: float) -> tuple[np.ndarray, np.ndarray]:
    """Tones of the two legs of one wire by the product and by the mesh, Hz, ascending."""
    raw = cases.small()
    for ring in raw["ring"]:
        ring["centre_mm"] = [centre, 0.0]
    place = construct(case_from_dict(raw))
    ours = leg_tones(place, np.array([w.wire.tension for w in place.wires]))[0]
    wire = place.wires[0]
    spans = np.linalg.norm(np.diff(wire.stations, axis=0), axis=1)
    d, E = wire.wire.diameter_mm, wire.wire.elastic[0]
    mass = 1e-12 * wire.wire.density_kg_per_m3 * pi * d**2 / 4
    return np.sort(ours), whole_wire(spans, wire.wire.tension, E * pi * d**4 / 64, mass)


def test_unequal_legs_keep_their_tones() -> None:
    ours, mesh = tones(-25.0)
    assert ours[1] > 1.15 * ours[0]
    assert ours == pytest.approx(mesh, rel=1e-2)


def test_equal_legs_share_two_tones_on_either_side() -> None:
    ours, mesh = tones(0.0)
    assert ours[0] == pytest.approx(ours[1], rel=1e-9)
    assert ours.mean() == pytest.approx(mesh.mean(), rel=3e-3)
    assert mesh[0] < ours[0] < mesh[1] < 1.06 * mesh[0]
