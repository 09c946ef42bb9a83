"""Checks on nut turns (is there such a rod?) and on the history of loads."""

from collections.abc import Iterator

from frames.casefile.adjusting import History, NutTurn, joins, stands_at
from frames.casefile.partial import NotKnown
from frames.casefile.parts import Rod
from frames.casefile.places import placed
from frames.casefile.problems import Problem, plain_number
from frames.casefile.references import missing, ring_of
from frames.casefile.tables import Tables


def _turns_at_rings(tables: Tables, turned: NutTurn, place: str) -> Iterator[Problem]:
    for name in dict.fromkeys(turned.rings):
        yield from missing(tables, "ring", name, f"{place}, rings")
    if turned.rings[0] == turned.rings[1]:
        yield Problem(f"{place}, rings", f'ring "{turned.rings[0]}" is named twice')


def _rods_between(tables: Tables, turned: NutTurn) -> Iterator[tuple[str, Rod]]:
    """Rods that join the two rings as neighbours, each with its place; not known while a rod or
    ring is wrong, since that one may be meant."""
    for name in turned.rings:
        ring_of(tables, name)
    if turned.rings[0] == turned.rings[1]:
        raise NotKnown("rings")
    for place, rod in placed(tables, "rod"):
        levels = {name: ring_of(tables, name).level_mm for name in rod.rings}
        if joins(rod, turned.rings, levels):
            if rod.bearings_deg is not None and len(rod.bearings_deg) != len(rod.rings):
                raise NotKnown("bearings_deg")
            yield place, rod


def _turns_rods(tables: Tables, turned: NutTurn, place: str) -> Iterator[Problem]:
    between = list(_rods_between(tables, turned))
    first, second = turned.rings
    if not between:
        yield Problem(
            f"{place}, rings", f'no rod joins rings "{first}" and "{second}" as neighbours'
        )
        return
    bearings = [rod.bearing_in(first) for _, rod in between]
    for bearing in turned.bearings_deg or ():
        if not any(stands_at(rod, first, bearing) for _, rod in between):
            known = ", ".join(dict.fromkeys(f"{plain_number(b)}°" for b in bearings))
            yield Problem(
                f"{place}, bearings_deg",
                f'no rod from ring "{first}" to ring "{second}" stands there in ring "{first}"; '
                f"known: {known}",
                bearing,
            )


def _turns_on_threads(tables: Tables, turned: NutTurn, place: str) -> Iterator[Problem]:
    if turned.turns is None:
        return
    for called, rod in _rods_between(tables, turned):
        if turned.means(rod) and rod.thread is None:
            yield Problem(
                f"{place}, turns",
                f"{called} has no thread of known pitch: give its thread in place of "
                "diameter_mm, or lengthen_mm here in place of turns",
            )


def _leaves_room(tables: Tables, turned: NutTurn, place: str) -> Iterator[Problem]:
    """Rods made shorter by more than what lies between their rings."""
    first, second = (ring_of(tables, name) for name in turned.rings)
    room = abs(first.level_mm - second.level_mm) - (first.thickness_mm + second.thickness_mm) / 2
    for called, rod in _rods_between(tables, turned):
        if not turned.means(rod) or (turned.turns is not None and rod.pitch_mm is None):
            continue
        longer = turned.lengthen(rod)
        if longer <= -room:
            yield Problem(
                f"{place}, {'turns' if turned.lengthen_mm is None else 'lengthen_mm'}",
                f"{called} would become {plain_number(-longer)} mm shorter, and only "
                f"{plain_number(room)} mm lie between its two rings",
            )
            return


def _on_callus(tables: Tables, turned: NutTurn, place: str) -> Iterator[Problem]:
    if turned.when == "on callus" and tables.bone.callus is None:
        yield Problem(
            f"{place}, when",
            "there is no callus to turn on: give [bone.callus], or another time",
            turned.when,
        )


def _cycles_a_load(tables: Tables, history: History, place: str) -> Iterator[Problem]:
    yield from missing(tables, "load", history.load, f"{place}, load")


NUT_TURN_CHECKS = (
    _turns_at_rings,
    _turns_rods,
    _turns_on_threads,
    _leaves_room,
    _on_callus,
)
HISTORY_CHECKS = (_cycles_a_load,)
