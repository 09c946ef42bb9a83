"""Checks between the parts of a case: names, references, and whether the pieces fit together.

Every check is a generator of problems for one part. It may meet a stand-in whose field is not
known (`NotKnown`); then that check ends there and the others go on.
"""

from collections.abc import Callable, Iterator
from typing import Any

from frames.casefile.loadchecks import LOAD_CHECKS, TARGET_CHECKS
from frames.casefile.partial import NotKnown
from frames.casefile.places import name_of, parts_of, placed
from frames.casefile.problems import Problem, plain_number
from frames.casefile.ringchecks import RING_CHECKS, ROD_CHECKS
from frames.casefile.tables import REPEATED, Bone, Tables
from frames.casefile.wirechecks import WIRE_CHECKS

Check = Callable[[Tables, Any, str], Iterator[Problem]]


def _bore(tables: Tables, bone: Bone, place: str) -> Iterator[Problem]:
    if bone.inner_mm >= bone.outer_mm:
        outer = plain_number(bone.outer_mm)
        yield Problem(
            f"{place}, inner_mm",
            f"must be less than outer_mm ({outer})",
            bone.inner_mm,
            f"less than {outer}",
        )


def _proximal_end(tables: Tables, bone: Bone, place: str) -> Iterator[Problem]:
    face = bone.gap_mm / 2
    if bone.proximal_end_mm <= face:
        yield Problem(
            f"{place}, proximal_end_mm",
            f"must lie above the proximal face of the gap, at {plain_number(face)}",
            bone.proximal_end_mm,
            f"more than {plain_number(face)}",
        )


def _distal_end(tables: Tables, bone: Bone, place: str) -> Iterator[Problem]:
    face = -bone.gap_mm / 2
    if bone.distal_end_mm >= face:
        yield Problem(
            f"{place}, distal_end_mm",
            f"must lie below the distal face of the gap, at {plain_number(face)}",
            bone.distal_end_mm,
            f"less than {plain_number(face)}",
        )


CHECKS: dict[str, tuple[Check, ...]] = {
    "bone": (_bore, _proximal_end, _distal_end),
    "ring": RING_CHECKS,
    "rod": ROD_CHECKS,
    "wire": WIRE_CHECKS,
    "load": LOAD_CHECKS,
    "target": TARGET_CHECKS,
}


def _unique_names(tables: Tables, kind: str) -> Iterator[Problem]:
    first: dict[str, int] = {}
    for number, part in enumerate(parts_of(tables, kind), start=1):
        name = name_of(part)
        if name is None:
            continue
        if name in first:
            yield Problem(
                f"{kind} {number}, name",
                f"{kind} {first[name]} has this name already",
                name,
                "a name of its own",
            )
        first.setdefault(name, number)


def cross_problems(tables: Tables) -> list[Problem]:
    """All that is wrong between the parts of a case, in the order of its tables."""
    problems: list[Problem] = []
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
