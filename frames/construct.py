"""From case file to points in space: where every part attaches.

Axes: x anterior, y towards the patient's left, z proximal; origin at the centre of the gap on the
bone axis; mm. A wire's four stations are clamp, cortex, cortex, clamp in the order start to end, at
the level of its ring plus its height.  A ring's nodes lie on the centre line of its section; what
attaches there hangs on rigid arms.
"""

from dataclasses import dataclass
from math import atan2, pi

import numpy as np
from numpy.typing import NDArray

from frames.casefile import Case
from frames.casefile.parts import Ring, Rod, Wire, wire_height
from frames.wire_line import circle_point, side_sign, to_xy, wire_points

Array = NDArray[np.float64]

SHARED_SECTION_MM = 0.1
"""Attachments nearer to each other than this along a ring, or levels along the bone, share one
node."""

STATIONS = ("start clamp", "start cortex", "end cortex", "end clamp")
FRAGMENTS = ("distal fragment", "proximal fragment")


@dataclass(frozen=True)
class WirePlace:
    """A wire in space: stations (4, 3), fragment ("proximal fragment" or "distal fragment")."""

    wire: Wire
    stations: Array
    fragment: str

    @property
    def legs(self) -> tuple[float, float]:
        """Length from cortex to clamp at start and end, mm."""
        start, end = np.linalg.norm(np.diff(self.stations, axis=0), axis=1)[[0, 2]]
        return float(start), float(end)


@dataclass(frozen=True)
class RodPlace:
    """A rod in space: its rings from distal to proximal and a point (3,) on each."""

    rod: Rod
    rings: tuple[str, ...]
    points: Array


@dataclass(frozen=True)
class RingPlace:
    """A ring in space: centre (3,), radius of its section's centre line, angles (k,) of its nodes
    about its centre in global axes (rad, ascending, in [0, 2π)), and ``node_of``: attachment name →
    number of its node."""

    ring: Ring
    centre: Array
    radius: float
    angles: Array
    node_of: dict[str, int]

    def point(self, node: int) -> Array:
        """(3,) of a node on the centre line."""
        a = float(self.angles[node])
        return self.centre + self.radius * np.array([np.cos(a), np.sin(a), 0.0])

    def spans(self) -> list[tuple[int, int]]:
        """Pairs of nodes that a piece of the ring joins, in the sense of growing angle."""
        n = len(self.angles)
        pairs = [(i, (i + 1) % n) for i in range(n)] if n > 1 else []
        return [p for p in pairs if not self._across_opening(*p)]

    def _across_opening(self, i: int, j: int) -> bool:
        if self.ring.arc_deg >= 360.0:
            return False
        middle = self._opening
        width = (self.angles[j] - self.angles[i]) % (2 * pi)
        return bool((middle - self.angles[i]) % (2 * pi) < width)

    _opening: float = 0.0


@dataclass(frozen=True)
class Construct:
    """All places of a case.  ``sign``: +1 when medial is +y (right leg), -1 on a left leg."""

    case: Case
    sign: float
    wires: tuple[WirePlace, ...]
    rods: tuple[RodPlace, ...]
    rings: tuple[RingPlace, ...]


def construct(case: Case) -> Construct:
    """Lay out a checked case."""
    sign = side_sign(case.case.side)
    rings = {r.name: r for r in case.ring}
    wires = tuple(_wire_place(case, w, rings[w.ring], sign) for w in case.wire)
    rods = tuple(_rod_place(r, rings, sign) for r in case.rod)
    return Construct(
        case, sign, wires, rods, tuple(_ring_place(r, wires, rods, sign) for r in case.ring)
    )


def _wire_place(case: Case, wire: Wire, ring: Ring, sign: float) -> WirePlace:
    p = wire_points(
        sign,
        wire.bearing_deg,
        wire.offset_mm,
        ring.centre_mm,
        ring.hole_circle_mm,
        case.bone.outer_mm,
    )
    level = ring.level_mm + wire_height(wire, ring)
    flat = (p.start_clamp, p.start_cortex, p.end_cortex, p.end_clamp)
    stations = np.array([(x, y, level) for x, y in flat])
    return WirePlace(wire, stations, FRAGMENTS[level > 0.0])


def _rod_place(rod: Rod, rings: dict[str, Ring], sign: float) -> RodPlace:
    order = tuple(sorted(rod.rings, key=lambda n: rings[n].level_mm))
    points = []
    for ring in (rings[n] for n in order):
        centre = to_xy(sign, ring.centre_mm)
        x, y = circle_point(sign, rod.bearing_deg, centre, ring.hole_circle_mm / 2.0)
        points.append((x, y, ring.level_mm))
    return RodPlace(rod, order, np.array(points))


def attachment(part: str, where: str) -> str:
    """Name of the node by which a part attaches: ``W1 start clamp``, ``rod R1-R2 at 45° in R1``."""
    return f"{part} {where}"


def _ring_place(
    ring: Ring, wires: tuple[WirePlace, ...], rods: tuple[RodPlace, ...], sign: float
) -> RingPlace:
    centre = np.array([*to_xy(sign, ring.centre_mm), ring.level_mm])
    radius = (ring.inner_diameter_mm + ring.width_mm) / 2.0
    found: list[tuple[float, str]] = []
    for w in wires:
        if w.wire.ring == ring.name:
            for k in (0, 3):
                found.append((_angle(w.stations[k], centre), attachment(w.wire.name, STATIONS[k])))
    for i, r in enumerate(rods):
        for name, point in zip(r.rings, r.points, strict=True):
            if name == ring.name:
                found.append((_angle(point, centre), attachment(rod_name(i, r), f"in {name}")))
    angles, node_of = _cluster(sorted(found), SHARED_SECTION_MM / radius)
    opening_x, opening_y = circle_point(sign, ring.opening_bearing_deg, (0.0, 0.0), 1.0)
    return RingPlace(ring, centre, radius, angles, node_of, atan2(opening_y, opening_x))


def rod_name(number: int, place: RodPlace) -> str:
    """A rod's name, unique also when two rods without a name lie alike."""
    return place.rod.name or f"{place.rod.label} ({number + 1})"


def _angle(point: Array, centre: Array) -> float:
    return float(np.arctan2(point[1] - centre[1], point[0] - centre[0]) % (2 * pi))


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
    middles = [float(np.mean([a for a, _ in g])) % (2 * pi) for g in groups]
    order = np.argsort(middles)
    node_of = {n: place for place, g in enumerate(order) for _, n in groups[g]}
    return np.array(middles)[order], node_of


def bone_levels(place: Construct, fragment: str) -> tuple[Array, dict[str, int]]:
    """Levels (k,) of a fragment's nodes from gap to end, and wire name → number of its node."""
    bone = place.case.bone
    up = 1.0 if fragment == FRAGMENTS[1] else -1.0
    face, end = bone.gap_mm / 2.0, abs(bone.proximal_end_mm if up > 0 else bone.distal_end_mm)
    own = sorted(
        (up * float(w.stations[0, 2]), w.wire.name) for w in place.wires if w.fragment == fragment
    )
    levels, node_of = [face], {}
    for level, name in own:
        if level - levels[-1] >= SHARED_SECTION_MM:
            levels.append(level)
        node_of[name] = len(levels) - 1
    if end - levels[-1] >= SHARED_SECTION_MM or len(levels) == 1:
        levels.append(end)
    return up * np.array(levels), node_of
