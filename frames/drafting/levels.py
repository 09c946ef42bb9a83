"""At which levels rings stand.

Each fragment reaches from the end of the fracture to the joint. Its outer ring stands near the
joint, its inner one near the fracture, when both have room; a ring whose place is taken by a wound
moves to the nearest level that is free, the inner one towards the joint or the fracture alike. A
fragment too short for two rings gets one, in its middle; one too short for that is refused.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from frames.casefile import CaseError, Problem
from frames.drafting.tables import Measurements

HALF_MM = 8.0
"""Half of the length along the leg that a ring with its wires takes: half a thickness, a wire on
each face, and a little room."""
LEAST_MM = 12.0
"""A wire stands no nearer to a fracture end or a joint line than this: own choice, no source."""


@dataclass(frozen=True)
class Fragment:
    """word: "proximal" or "distal"; distances along it from the fracture's end: of the joint, and
    the ranges that wounds take."""

    word: str
    length_mm: float
    closed: tuple[tuple[float, float], ...]


def fragments(m: Measurements) -> tuple[Fragment, Fragment]:
    """Proximal and distal, in distances from the end of the fracture towards the joint."""
    half = half_extent(m)
    at, ankle = m.fracture.below_knee_mm, m.leg.ankle_below_knee_mm
    up = tuple((at - half - w.to_below_knee_mm, at - half - w.from_below_knee_mm) for w in m.wound)
    down = tuple(
        (w.from_below_knee_mm - at - half, w.to_below_knee_mm - at - half) for w in m.wound
    )
    return (
        Fragment("proximal", at - half, up),
        Fragment("distal", ankle - at - half, down),
    )


def half_extent(m: Measurements) -> float:
    """Half of the length that the fracture takes along the bone, mm."""
    return max(m.fracture.length_mm or 0.0, m.fracture.gap_mm) / 2.0


def ring_distances(fragment: Fragment, m: Measurements) -> tuple[list[float], list[str]]:
    """Distances of the rings of a fragment from the fracture's end, the inner one first, and notes.

    Raises ``CaseError`` when there is no room for a ring.
    """
    notes: list[str] = []
    low, high = LEAST_MM, fragment.length_mm - LEAST_MM
    if low > high:
        raise CaseError(
            [
                Problem(
                    "fracture, below_knee_mm",
                    f"leaves a {fragment.word} fragment of {fragment.length_mm:.0f} mm, too short "
                    f"for a ring (at least {2 * LEAST_MM:g} mm); another construct is needed",
                    m.fracture.below_knee_mm,
                )
            ]
        )
    outer_wish = min(max(fragment.length_mm - m.layout.joint_mm, low), high)
    inner_wish = min(max(m.layout.fracture_mm, low), high)
    if outer_wish - inner_wish < m.layout.apart_mm:
        if high - low < m.layout.apart_mm:
            outer_wish = (low + high) / 2.0
        notes.append(
            f"The {fragment.word} fragment has room for one ring only: think of a third wire, or "
            "of going over the joint."
        )
        return [_free(fragment, outer_wish, low, high)], notes
    outer = _free(fragment, outer_wish, low, high)
    try:
        inner = _free(fragment, inner_wish, low, outer - m.layout.apart_mm)
    except CaseError:
        notes.append(
            f"Wounds leave no place for a second ring on the {fragment.word} fragment: it has one."
        )
        return [outer], notes
    for word, wish, got in (("inner", inner_wish, inner), ("outer", outer_wish, outer)):
        if abs(wish - got) > 0.5:
            notes.append(
                f"The {word} ring of the {fragment.word} fragment is moved by "
                f"{abs(wish - got):.0f} mm, clear of a wound."
            )
    return [inner, outer], notes


def _free(fragment: Fragment, wish: float, low: float, high: float) -> float:
    """The place nearest to a wish, from low to high, that no wound takes."""
    places = [wish, low, high]
    for a, b in fragment.closed:
        places += [a - HALF_MM, b + HALF_MM]
    free = [p for p in places if low <= p <= high and not _taken(fragment.closed, p)]
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
    return any(a - HALF_MM < place < b + HALF_MM for a, b in closed)
