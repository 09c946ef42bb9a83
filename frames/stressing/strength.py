"""Strength of every part: stress against yield, cycles, clamps, bearing on the bone, rods as
columns."""

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from typing import Any

from frames.assumptions import Assumption, assumed
from frames.casefile import Case
from frames.caution import CAUTION
from frames.checking import check_with_states
from frames.lines import Line
from frames.sizes import DEFAULT_MATERIAL
from frames.stressing.holding import (
    Bearing,
    ClampHold,
    RodColumn,
    bearings,
    clamp_holds,
    rod_columns,
)
from frames.stressing.limits import limits_of
from frames.stressing.parts import PartStress, part_stresses


@dataclass(frozen=True)
class Strength:
    """parts: the nearest to yield first; cycles: how often load comes and goes in the weeks of
    [healing]; clamps, bearings, rods: the worst first."""

    title: str
    cycles: float
    parts: tuple[PartStress, ...]
    clamps: tuple[ClampHold, ...]
    bearings: tuple[Bearing, ...]
    rods: tuple[RodColumn, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def governing(self) -> PartStress | None:
        """The part nearest to its yield stress."""
        return self.parts[0] if self.parts else None

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file."""
        return {"format": "tautring strength", "version": 1, **asdict(self), "caution": CAUTION}

    def lines(self) -> Iterator[Line]:
        """As text."""
        from frames.stressing.text import strength_lines

        return strength_lines(self)


def strength(case: Case, say: Callable[[str], None] | None = None) -> Strength:
    """Under every load of the case. Raises ``FemError`` when it cannot be solved."""
    checked = check_with_states(case, say)
    cycles = case.healing.steps_per_day * 7.0 * case.healing.week[-1]
    parts, members = part_stresses(checked, cycles)
    return Strength(
        title=case.case.title,
        cycles=cycles,
        parts=parts,
        clamps=tuple(clamp_holds(checked)),
        bearings=tuple(bearings(checked, members)),
        rods=tuple(rod_columns(checked, members)),
        assumptions=_assumptions(case),
    )


def _assumptions(case: Case) -> tuple[Assumption, ...]:
    used = {r.material for r in (*case.ring, *case.rod)}
    used |= {p.material for p in (*case.wire, *case.pin)} | {DEFAULT_MATERIAL}
    own = {e.material for e in case.endurance}
    limits = []
    for name in sorted(m for m in used if m is not None and m not in own):
        known = limits_of(case, name)
        assert known is not None
        value = f"yield {known.yield_MPa:g}, ultimate {known.ultimate_MPa:g} MPa"
        limits.append(Assumption(f"endurance of {name}", value, known.source))
    rest = assumed(case, "healing", "bone", "ring", "rod", "wire", "pin", "model")
    shown = {"healing.steps_per_day", "healing.week"}
    kept = (a for a in rest if not a.key.startswith("healing.") or a.key in shown)
    return (*limits, *kept)
