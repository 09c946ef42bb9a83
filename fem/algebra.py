"""Small vector algebra on stacks of 3-vectors."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def skew(v: Array) -> Array:
    """(..., 3) → (..., 3, 3) with ``skew(v) @ w = v × w``."""
    out = np.zeros((*v.shape, 3))
    out[..., 0, 1], out[..., 0, 2] = -v[..., 2], v[..., 1]
    out[..., 1, 0], out[..., 1, 2] = v[..., 2], -v[..., 0]
    out[..., 2, 0], out[..., 2, 1] = -v[..., 1], v[..., 0]
    return out


def transpose(m: Array) -> Array:
    """Swap the last two axes."""
    return np.swapaxes(m, -1, -2)


def across(e: Array) -> Array:
    """(..., 3) unit vectors → (..., 2, 3): two unit vectors across each, forming (e, e₁, e₂)
    right-handed.
    """
    axis = np.zeros_like(e)
    least = np.argmin(np.abs(e), axis=-1)
    np.put_along_axis(axis, least[..., None], 1.0, axis=-1)
    e1 = np.cross(axis, e)
    e1 /= np.linalg.norm(e1, axis=-1, keepdims=True)
    return np.stack([e1, np.cross(e, e1)], axis=-2)
