"""Finite rotations against SciPy's own, closed forms and difference quotients."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from fem.algebra import skew, transpose
from fem.rotations import (
    mean_rotation_factors,
    orthonormalised,
    rotation_matrix,
    rotation_vector,
)

RNG = np.random.default_rng(5)
AXES = RNG.normal(size=(50, 3))
AXES /= np.linalg.norm(AXES, axis=1, keepdims=True)


@pytest.mark.parametrize("angle", [0.0, 1e-160, 1e-9, 0.4, 2.0, 3.1, np.pi - 1e-9])
def test_matrix_and_vector_agree_with_scipy(angle: float) -> None:
    vectors = angle * AXES
    matrices = rotation_matrix(vectors)
    assert np.allclose(matrices, Rotation.from_rotvec(vectors).as_matrix(), rtol=0, atol=1e-15)
    assert np.allclose(rotation_vector(matrices), vectors, rtol=1e-14, atol=1e-15)


def test_half_turn_gives_one_of_the_two_opposite_vectors() -> None:
    vectors = rotation_vector(rotation_matrix(np.pi * AXES))
    assert np.allclose(np.linalg.norm(vectors, axis=1), np.pi, rtol=1e-15)
    assert np.allclose(np.abs(np.sum(vectors * AXES, axis=1)), np.pi, rtol=1e-14)


def test_orthonormalised_squares_the_drift() -> None:
    true = rotation_matrix(AXES)
    drifted = true + 1e-6 * RNG.normal(size=true.shape)
    mended = orthonormalised(drifted)
    assert np.abs(mended @ transpose(mended) - np.eye(3)).max() < 1e-10


@pytest.mark.parametrize("angle", [0.3, 1.0, 2.5, 3.1])
def test_factors_are_the_closed_forms(angle: float) -> None:
    g, _, h, _, r, _ = mean_rotation_factors(angle * AXES)
    assert np.allclose(g, 0.5 * angle / np.sin(0.5 * angle), rtol=1e-14)
    assert np.allclose(h, (1 - g) / angle**2, rtol=1e-13)  # the quotient cancels two digits
    assert np.allclose(r, np.tan(0.25 * angle) / angle, rtol=1e-14)


@pytest.mark.parametrize("angle", [1e-3, 0.3, 1.0, 2.5, 3.1])
def test_slopes_of_the_factors(angle: float) -> None:
    axis, x, step = AXES[:1], angle**2, 1e-6
    above = mean_rotation_factors(np.sqrt(x + step) * axis)
    below = mean_rotation_factors(np.sqrt(x - step if x > step else 0.0) * axis)
    width = step + min(step, x)
    at = mean_rotation_factors(angle * axis)
    for value, slope in ((0, 1), (2, 3), (4, 5)):
        quotient = (above[value] - below[value]) / width
        # difference quotient: rounding 1e-16/1e-6
        assert quotient[0] == pytest.approx(at[slope][0], abs=2e-9)


@pytest.mark.parametrize("angle", [0.0, 0.2, 1.5, 3.0])
def test_variation_of_relative_rotation_and_mean_triad(angle: float) -> None:
    psi = angle * AXES[0]
    first = rotation_matrix(np.array([0.3, -0.8, 0.5]))
    second = first @ rotation_matrix(psi)
    mean = first @ rotation_matrix(0.5 * psi)
    w_1, w_2 = RNG.normal(size=(2, 3))
    step = 1e-5

    def moved(t: float) -> tuple[np.ndarray, np.ndarray]:
        one = rotation_matrix(t * mean @ w_1) @ first
        two = rotation_matrix(t * mean @ w_2) @ second
        relative = rotation_vector(one.T @ two)
        return relative, one @ rotation_matrix(0.5 * relative)

    (psi_a, mean_a), (psi_b, mean_b) = moved(step), moved(-step)
    g, _, h, _, r, _ = mean_rotation_factors(psi)
    D = w_2 - w_1
    d_psi = g * D + h * psi * (psi @ D)
    spin = 0.5 * (w_1 + w_2) - 0.5 * r * np.cross(psi, D)
    assert np.allclose((psi_a - psi_b) / (2 * step), d_psi, atol=1e-8)
    turned = mean.T @ (mean_a - mean_b) / (2 * step)
    assert np.allclose(turned, skew(spin), atol=1e-8)
