"""Distances between straight round bars, from bars to rings, and between rings.

Two segments P1 + s d1 and P2 + t d2, s and t in [0, 1]: the place of least distance of the two
lines,

    s = (b f - c e) / (a c - b²),    a = d1·d1, b = d1·d2, c = d2·d2, e = d1·r, f = d2·r,
    r = P1 - P2,

clamped to [0, 1], then t for that s, clamped, and s again for that t: the usual scheme (for
instance Ericson, Real-Time Collision Detection, 2005, section 5.1.9, from memory).

A ring is its body: a rectangle of width by thickness swept round its arc, the ends of an open one
square. The distance of a point to it is exact; bars and other rings are sampled.
"""

import numpy as np

from fem.algebra import Array
from frames.ring_nodes import RingPlace

SAMPLES = 201
RING_STEP_DEG = 2.0


def segment_nearest(P1: Array, Q1: Array, P2: Array, Q2: Array) -> tuple[Array, Array]:
    """(...,) mm between segments P1-Q1 and P2-Q2, each (..., 3), broadcast; and the place (..., 3)
    in the middle between their nearest points."""
    d1, d2, r = Q1 - P1, Q2 - P2, P1 - P2
    a, b, c = (np.sum(u * v, axis=-1) for u, v in ((d1, d1), (d1, d2), (d2, d2)))
    e, f = (np.sum(u * r, axis=-1) for u in (d1, d2))
    a, c = np.maximum(a, 1e-30), np.maximum(c, 1e-30)
    det = a * c - b * b
    s = np.where(det > 1e-12 * a * c, np.clip((b * f - c * e) / np.maximum(det, 1e-30), 0, 1), 0.0)
    t = np.clip((b * s + f) / c, 0.0, 1.0)
    s = np.clip((b * t - e) / a, 0.0, 1.0)
    one, two = P1 + s[..., None] * d1, P2 + t[..., None] * d2
    return np.linalg.norm(one - two, axis=-1), (one + two) / 2.0


def segment_distance(P1: Array, Q1: Array, P2: Array, Q2: Array) -> Array:
    """(...,) mm between segments, as ``segment_nearest``."""
    return segment_nearest(P1, Q1, P2, Q2)[0]


def ring_nearest(place: RingPlace, P: Array, Q: Array) -> tuple[Array, Array]:
    """(k,) mm from the surface of a ring to the axes of bars P-Q, each (k, 3), 0 inside the ring;
    and the nearest places (k, 3) on the axes. Sampled along the bars, then once more round the
    nearest sample."""
    row = np.arange(len(P))
    middle, half = np.full(len(P), 0.5), 0.5
    for samples in (SAMPLES, 41):
        t = np.clip(middle[:, None] + half * np.linspace(-1.0, 1.0, samples), 0.0, 1.0)
        points = P[:, None] + t[..., None] * (Q - P)[:, None]
        gaps = distance_to_ring(place, points)
        least = gaps.argmin(axis=1)
        middle, half = t[row, least], 2.0 * half / (samples - 1)
    return gaps[row, least], points[row, least]


def ring_at_least(place: RingPlace, P: Array, Q: Array) -> Array:
    """(k,) mm that the axes of bars P-Q, each (k, 3), keep from a ring at least: how far they stay
    beyond its faces, or within its bore. Quick, and never more than ``ring_nearest`` finds."""
    ends = (np.stack([P, Q]) - place.centre) @ place.axes.T
    height, bore = ends[..., 2], place.radius - place.ring.width_mm / 2.0
    same_side = np.where(height[0] * height[1] > 0.0, np.abs(height).min(axis=0), 0.0)
    within = bore - np.hypot(ends[..., 0], ends[..., 1]).max(axis=0)
    return np.maximum(np.maximum(same_side - place.ring.thickness_mm / 2.0, within), 0.0)


def ring_distance(place: RingPlace, P: Array, Q: Array) -> Array:
    """(k,) mm, as ``ring_nearest``."""
    return ring_nearest(place, P, Q)[0]


def rings_nearest(one: RingPlace, other: RingPlace) -> tuple[float, Array]:
    """mm between the surfaces of two rings, 0 where they touch or meet, and the place (3,): each
    one's edges, sampled, against the other one's body."""
    found = []
    for ring, body in ((one, other), (other, one)):
        edges = _edges(ring)
        gaps = distance_to_ring(body, edges)
        found.append((float(gaps.min()), edges[gaps.argmin()]))
    return min(found, key=lambda pair: pair[0])


def _edges(place: RingPlace) -> Array:
    """(k, 3) points on the four edges of a ring's section and on the middles of its sides."""
    ring = place.ring
    half = np.radians(ring.arc_deg / 2.0)
    count = int(ring.arc_deg / RING_STEP_DEG) + 1
    angle = place.back_angle + np.linspace(-half, half, count)
    radius = place.radius + ring.width_mm * np.array([-0.5, 0.0, 0.5, 0.5, 0.5, 0.0, -0.5, -0.5])
    height = ring.thickness_mm * np.array([-0.5, -0.5, -0.5, 0.0, 0.5, 0.5, 0.5, 0.0])
    flat = np.stack([np.cos(angle), np.sin(angle)], axis=-1)  # (k, 2)
    own = np.concatenate(
        [
            np.broadcast_to(radius[:, None, None] * flat, (8, count, 2)),
            np.broadcast_to(height[:, None, None], (8, count, 1)),
        ],
        axis=-1,
    )
    return np.asarray(own.reshape(-1, 3) @ place.axes + place.centre)


def distance_to_ring(place: RingPlace, points: Array) -> Array:
    """(...,) mm from points (..., 3) to the ring's body, 0 inside."""
    ring = place.ring
    x, y, h = np.moveaxis((points - place.centre) @ place.axes.T, -1, 0)
    radial = np.maximum(np.abs(np.hypot(x, y) - place.radius) - ring.width_mm / 2.0, 0.0)
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
        edge = np.maximum(np.abs(out - place.radius) - ring.width_mm / 2.0, 0.0)
        ends.append(np.sqrt(edge**2 + across**2 + axial**2))
    return np.where(np.abs(off) <= half, body, np.minimum(*ends))
