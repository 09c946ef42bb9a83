"""What a draft took for granted: defaults of the measurements, and what drafting itself chose."""

from collections.abc import Iterator
from typing import Any

from frames.assumptions import Assumption
from frames.casefile.fields import SOURCE, Part
from frames.casefile.problems import show_value
from frames.drafting.building import LOADS, wire_kind
from frames.drafting.directions import ASIDE_DEG, INSIDE_DEG
from frames.drafting.levels import LEAST_MM
from frames.drafting.tables import Girth, Measurements
from frames.part_sizes import NUTS_MM, RING_SECTION_MM, ROD_THREAD
from frames.part_sizes import SOURCE as SIZES

PRACTICE = "common practice, no source"
OWN = "own choice, no source"


def taken(m: Measurements) -> tuple[Assumption, ...]:
    """Every default with its source."""
    return (*_left(m), *_chosen(m))


def _left(m: Measurements) -> Iterator[Assumption]:
    for kind, part in m:
        parts = part if isinstance(part, tuple) else (part,)
        found: dict[tuple[str, str, str], int] = {}
        for one in parts:
            for key, value, source in _defaults(one):
                entry = (f"{kind}.{key}", value, source)
                found[entry] = found.get(entry, 0) + 1
        for entry, count in found.items():
            yield Assumption(*entry, parts=count)


def _defaults(part: Part) -> Iterator[tuple[str, str, str]]:
    for key, field in type(part).model_fields.items():
        extra: Any = field.json_schema_extra
        value = getattr(part, key)
        if not isinstance(extra, dict) or SOURCE not in extra or value is None:
            continue
        if key in part.model_fields_set:
            continue
        if isinstance(part, Girth) and part.girth_mm is None:
            continue  # the middle belongs to a girth
        yield key, show_value(value), str(extra[SOURCE])


def _chosen(m: Measurements) -> Iterator[Assumption]:
    width, thick = RING_SECTION_MM
    diameter, tension = wire_kind(m)
    loads = ", ".join(f"{share:g}" for share in LOADS.values())
    yield Assumption(
        "rings", f"of one size, {width:g} × {thick:g} mm, stainless steel", f"{SIZES}; {PRACTICE}"
    )
    yield Assumption("rings", f"{LEAST_MM:g} mm or more from fracture and joint line", OWN)
    yield Assumption("rods", f"{ROD_THREAD}, four between neighbours", PRACTICE)
    yield Assumption("rods", f"{NUTS_MM:g} mm for nuts at each end", SIZES)
    yield Assumption("wires", f"two to a ring, {diameter:g} mm at {tension:g} kgf", PRACTICE)
    yield Assumption(
        "wires", f"{INSIDE_DEG:g}° inside the edges of corridors, by steps of 2.5°", OWN
    )
    yield Assumption(
        "wires next to a joint",
        f"the first within {ASIDE_DEG:g}° of the line from medial to lateral, if it can be",
        f"{PRACTICE}; the angle own choice",
    )
    yield Assumption("loads", f"{loads} times body weight", PRACTICE)
