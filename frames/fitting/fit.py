"""Does the frame fit the leg, and do its parts fit each other: one function, one answer."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from frames.assumptions import Assumption, assumed
from frames.casefile import Case
from frames.caution import CAUTION
from frames.construct import construct
from frames.fitting.directions import (
    Crossing,
    SkinPlace,
    crossings,
    direction_problems,
    skin_places,
)
from frames.fitting.findings import FitProblem
from frames.fitting.limb_room import EndRoom, RingRoom, end_rooms, ring_rooms, room_problems
from frames.fitting.parts import PartGap, hole_gaps, part_gaps, part_problems
from frames.lines import Line

NEAREST = 10
"""So many of the nearest pairs of parts are kept in an answer."""


@dataclass(frozen=True)
class Fit:
    """rings, ends: room to the leg (none when no [[limb]] is given); parts, holes: the nearest
    pairs; skin: where wires and pins pass it; crossings; problems: what does not fit; unjudged:
    what could not be judged, and why."""

    title: str
    verdict: str
    swelling: str
    rings: tuple[RingRoom, ...]
    ends: tuple[EndRoom, ...]
    parts: tuple[PartGap, ...]
    holes: tuple[PartGap, ...]
    skin: tuple[SkinPlace, ...]
    crossings: tuple[Crossing, ...]
    problems: tuple[FitProblem, ...]
    unjudged: tuple[str, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def fits(self) -> bool:
        """No problem was found in what could be judged."""
        return not self.problems

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file."""
        return {"format": "tautring fit", "version": 1, **asdict(self), "caution": CAUTION}

    def lines(self) -> Iterator[Line]:
        """As text."""
        from frames.fitting.text import fit_lines

        return fit_lines(self)


def fit(case: Case) -> Fit:
    """Judge a case; nothing is solved."""
    place = construct(case)
    rings, ends = ring_rooms(place), end_rooms(place)
    gaps, holes = part_gaps(place), hole_gaps(place)
    skin, crossing = skin_places(place), crossings(place)
    problems = (
        *room_problems(rings, ends),
        *part_problems(place, gaps, holes),
        *direction_problems(place, skin, crossing),
    )
    return Fit(
        title=case.case.title,
        verdict="fits" if not problems else "does not fit",
        swelling=_swelling(case),
        rings=rings,
        ends=ends,
        parts=tuple(gaps[:NEAREST]),
        holes=tuple(holes[:NEAREST]),
        skin=skin,
        crossings=crossing,
        problems=problems,
        unjudged=tuple(_unjudged(case)),
        assumptions=assumed(case, "room"),
    )


def _swelling(case: Case) -> str:
    room = case.room
    if room.swelling_mm is not None:
        return f"{room.swelling_mm:g} mm outwards"
    if room.swelling_percent is not None:
        return f"{room.swelling_percent:g} % of the girth"
    return "none given"


def _unjudged(case: Case) -> Iterator[str]:
    if not case.limb:
        yield "Room for the leg: no [[limb]] is given, so it is not judged."
    elif case.room.swelling_mm is None and case.room.swelling_percent is None:
        yield "Swelling: [room] gives none (swelling_mm or swelling_percent), so none is counted."
    if not case.corridor:
        yield "Directions of wires and pins: no [[corridor]] is given, so they are not judged."
