"""Checks on rods: do they join rings, and is there metal where they go through?"""

from collections.abc import Iterator

from frames.casefile.partial import NotKnown
from frames.casefile.parts import Rod
from frames.casefile.places import part_place
from frames.casefile.problems import Problem, plain_number
from frames.casefile.references import missing, ring_of
from frames.casefile.ringchecks import EDGE_DEG, in_opening, opening, turn
from frames.casefile.tables import Tables


def _joins_rings(tables: Tables, rod: Rod, place: str) -> Iterator[Problem]:
    for name in dict.fromkeys(rod.rings):
        yield from missing(tables, "ring", name, f"{place}, rings")


def _joins_different_rings(tables: Tables, rod: Rod, place: str) -> Iterator[Problem]:
    for name in dict.fromkeys(rod.rings):
        if rod.rings.count(name) > 1:
            yield Problem(f"{place}, rings", f'ring "{name}" is named more than once')


def _has_length(tables: Tables, rod: Rod, place: str) -> Iterator[Problem]:
    names = list(dict.fromkeys(rod.rings))
    for i, name in enumerate(names):
        for other in names[:i]:
            level = ring_of(tables, name).level_mm
            if ring_of(tables, other).level_mm == level:
                yield Problem(
                    f"{place}, rings",
                    f'rings "{other}" and "{name}" are at the same level '
                    f"({plain_number(level)} mm): a rod between them has no length",
                )


def _one_bearing_for_each_ring(tables: Tables, rod: Rod, place: str) -> Iterator[Problem]:
    if rod.bearings_deg is not None and len(rod.bearings_deg) != len(rod.rings):
        yield Problem(
            f"{place}, bearings_deg",
            f"must be one bearing for each of its {len(rod.rings)} rings",
            rod.bearings_deg,
        )


def _bearings(rod: Rod) -> list[tuple[str, float]]:
    """Rings that a rod names and its bearing in each; not known while their numbers differ."""
    if rod.bearings_deg is None and rod.bearing_deg is not None:
        return [(name, rod.bearing_deg) for name in dict.fromkeys(rod.rings)]
    if rod.bearings_deg is None or len(rod.bearings_deg) != len(rod.rings):
        raise NotKnown("bearings_deg")
    return list(dict(zip(rod.rings, rod.bearings_deg, strict=True)).items())


def _key(rod: Rod) -> str:
    return "bearing_deg" if rod.bearings_deg is None else "bearings_deg"


def _rod_on_ring(tables: Tables, rod: Rod, place: str) -> Iterator[Problem]:
    for name, bearing in _bearings(rod):
        ring = ring_of(tables, name)
        if in_opening(ring, bearing):
            first, last = opening(ring)
            yield Problem(
                f"{place}, {_key(rod)}",
                f'there is no hole there: ring "{name}" is open from '
                f"{plain_number(first)}° to {plain_number(last)}°",
                bearing,
            )


def _own_hole(tables: Tables, rod: Rod, place: str) -> Iterator[Problem]:
    here = dict(_bearings(rod))
    for number, other in enumerate(tables.rod, start=1):
        if other is rod:
            return
        try:
            if len(here.keys() & other.rings) < 2:
                continue
            there = dict(_bearings(other))
            shared = [
                name
                for name in here
                if name in there and abs(turn(here[name], there[name])) < EDGE_DEG
            ]
            name = other.name
        except NotKnown:
            continue
        if len(shared) > 1:
            yield Problem(
                f"{place}, {_key(rod)}",
                f"{part_place('rod', number, name)} already joins rings "
                f'"{shared[0]}" and "{shared[1]}" '
                + ("at this bearing" if rod.bearings_deg is None else "at these bearings"),
                rod.bearing_deg if rod.bearings_deg is None else rod.bearings_deg,
            )


def _end_stiffness(tables: Tables, rod: Rod, place: str) -> Iterator[Problem]:
    if rod.end_Nm_per_deg is not None and rod.ends != "conical washers":
        yield Problem(
            f"{place}, end_Nm_per_deg",
            'goes with ends = "conical washers" only',
            rod.end_Nm_per_deg,
        )


ROD_CHECKS = (
    _joins_rings,
    _joins_different_rings,
    _has_length,
    _one_bearing_for_each_ring,
    _rod_on_ring,
    _own_hole,
    _end_stiffness,
)
