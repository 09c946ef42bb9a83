"""Where wires and pins pass the skin: corridors, wounds; at which angles the wires of a ring cross.

A place on the skin is a level and a bearing seen from the bone axis. Where the leg was not measured
it is taken at the clamp, along the same line.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from frames.casefile.limb import Corridor
from frames.construct import FRAGMENTS, Construct
from frames.fitting.skin import polar, through_skin
from frames.limb_outline import outline_of

IN, OUT, NONE_HERE, NOT_JUDGED = "in a corridor", "outside", "no corridor here", "not judged"


@dataclass(frozen=True)
class SkinPlace:
    """Where one end of a wire, or a pin, passes the skin. on_skin: the leg was measured there; else
    it is the clamp's place. corridor: the one it lies in; verdict: ``IN`` …; off_deg: how far it is
    from the nearest corridor of its level."""

    part: str
    end: str
    bearing_deg: float
    level_mm: float
    on_skin: bool
    verdict: str
    corridor: str | None
    off_deg: float | None


@dataclass(frozen=True)
class Crossing:
    """The angle (0 to 90 degrees) at which two wires of a ring cross, seen along the bone."""

    ring: str
    wires: tuple[str, str]
    angle_deg: float


def skin_places(place: Construct) -> tuple[SkinPlace, ...]:
    """Both ends of every wire, the clamped end of every pin."""
    outline = outline_of(place.case, swollen=False)
    lines = [
        (w.wire.name, end, w.stations[c], w.stations[k])
        for w in place.wires
        for end, c, k in (("start", 1, 0), ("end", 2, 3))
    ]
    lines += [(p.pin.name, "clamp", p.stations[1], p.stations[0]) for p in place.pins]
    cortex = np.array([line[2] for line in lines]).reshape(-1, 3)
    clamp = np.array([line[3] for line in lines]).reshape(-1, 3)
    _, bearing, level = polar(clamp, place.sign)
    met = np.zeros(len(lines), dtype=bool)
    if outline is not None:
        skin_bearing, skin_level, met = through_skin(outline, cortex, clamp, place.sign)
        bearing, level = np.where(met, skin_bearing, bearing), np.where(met, skin_level, level)
    found = []
    for k, (part, end, _, _) in enumerate(lines):
        at = float(bearing[k]), float(level[k])
        verdict, name, off = _judged(place.case.corridor, *at)
        found.append(SkinPlace(part, end, *at, bool(met[k]), verdict, name, off))
    return tuple(found)


def _judged(
    corridors: Sequence[Corridor], bearing: float, level: float
) -> tuple[str, str | None, float | None]:
    if not corridors:
        return NOT_JUDGED, None, None
    here = [c for c in corridors if c.from_level_mm <= level <= c.to_level_mm]
    if not here:
        return NONE_HERE, None, None
    off, nearest = min(
        ((outside_deg(bearing, c.from_bearing_deg, c.to_bearing_deg), c) for c in here),
        key=lambda pair: pair[0],
    )
    return (IN if off == 0.0 else OUT), nearest.name, off


def outside_deg(bearing: float, start: float, end: float) -> float:
    """How far (degrees) a bearing is outside the range from start, turning upwards, to end; 0
    inside. A range of 360 degrees or more is all round."""
    width = end - start if end - start >= 360.0 else (end - start) % 360.0
    into = (bearing - start) % 360.0
    if into <= width + 1e-9:
        return 0.0
    return min(into - width, 360.0 - into)


def off_words(off_deg: float) -> str:
    """``12°``, ``0.4°``."""
    return f"{off_deg:.0f}°" if off_deg >= 1.0 else f"{max(off_deg, 0.1):.1f}°"


def crossings(place: Construct) -> tuple[Crossing, ...]:
    """Every pair of wires of every ring."""
    found = []
    for ring in place.rings:
        own = [w for w in place.wires if w.wire.ring == ring.ring.name]
        for a, b in combinations(own, 2):
            ways = [w.stations[3, :2] - w.stations[0, :2] for w in (a, b)]
            cosine = abs(ways[0] @ ways[1]) / np.prod([np.linalg.norm(v) for v in ways])
            angle = float(np.degrees(np.arccos(min(cosine, 1.0))))
            found.append(Crossing(ring.ring.name, (a.wire.name, b.wire.name), angle))
    return tuple(found)


@dataclass(frozen=True)
class Hold:
    """What holds a fragment: names of its wires and pins, and of the rings they are on."""

    fragment: str
    wires: tuple[str, ...]
    pins: tuple[str, ...]
    rings: tuple[str, ...]


def holds(place: Construct) -> tuple[Hold, ...]:
    """Proximal fragment first."""
    found = []
    for fragment in reversed(FRAGMENTS):
        wires = [w.wire for w in place.wires if w.fragment == fragment]
        pins = [p.pin for p in place.pins if p.fragment == fragment]
        rings = dict.fromkeys([*(w.ring for w in wires), *(p.ring for p in pins)])
        names = tuple(w.name for w in wires), tuple(p.name for p in pins)
        found.append(Hold(fragment, *names, tuple(rings)))
    return tuple(found)
