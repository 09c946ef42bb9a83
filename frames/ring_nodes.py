"""Nodes of a ring: where parts attach, and where halves are joined.

Nodes lie on the centre line of the ring's section, at angles in the ring's own plane; what attaches
hangs on rigid arms. A ring in halves is cut at two opposite bearings; at each cut two nodes share
one place, and what attaches there belongs to the half on whose side of the cut it lies.
"""

from dataclasses import dataclass
from math import atan2, pi

import numpy as np
from numpy.typing import NDArray

from frames.casefile.parts import Ring
from frames.ring_plane import RingPlane
from frames.wire_line import unit_direction

Array = NDArray[np.float64]

SHARED_SECTION_MM = 0.1
"""Attachments nearer to each other than this along a ring, or levels along the bone, share one
node."""

TURN = 2 * pi


@dataclass(frozen=True)
class RingPlace:
    """A ring in space.

    centre (3,); axes (3, 3): rows e1, e2, N of its own axes; radius of its section's centre line;
    angles (k,) of its nodes about its centre in its own axes (rad, ascending, in [0, 2π));
    ``node_of``: attachment name → number of its node; ``joints``: pairs of nodes at which halves
    are joined, before and after the cut in the sense of growing angle, the case file's first joint
    first.
    """

    ring: Ring
    centre: Array
    axes: Array
    radius: float
    angles: Array
    node_of: dict[str, int]
    joints: tuple[tuple[int, int], ...] = ()
    _opening: float = 0.0

    @property
    def back_angle(self) -> float:
        """Angle (rad) of the middle of an open ring's arc in its own axes, opposite its opening."""
        return self._opening + pi

    @property
    def normal(self) -> Array:
        """(3,) N: z of a square ring."""
        return np.asarray(self.axes[2])

    def outward(self, node: int) -> Array:
        """(3,) unit vector from the centre to a node."""
        a = float(self.angles[node])
        return np.asarray(np.cos(a) * self.axes[0] + np.sin(a) * self.axes[1])

    def point(self, node: int) -> Array:
        """(3,) of a node on the centre line."""
        return np.asarray(self.centre + self.radius * self.outward(node))

    def node_name(self, node: int) -> str:
        """Name of a node in the model."""
        return f"ring {self.ring.name} node {node + 1}"

    def holder(self, name: str) -> str:
        """Name of the node that carries an attachment."""
        return self.node_name(self.node_of[name])

    def spans(self) -> list[tuple[int, int]]:
        """Pairs of nodes that a piece of the ring joins, in the sense of growing angle."""
        n = len(self.angles)
        pairs = [(i, (i + 1) % n) for i in range(n)] if n > 1 else []
        return [p for p in pairs if p not in self.joints and not self._across_opening(*p)]

    def _across_opening(self, i: int, j: int) -> bool:
        if self.ring.arc_deg >= 360.0:
            return False
        middle = self._opening
        width = (self.angles[j] - self.angles[i]) % TURN
        return bool((middle - self.angles[i]) % TURN < width)


def own_angle(plane: RingPlane, point: Array) -> float:
    """Angle (rad, in [0, 2π)) of a point (3,) about a ring's axis, in its own axes."""
    x, y, _ = plane.own((float(point[0]), float(point[1]), float(point[2])))
    return float(np.arctan2(y, x) % TURN)


def ring_place(
    ring: Ring, plane: RingPlane, sign: float, attached: list[tuple[float, str]]
) -> RingPlace:
    """Lay out a ring. attached : (angle in the ring's own axes, name) of everything on it."""
    radius = (ring.inner_diameter_mm + ring.width_mm) / 2.0
    near = SHARED_SECTION_MM / radius
    joints: tuple[tuple[int, int], ...] = ()
    if ring.halves is None:
        angles, node_of = _cluster(sorted(attached), near)
    else:
        first = _bearing_angle(sign, ring.split_bearing_deg)
        angles, node_of, joints = _in_halves(attached, first, near)
    return RingPlace(
        ring,
        np.array(plane.centre),
        np.array([plane.e1, plane.e2, plane.normal]),
        radius,
        angles,
        node_of,
        joints,
        _bearing_angle(sign, ring.opening_bearing_deg),
    )


def _bearing_angle(sign: float, bearing_deg: float) -> float:
    x, y = unit_direction(sign, bearing_deg)
    return atan2(y, x)


def _in_halves(
    attached: list[tuple[float, str]], first: float, near: float
) -> tuple[Array, dict[str, int], tuple[tuple[int, int], ...]]:
    """Angles from the first cut on, attachment → node, and the pairs of nodes at both cuts."""
    halves: list[list[tuple[float, str]]] = [[], []]
    for angle, name in attached:
        turned = (angle - first) % TURN
        halves[turned >= pi].append((turned % pi, name))
    angles: list[float] = []
    node_of: dict[str, int] = {}
    counts = []
    for start, own in zip((first, first + pi), halves, strict=True):
        places, number = _along_half(sorted(own), near)
        node_of |= {name: len(angles) + k for name, k in number.items()}
        angles += [(start + a) % TURN for a in places]
        counts.append(len(places))
    one, both = counts[0], sum(counts)
    return np.array(angles), node_of, ((both - 1, 0), (one - 1, one))


def _along_half(found: list[tuple[float, str]], near: float) -> tuple[list[float], dict[str, int]]:
    """Places of a half's nodes from cut (0) to cut (π) and attachment → number."""
    between = [item for item in found if near <= item[0] <= pi - near]
    groups: list[list[tuple[float, str]]] = []
    for item in between:
        if groups and item[0] - groups[-1][-1][0] < near:
            groups[-1].append(item)
        else:
            groups.append([item])
    number = {name: k for k, group in enumerate(groups, start=1) for _, name in group}
    number |= {name: 0 for angle, name in found if angle < near}
    number |= {name: len(groups) + 1 for angle, name in found if angle > pi - near}
    return [0.0, *(_middle(g) for g in groups), pi], number


def _middle(group: list[tuple[float, str]]) -> float:
    """Mean angle of a group, of one as a rule."""
    return sum(angle for angle, _ in group) / len(group)


def _cluster(found: list[tuple[float, str]], near: float) -> tuple[Array, dict[str, int]]:
    """Group sorted angles that lie within ``near`` of their neighbour, round the circle."""
    if not found:
        return np.zeros(0), {}
    groups: list[list[tuple[float, str]]] = [[found[0]]]
    for item in found[1:]:
        if item[0] - groups[-1][-1][0] < near:
            groups[-1].append(item)
        else:
            groups.append([item])
    if len(groups) > 1 and groups[0][0][0] + 2 * pi - groups[-1][-1][0] < near:
        last = groups.pop()
        groups[0] = [(a - 2 * pi, n) for a, n in last] + groups[0]
    middles = [_middle(g) % (2 * pi) for g in groups]
    order = np.argsort(middles)
    node_of = {n: place for place, g in enumerate(order) for _, n in groups[g]}
    return np.array(middles)[order], node_of
