"""Strength of every part: stress against yield, cycles, clamps, bearing on the bone, rods as
columns.

Before load and under every load of the case; turns of nuts and histories are left out.
"""

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from typing import Any

from frames.assumptions import Assumption, assumed
from frames.casefile import Case
from frames.casefile.endurance import CORTICAL_BONE
from frames.caution import CAUTION
from frames.lines import Line
from frames.sizes import DEFAULT_MATERIAL
from frames.stressing.columns import FrameBuckling, RodColumn, frame_buckling, rod_columns
from frames.stressing.holding import Bearing, ClampHold, bearings, clamp_holds
from frames.stressing.limits import limits_of
from frames.stressing.parts import THREAD_NOTCH, PartStress, part_stresses
from frames.stressing.sections import member_stress
from frames.stressing.solving import solved

DAYS_PER_WEEK = 7.0


@dataclass(frozen=True)
class Strength:
    """loads: names; cycles: how often they come and go, steps_per_day over the weeks of [healing];
    parts: the nearest to yield first; clamps, bearings, rods: the worst first; frame: in the order
    of the loads, none where its buckling cannot be estimated (``frames.stressing.columns``)."""

    title: str
    loads: tuple[str, ...]
    steps_per_day: float
    weeks: float
    cycles: float
    parts: tuple[PartStress, ...]
    clamps: tuple[ClampHold, ...]
    bearings: tuple[Bearing, ...]
    rods: tuple[RodColumn, ...]
    frame: tuple[FrameBuckling, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def governing(self) -> PartStress | None:
        """The part nearest to its yield stress; None when no part's is known."""
        first = self.parts[0] if self.parts else None
        return None if first is None or first.share_percent is None else first

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file."""
        return {"format": "tautring strength", "version": 1, **asdict(self), "caution": CAUTION}

    def lines(self) -> Iterator[Line]:
        """As text."""
        from frames.stressing.text import strength_lines

        return strength_lines(self)


def strength(case: Case, say: Callable[[str], None] | None = None) -> Strength:
    """Under every load of the case. Raises ``FemError`` when it cannot be solved."""
    frame = solved(case, say)
    steps, weeks = case.healing.steps_per_day, case.healing.week[-1]
    cycles = steps * DAYS_PER_WEEK * weeks
    members = member_stress(frame)
    return Strength(
        title=case.case.title,
        loads=frame.states[1:],
        steps_per_day=steps,
        weeks=weeks,
        cycles=cycles,
        parts=part_stresses(frame, members, cycles),
        clamps=tuple(clamp_holds(frame)),
        bearings=tuple(bearings(frame, members)),
        rods=tuple(rod_columns(frame, members)),
        frame=tuple(frame_buckling(frame)),
        assumptions=_assumptions(case, has_posts=bool(frame.place.posts)),
    )


def _assumptions(case: Case, *, has_posts: bool) -> tuple[Assumption, ...]:
    used = {p.material for p in (*case.ring, *case.rod, *case.wire, *case.pin)} | {CORTICAL_BONE}
    if has_posts:
        used.add(DEFAULT_MATERIAL)
    own = {e.material: e for e in case.endurance}
    complete = {
        e.material
        for e in case.endurance
        if e.yield_MPa is not None
        and e.ultimate_MPa is not None
        and (e.cycles is not None or e.material == CORTICAL_BONE)
    }
    taken = []
    for name in sorted(m for m in used if m is not None and m not in complete):
        known = limits_of(case, name)
        source = known.source
        if name in own:
            source += "; what that leaves out is built in, in proportion to yield"
        taken.append(Assumption(f"endurance of {name}", known.words, source))
    if any(r.thread is not None for r in case.rod):
        source = "cut threads of soft steel, Shigley, from memory; it has no key in the case file"
        taken.append(Assumption("notch of a rod's thread", f"{THREAD_NOTCH:g}", source))
    rest = assumed(case, "healing", "bone", "ring", "rod", "wire", "pin", "model")
    shown = {"healing.steps_per_day", "healing.week"}
    kept = (a for a in rest if not a.key.startswith("healing.") or a.key in shown)
    return (*taken, *kept)
