"""Where wires and pins pass the skin: corridors, wounds; at which angles the wires of a ring cross.

A place on the skin is a level and a bearing seen from the bone axis. Where the leg was not measured
it is taken at the clamp, along the same line.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from frames.casefile.limb import Corridor, Wound
from frames.construct import Construct
from frames.fitting.findings import FitProblem
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
    found = []
    for part, end, cortex, clamp in lines:
        met = None if outline is None else through_skin(outline, cortex, clamp, place.sign)
        if met is None:
            _, bearing, level = polar(clamp, place.sign)
            at = float(bearing), float(level)
        else:
            at = met
        verdict, name, off = _judged(place.case.corridor, *at)
        found.append(SkinPlace(part, end, *at, met is not None, verdict, name, off))
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


def direction_problems(
    place: Construct, skin: Sequence[SkinPlace], crossing: Sequence[Crossing]
) -> Iterator[FitProblem]:
    """Wires and pins outside corridors or through wounds, rings over wounds, flat crossings."""
    for s in skin:
        at = f"{s.bearing_deg:.0f}°, level {s.level_mm:.0f} mm"
        where = f'"{s.part}", {s.end}: passes the skin at {at}'
        if s.verdict == OUT:
            yield FitProblem(
                "outside the corridors",
                (s.part, s.end),
                f"{where}, {s.off_deg:.0f}° outside the nearest corridor, {s.corridor}: turn it, "
                "or put it on another ring.",
            )
        elif s.verdict == NONE_HERE:
            yield FitProblem(
                "no corridor here",
                (s.part, s.end),
                f"{where}, where no [[corridor]] is given: look it up, or move the wire.",
            )
        for wound in place.case.wound:
            if _in_wound(wound, s.bearing_deg, s.level_mm):
                yield FitProblem(
                    "through a wound", (s.part, s.end, wound.name), f"{where}, in {wound.name}."
                )
    for ring in place.rings:
        level = ring.ring.level_mm
        for wound in place.case.wound:
            if wound.from_level_mm <= level <= wound.to_level_mm:
                yield FitProblem(
                    "ring over a wound",
                    (ring.ring.name, wound.name),
                    f'ring "{ring.ring.name}", level {level:g} mm, lies over {wound.name} '
                    f"({wound.from_level_mm:g} to {wound.to_level_mm:g} mm): move it along.",
                )
    yield from _flat(place, crossing)


def _in_wound(wound: Wound, bearing: float, level: float) -> bool:
    if not wound.from_level_mm <= level <= wound.to_level_mm:
        return False
    if wound.from_bearing_deg is None or wound.to_bearing_deg is None:
        return True
    return outside_deg(bearing, wound.from_bearing_deg, wound.to_bearing_deg) == 0.0


def _flat(place: Construct, crossing: Sequence[Crossing]) -> Iterator[FitProblem]:
    least = place.case.room.crossing_deg
    for ring in place.rings:
        own = [c for c in crossing if c.ring == ring.ring.name]
        if own and max(c.angle_deg for c in own) < least:
            best = max(own, key=lambda c: c.angle_deg)
            yield FitProblem(
                "flat crossing",
                (ring.ring.name,),
                f'ring "{ring.ring.name}": its wires cross at {best.angle_deg:.0f}° at most '
                f"({' and '.join(best.wires)}), asked for {least:g}°: the bone can slide along "
                "them. Spread them, or add a wire.",
            )
