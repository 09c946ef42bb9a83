"""From the values of a design to its case."""

from collections.abc import Sequence
from typing import Any

from frames.casefile import Case, CaseError
from frames.casefile.replacing import replace_slots
from frames.construct import construct
from frames.fitting.bars import bars_of
from frames.fitting.parts import part_gaps
from frames.studyfile.laying import with_wires
from frames.studyfile.parameters import Parameter
from frames.studyfile.settings import Change, CountSetting

TOUCH_MM = -1e-6
"""Parts that touch do not collide, whatever the last digits say."""

_MOST_TOLD = 2


class Unbuildable(Exception):
    """A design that cannot be built. reason: why, in one sentence."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


def built(
    case: Case, parameters: Sequence[Parameter], values: Sequence[Any], collide: bool
) -> Case:
    """The case with the values set; collide: parts may run through each other. Raises
    ``Unbuildable``."""
    changes: list[Change] = []
    counts: dict[str, int] = {}
    for parameter, value in zip(parameters, values, strict=True):
        changes += parameter.setting.changes(value)
        if isinstance(parameter.setting, CountSetting):
            counts |= {case.ring[r].name: int(value) for r in parameter.setting.rings}
    try:
        design = replace_slots(case, changes, "design")
        if counts:
            design = with_wires(design, counts)
    except CaseError as error:
        raise Unbuildable(_sentence([str(p) for p in error.problems])) from None
    if not collide and (found := collisions(design)):
        raise Unbuildable(_sentence(found))
    return design


def collisions(case: Case) -> list[str]:
    """Wires, half-pins and their posts that run through each other, through rods or through rings,
    each two in words. Rods that meet in a hole are often meant as one, and rings are checked with
    the case."""
    place = construct(case)
    bars = bars_of(place)
    holders = {bar.label for bar in bars if bar.kind != "rod"}
    return sorted(
        f"{g.one} and {g.other} run through each other"
        for g in part_gaps(place, bars, TOUCH_MM)
        if g.one in holders or g.other in holders
    )


def _sentence(said: list[str]) -> str:
    more = len(said) - _MOST_TOLD
    told = "; ".join(said[:_MOST_TOLD]) + (f"; and {more} more" if more > 0 else "")
    return " ".join(told.split()) + "."
