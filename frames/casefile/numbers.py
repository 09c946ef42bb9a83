"""The numbers of a case by their paths: what they are now, and the limits of their keys.

A key that another one stands in for (tension_kgf for tension_N, face for height_mm, thread for
diameter_mm, material for E_MPa, body_weight for axial_N) has the value that follows from that.
"""

import typing
from collections.abc import Iterator
from math import inf
from typing import Any

from annotated_types import Ge, Le
from pydantic.fields import FieldInfo

from frames.casefile.loads import Load
from frames.casefile.partial import NotKnown, Partial
from frames.casefile.parts import Elastic, Pin, Rod, Wire, wire_height
from frames.casefile.paths import Slot
from frames.casefile.places import parts_of
from frames.casefile.references import ring_of
from frames.casefile.tables import NESTED, REPEATED, SINGLE, Tables
from frames.sizes import STANDARD_GRAVITY

Numbers = tuple[float, ...]


def is_measure(slot: Slot) -> bool:
    """Whether the key holds a number with decimals, or a list of such: no words, no counts."""
    return float in set(_kinds(_field(slot).annotation))


def limits(slot: Slot) -> tuple[float, float]:
    """Lowest and highest value that the case file takes there; infinite without such."""
    marks = list(_marks(_field(slot)))
    low = max((float(m.ge) for m in marks if isinstance(m, Ge)), default=-inf)  # type: ignore[arg-type]
    high = min((float(m.le) for m in marks if isinstance(m, Le)), default=inf)  # type: ignore[arg-type]
    return low, high


_UNITS = {
    "N_per_mm": "N/mm",
    "Nm_per_deg": "N·m/deg",
    "kg_per_m3": "kg/m³",
    "mm": "mm",
    "deg": "°",
    "N": "N",
    "kgf": "kgf",
    "MPa": "MPa",
    "Nm": "N·m",
    "kg": "kg",
    "percent": "%",
}


def unit_of(key: str) -> str:
    """The unit that a key ends in; empty for numbers without one."""
    return next((unit for end, unit in _UNITS.items() if key.endswith(f"_{end}")), "")


def value_at(tables: Tables, slot: Slot) -> float | Numbers | None:
    """What a measure is now; None where it has no value.  Raises `NotKnown` where it cannot be told
    because a part is wrong itself."""
    part = parts_of(tables, slot.kind)[slot.number]
    if slot.inner:
        part = getattr(part, slot.inner)
        if part is None:
            return None
    value = getattr(part, slot.key)
    if value is None:
        return _stood_in_for(tables, part, slot.key)
    return tuple(float(v) for v in value) if isinstance(value, (list, tuple)) else float(value)


def _stood_in_for(tables: Tables, part: Any, key: str) -> float | None:
    if isinstance(part, Partial):
        raise NotKnown(key)
    match part, key:
        case Wire(), "tension_N":
            return part.tension
        case Wire(), "tension_kgf":
            return part.tension / STANDARD_GRAVITY
        case Wire() | Pin(), "height_mm":
            return wire_height(part, ring_of(tables, part.ring))
        case Rod(), "diameter_mm":
            return part.effective_diameter_mm
        case Elastic(), "E_MPa":
            return part.elastic[0]
        case Elastic(), "nu":
            return part.elastic[1]
        case Load(), "axial_N" if part.body_weight is not None:
            return part.axial_force_N(tables.case.body_mass_kg)
    return None


def _field(slot: Slot) -> FieldInfo:
    model = (SINGLE | REPEATED)[slot.kind]
    return (NESTED[model][slot.inner] if slot.inner else model).model_fields[slot.key]


def _kinds(annotation: Any) -> Iterator[Any]:
    """The plain types in an annotation."""
    inside = typing.get_args(annotation)
    if typing.get_origin(annotation) is typing.Annotated:
        yield from _kinds(inside[0])
    elif inside and typing.get_origin(annotation) is not typing.Literal:
        for each in inside:
            yield from _kinds(each)
    else:
        yield annotation


def _marks(of: Any) -> Iterator[Any]:
    """The limits in a field and in the types inside it."""
    if isinstance(of, FieldInfo):
        for mark in of.metadata:
            yield from _marks(mark)
        yield from _marks(of.annotation)
    elif isinstance(of, (Ge, Le)):
        yield of
    else:
        metadata = getattr(of, "__metadata__", ())
        for inside in (*metadata, *typing.get_args(of)[: 1 if metadata else None]):
            yield from _marks(inside)
