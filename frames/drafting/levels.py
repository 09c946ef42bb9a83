"""At which levels rings stand.

Each fragment reaches from the end of the fracture to the joint. Its outer ring stands near the
joint and is tilted like the joint line, its inner one near the fracture and square, when both have
room; a ring whose place is taken by a wound moves to the nearest level that is free, the inner one
towards the joint or the fracture alike. A fragment too short for two rings gets one, in its middle;
one too short for that is refused. Where wounds leave no place for
a tilted ring, it is left square.

An oblique fracture of a bone of outer diameter D, inclined by φ, takes D tan φ along the bone and
the gap.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import radians, tan

from frames.casefile import CaseError, Problem
from frames.drafting.slant import lifts
from frames.drafting.tables import Closed, Measurements

HALF_MM = 8.0
"""Half of the length along the leg that a ring with its wires takes: half a thickness, a wire on
each face, and a little room. Own choice, no source."""
LEAST_MM = 12.0
"""A ring stands no nearer to a fracture end or a joint line than this: own choice, no source."""

Ranges = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Fragment:
    """word: "proximal" or "distal"; distances along it from the fracture's end: of the joint, and
    the ranges that wounds take from a square ring and from one tilted like the joint line."""

    word: str
    length_mm: float
    closed: Ranges
    closed_tilted: Ranges


@dataclass(frozen=True)
class Stand:
    """Distances of the rings of a fragment from the fracture's end, the outer one last; whether
    that is tilted like the joint line; notes."""

    distances: tuple[float, ...]
    tilted: bool
    notes: tuple[str, ...]


def fragments(m: Measurements, radii_mm: tuple[float, float]) -> tuple[Fragment, Fragment]:
    """Proximal and distal, in distances from the end of the fracture towards the joint. radii_mm :
    between which a ring with the wires outside the leg lies, from the bone axis."""
    half, at = half_extent(m), m.fracture.below_knee_mm

    def ranges(way: float, tilt: float) -> Ranges:
        return tuple(_range(w, m, way, tilt, radii_mm) for w in m.wound)

    knee, ankle = m.leg.knee_tilt_deg, m.leg.ankle_tilt_deg
    return (
        Fragment("proximal", at - half, ranges(1.0, 0.0), ranges(1.0, knee)),
        Fragment(
            "distal", m.leg.ankle_below_knee_mm - at - half, ranges(-1.0, 0.0), ranges(-1.0, ankle)
        ),
    )


def _range(
    wound: Closed, m: Measurements, way: float, tilt: float, radii: tuple[float, float]
) -> tuple[float, float]:
    """Distances of a ring's middle at which it lies over a wound: the wound's levels, lowered by
    the ring's lift at the bearings of the wound."""
    a, b = wound.from_bearing_deg, wound.to_bearing_deg
    least, most = lifts(tilt, radii, None if a is None or b is None else (a, b))
    zero, half = m.fracture.below_knee_mm, half_extent(m)
    low, high = zero - wound.to_below_knee_mm - most, zero - wound.from_below_knee_mm - least
    near, far = sorted((way * low, way * high))
    return near - half, far - half


def half_extent(m: Measurements) -> float:
    """Half of the length that the fracture takes along the bone, mm."""
    slope = tan(radians(m.fracture.obliquity_deg or 0.0))
    return (max(m.fracture.length_mm or 0.0, m.fracture.gap_mm) + m.bone.outer_mm * slope) / 2.0


def ring_distances(fragment: Fragment, m: Measurements) -> Stand:
    """Where the rings of a fragment stand. Raises ``CaseError`` when there is no room for one."""
    low, high = LEAST_MM, fragment.length_mm - LEAST_MM
    if low > high:
        left = (
            f"leaves a {fragment.word} fragment of {fragment.length_mm:.0f} mm"
            if fragment.length_mm > 0.0
            else f"leaves no {fragment.word} fragment between the fracture and the joint"
        )
        raise CaseError(
            [
                Problem(
                    "fracture, below_knee_mm",
                    f"{left}, too short for a ring (at least {2 * LEAST_MM:g} mm); another "
                    "construct is needed",
                    m.fracture.below_knee_mm,
                )
            ]
        )
    outer_wish = min(max(fragment.length_mm - m.layout.joint_mm, low), high)
    inner_wish = min(max(m.layout.fracture_mm, low), high)
    single = outer_wish - inner_wish < m.layout.apart_mm
    if single:
        if high - low < m.layout.apart_mm:
            outer_wish = (low + high) / 2.0
        notes = [
            f"The {fragment.word} fragment has room for one ring only: think of a third wire, or "
            "of going over the joint."
        ]
    else:
        notes = []
    outer, tilted = _outer(fragment, outer_wish, low, high)
    if not tilted:
        notes.append(
            f"The ring next to the joint on the {fragment.word} fragment is left square to the "
            "bone: tilted like the joint line it would lie over a wound."
        )
    if single:
        return Stand((outer,), tilted, (*notes, *_moved(fragment, "", outer_wish, outer)))
    try:
        inner = _free(fragment, fragment.closed, inner_wish, low, outer - m.layout.apart_mm)
    except CaseError:
        notes.append(
            f"Wounds leave no place for a second ring on the {fragment.word} fragment: it has one."
        )
        return Stand((outer,), tilted, (*notes, *_moved(fragment, "", outer_wish, outer)))
    notes += _moved(fragment, "inner ", inner_wish, inner)
    notes += _moved(fragment, "outer ", outer_wish, outer)
    return Stand((inner, outer), tilted, tuple(notes))


def _outer(fragment: Fragment, wish: float, low: float, high: float) -> tuple[float, bool]:
    """Place of the outer ring, and whether there it can be tilted like the joint line."""
    try:
        return _free(fragment, fragment.closed_tilted, wish, low, high), True
    except CaseError:
        return _free(fragment, fragment.closed, wish, low, high), False


def _moved(fragment: Fragment, word: str, wish: float, got: float) -> list[str]:
    if abs(wish - got) <= 0.5:
        return []
    return [
        f"The {word}ring of the {fragment.word} fragment is moved by {abs(wish - got):.0f} mm, "
        "clear of a wound."
    ]


def _free(fragment: Fragment, closed: Ranges, wish: float, low: float, high: float) -> float:
    """The place nearest to a wish, from low to high, that no wound takes."""
    places = [wish, low, high]
    for a, b in closed:
        places += [a - HALF_MM, b + HALF_MM]
    free = [p for p in places if low <= p <= high and not _taken(closed, p)]
    if not free:
        raise CaseError(
            [
                Problem(
                    "wound",
                    f"wounds leave no place for a ring on the {fragment.word} fragment, which has "
                    f"room from {low:.0f} to {high:.0f} mm from the fracture",
                )
            ]
        )
    return min(free, key=lambda p: abs(p - wish))


def _taken(closed: Sequence[tuple[float, float]], place: float) -> bool:
    return any(a - HALF_MM + 1e-9 < place < b + HALF_MM - 1e-9 for a, b in closed)
