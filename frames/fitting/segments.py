"""Distances between straight round bars, and from bars to rings.

Two segments P1 + s d1 and P2 + t d2, s and t in [0, 1]: the place of least distance of the two
lines,

    s = (b f - c e) / (a c - b²),    a = d1·d1, b = d1·d2, c = d2·d2, e = d1·r, f = d2·r,
    r = P1 - P2,

clamped to [0, 1], then t for that s, clamped, and s again for that t: the usual scheme (for
instance Ericson, Real-Time Collision Detection, 2005, section 5.1.9, from memory).
"""

import numpy as np

from fem.algebra import Array
from frames.ring_nodes import RingPlace


def segment_distance(P1: Array, Q1: Array, P2: Array, Q2: Array) -> Array:
    """(...,) mm between segments P1-Q1 and P2-Q2, each (..., 3), broadcast."""
    d1, d2, r = Q1 - P1, Q2 - P2, P1 - P2
    a, b, c = (np.sum(u * v, axis=-1) for u, v in ((d1, d1), (d1, d2), (d2, d2)))
    e, f = (np.sum(u * r, axis=-1) for u in (d1, d2))
    a, c = np.maximum(a, 1e-30), np.maximum(c, 1e-30)
    det = a * c - b * b
    s = np.where(det > 1e-12 * a * c, np.clip((b * f - c * e) / np.maximum(det, 1e-30), 0, 1), 0.0)
    t = np.clip((b * s + f) / c, 0.0, 1.0)
    s = np.clip((b * t - e) / a, 0.0, 1.0)
    gap = r + s[..., None] * d1 - t[..., None] * d2
    return np.asarray(np.linalg.norm(gap, axis=-1))


def ring_distance(place: RingPlace, P: Array, Q: Array, samples: int = 401) -> Array:
    """(k,) mm from the surface of a ring to the axes of bars P-Q, each (k, 3): sampled along the
    bars, refined round the nearest sample; 0 inside the ring's section. The ends of an open ring
    are square."""
    t = np.linspace(0.0, 1.0, samples)
    found = _to_ring(place, P[:, None] + t[None, :, None] * (Q - P)[:, None])
    nearest = t[found.argmin(axis=-1)]
    fine = np.clip(nearest[:, None] + np.linspace(-1.0, 1.0, 101) / (samples - 1), 0.0, 1.0)
    return np.asarray(_to_ring(place, P[:, None] + fine[..., None] * (Q - P)[:, None]).min(axis=-1))


def _to_ring(place: RingPlace, points: Array) -> Array:
    """(...,) mm from points (..., 3) to the ring's body."""
    ring = place.ring
    x, y, h = np.moveaxis((points - place.centre) @ place.axes.T, -1, 0)
    middle = (ring.inner_diameter_mm + ring.width_mm) / 2.0
    radial = np.maximum(np.abs(np.hypot(x, y) - middle) - ring.width_mm / 2.0, 0.0)
    axial = np.maximum(np.abs(h) - ring.thickness_mm / 2.0, 0.0)
    body = np.hypot(radial, axial)
    if ring.arc_deg >= 360.0:
        return np.asarray(body)
    # beyond the ends of an open ring the nearest place is on the end's section
    half = np.radians(ring.arc_deg / 2.0)
    off = (np.arctan2(y, x) - place.back_angle + np.pi) % (2.0 * np.pi) - np.pi
    ends = []
    for side in (-1.0, 1.0):
        angle = place.back_angle + side * half
        out = x * np.cos(angle) + y * np.sin(angle)
        across = -x * np.sin(angle) + y * np.cos(angle)
        edge = np.maximum(np.abs(out - middle) - ring.width_mm / 2.0, 0.0)
        ends.append(np.sqrt(edge**2 + across**2 + axial**2))
    return np.where(np.abs(off) <= half, body, np.minimum(*ends))
