"""Checks on loads and targets: is what they refer to there?"""

from collections.abc import Iterator

from frames.casefile.loads import Load, Target
from frames.casefile.partial import NotKnown
from frames.casefile.places import name_of, parts_of
from frames.casefile.problems import Problem, plain_number
from frames.casefile.references import missing
from frames.casefile.tables import Tables
from frames.quantities import QUANTITIES


def _has_body_mass(tables: Tables, load: Load, place: str) -> Iterator[Problem]:
    if load.body_weight is not None and tables.case.body_mass_kg is None:
        yield Problem(
            f"{place}, body_weight", "needs the body's mass: give body_mass_kg in [case] as well"
        )


def _names_its_load(tables: Tables, target: Target, place: str) -> Iterator[Problem]:
    if target.load is not None:
        yield from missing(tables, "load", target.load, f"{place}, load")
    elif QUANTITIES[target.quantity].needs_load:
        yield Problem(
            f"{place}, load", f"is missing: {target.quantity} belongs to a load, name which"
        )


def _load_of(tables: Tables, name: str | None) -> Load:
    for load in parts_of(tables, "load"):
        if name is not None and name_of(load) == name:
            found: Load = load
            return found
    raise NotKnown(str(name))


def _has_axial_load(tables: Tables, target: Target, place: str) -> Iterator[Problem]:
    if not QUANTITIES[target.quantity].needs_axial_load:
        return
    load = _load_of(tables, target.load)
    if not (load.axial_N or load.body_weight):
        yield Problem(
            f"{place}, load",
            f"{target.quantity} needs a load along the bone (axial_N or body_weight, not 0); "
            f'load "{target.load}" has none',
        )


def _has_its_part(tables: Tables, target: Target, place: str) -> Iterator[Problem]:
    """A quantity of wires, pins or bone ends needs some."""
    part = QUANTITIES[target.quantity].needs_part
    if part is None:
        return
    if part == "bone ends":
        bone = tables.bone
        there = bone.contact is not None or bone.callus is not None
        lacking = "needs [bone.contact] or [bone.callus]: through an open gap nothing passes"
    elif not (parts_of(tables, "wire") or parts_of(tables, "pin")):
        return  # what the bone lacks first is a hold
    else:
        there = bool(parts_of(tables, part))
        lacking = f"needs a {part}, and the case has none"
    if not there:
        yield Problem(f"{place}, quantity", f"{target.quantity} {lacking}")


def _ordered_bounds(tables: Tables, target: Target, place: str) -> Iterator[Problem]:
    low, high = target.at_least, target.at_most
    if low is not None and high is not None and low > high:
        yield Problem(
            f"{place}, at_most",
            f"must not be less than at_least ({plain_number(low)})",
            high,
            f"at least {plain_number(low)}",
        )


LOAD_CHECKS = (_has_body_mass,)
TARGET_CHECKS = (_names_its_load, _has_axial_load, _has_its_part, _ordered_bounds)
