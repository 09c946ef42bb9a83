"""Does the frame fit the leg, and do its parts fit each other: one function, one answer."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from frames.assumptions import Assumption, assumed
from frames.casefile import Case
from frames.caution import CAUTION
from frames.construct import construct
from frames.fitting.bars import bars_of
from frames.fitting.direction_problems import direction_problems
from frames.fitting.directions import (
    IN,
    OUT,
    Crossing,
    Hold,
    SkinPlace,
    crossings,
    holds,
    skin_places,
)
from frames.fitting.findings import FitProblem
from frames.fitting.limb_room import BarRoom, EndRoom, RingRoom, bar_rooms, end_rooms, ring_rooms
from frames.fitting.parts import HoleGap, PartGap, hole_gaps, part_gaps, part_problems
from frames.fitting.room_problems import room_problems
from frames.lines import Line

NEAREST = 10
"""So many of the nearest pairs of parts are kept in an answer."""

FITS, MISFITS, UNKNOWN = "fits", "does not fit", "not all could be judged"

_WITH_LEG = ("front_mm", "side_mm", "back_mm", "wire_end_mm")


@dataclass(frozen=True)
class Fit:
    """rings, ends, bars: room to the leg (none when no [[limb]] is given); parts, holes: the
    nearest pairs; skin: where wires and pins pass it; crossings; holds: what holds each fragment;
    problems: what does not fit, and what the case has too little for; unjudged: what the case says
    nothing about, so that it is not judged at all; verdict: ``FITS`` …"""

    title: str
    verdict: str
    swelling: str
    rings: tuple[RingRoom, ...]
    ends: tuple[EndRoom, ...]
    bars: tuple[BarRoom, ...]
    parts: tuple[PartGap, ...]
    holes: tuple[HoleGap, ...]
    skin: tuple[SkinPlace, ...]
    crossings: tuple[Crossing, ...]
    holds: tuple[Hold, ...]
    problems: tuple[FitProblem, ...]
    unjudged: tuple[str, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def fits(self) -> bool:
        """No problem was found in what could be judged, and no part of it is unknown."""
        return not self.problems

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file: what belongs to a ring, wire or pin under its name."""
        content = {"format": "tautring fit", "version": 1, **asdict(self)}
        content |= {
            "rings": _named(self.rings, "ring", "direction"),
            "ends": _named(self.ends, "part", "end"),
            "bars": _named(self.bars, "part"),
            "skin": {
                part: {end: s | {"in_corridor": _in(s["verdict"])} for end, s in ends.items()}
                for part, ends in _named(self.skin, "part", "end").items()
            },
            "parts": _pairs(self.parts),
            "holes": _pairs(self.holes),
        }
        return content | {"caution": CAUTION}

    def lines(self) -> Iterator[Line]:
        """As text."""
        from frames.fitting.text import fit_lines

        return fit_lines(self)


def _named(items: tuple[Any, ...], *keys: str) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for item in items:
        own = asdict(item)
        *outer, last = [own.pop(key) for key in keys]
        place = found
        for name in outer:
            place = place.setdefault(name, {})
        place[last] = own
    return found


def _pairs(items: tuple[Any, ...]) -> list[dict[str, Any]]:
    return [{"name": f"{i.one}, {i.other}", **asdict(i)} for i in items]


def _in(verdict: str) -> bool | None:
    return {IN: True, OUT: False}.get(verdict)


def fit(case: Case) -> Fit:
    """Judge a case; nothing is solved."""
    place = construct(case)
    bars = bars_of(place)
    rings, ends, near_leg = ring_rooms(place), end_rooms(place), bar_rooms(place, bars)
    gaps, holes = part_gaps(place, bars), hole_gaps(place)
    skin, crossing = skin_places(place), crossings(place)
    problems = (
        *room_problems(rings, ends, near_leg),
        *part_problems(place, gaps, holes),
        *direction_problems(place, skin, crossing),
    )
    verdict = FITS
    if problems:
        verdict = UNKNOWN if all(p.unknown for p in problems) else MISFITS
    return Fit(
        title=case.case.title,
        verdict=verdict,
        swelling=_swelling(case),
        rings=rings,
        ends=ends,
        bars=near_leg[:NEAREST],
        parts=tuple(gaps[:NEAREST]),
        holes=tuple(holes[:NEAREST]),
        skin=skin,
        crossings=crossing,
        holds=holds(place),
        problems=problems,
        unjudged=tuple(_unjudged(case)),
        assumptions=_assumed(case),
    )


def _assumed(case: Case) -> tuple[Assumption, ...]:
    """Those that entered: room round the leg only where a leg is given."""
    listed = assumed(case, "room")
    return tuple(a for a in listed if case.limb or a.key.split(".")[-1] not in _WITH_LEG)


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
