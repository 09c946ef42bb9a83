"""Checks between the parts of a case: names, references, and whether the pieces fit together.

Every check is a generator of problems for one part. It may meet a stand-in whose field is not
known (`NotKnown`); then that check ends there and the others go on.
"""

from collections.abc import Callable, Iterator
from typing import Any

from frames.casefile.adjustchecks import HISTORY_CHECKS, NUT_TURN_CHECKS
from frames.casefile.bonechecks import BONE_CHECKS
from frames.casefile.holdchecks import HOLD_CHECKS
from frames.casefile.limbchecks import (
    CORRIDOR_CHECKS,
    ENDURANCE_CHECKS,
    HEALING_CHECKS,
    LIMB_CHECKS,
    WINDOW_CHECKS,
    WOUND_CHECKS,
)
from frames.casefile.loadchecks import LOAD_CHECKS, TARGET_CHECKS
from frames.casefile.obliquechecks import OBLIQUE_CHECKS
from frames.casefile.partial import NotKnown
from frames.casefile.places import name_of, parts_of, placed
from frames.casefile.problems import Problem
from frames.casefile.ringchecks import RING_CHECKS
from frames.casefile.rodchecks import ROD_CHECKS
from frames.casefile.searchchecks import SEARCH_CHECKS
from frames.casefile.tables import REPEATED, Tables
from frames.casefile.tiltchecks import PIN_TILT_CHECKS, TILT_CHECKS
from frames.casefile.tiltedrings import TILTED_RING_CHECKS, TILTED_ROD_CHECKS
from frames.casefile.tolerancechecks import TOLERANCE_CHECKS
from frames.casefile.wirechecks import PIN_CHECKS, WIRE_CHECKS

Check = Callable[[Tables, Any, str], Iterator[Problem]]


CHECKS: dict[str, tuple[Check, ...]] = {
    "bone": BONE_CHECKS,
    "ring": (*RING_CHECKS, *TILTED_RING_CHECKS),
    "rod": (*ROD_CHECKS, *TILTED_ROD_CHECKS),
    "wire": (*WIRE_CHECKS, *TILT_CHECKS, *OBLIQUE_CHECKS, *HOLD_CHECKS),
    "pin": (*PIN_CHECKS, *PIN_TILT_CHECKS, *OBLIQUE_CHECKS),
    "nut_turn": NUT_TURN_CHECKS,
    "load": LOAD_CHECKS,
    "history": HISTORY_CHECKS,
    "target": TARGET_CHECKS,
    "limb": LIMB_CHECKS,
    "corridor": CORRIDOR_CHECKS,
    "wound": WOUND_CHECKS,
    "window": WINDOW_CHECKS,
    "healing": HEALING_CHECKS,
    "endurance": ENDURANCE_CHECKS,
    "tolerance": TOLERANCE_CHECKS,
    "search": SEARCH_CHECKS,
}
NAMED_TOGETHER = {"pin": ("wire", "pin")}
"""Kinds whose parts may not share a name with those of others before them."""


def _bone_is_held(tables: Tables) -> Iterator[Problem]:
    try:
        held = tables.wire or tables.pin
    except NotKnown:
        return
    if not held:
        yield Problem("wire", "write at least one [[wire]] or [[pin]]")


def _unique_names(tables: Tables, kind: str) -> Iterator[Problem]:
    first: dict[str, str] = {}
    for owner in NAMED_TOGETHER.get(kind, (kind,)):
        for number, part in enumerate(parts_of(tables, owner), start=1):
            name = name_of(part)
            if name is None:
                continue
            if name in first and owner == kind:
                yield Problem(
                    f"{kind} {number}, name",
                    f"{first[name]} has this name already",
                    name,
                    "a name of its own",
                )
            first.setdefault(name, f"{owner} {number}")


def cross_problems(tables: Tables) -> list[Problem]:
    """All that is wrong between the parts of a case, in the order of its tables."""
    problems = list(_bone_is_held(tables))
    for kind, checks in CHECKS.items():
        if kind in REPEATED:
            problems.extend(_unique_names(tables, kind))
        for place, part in placed(tables, kind):
            for check in checks:
                try:
                    for problem in check(tables, part, place):
                        problems.append(problem)
                except NotKnown:
                    continue
    return problems
