"""From the operation to a healed bone: load by week, shares of frame and bone, what would be
measured.

Each week callus has the modulus of its curve and grows, free of force, in the frame as it stands
(``frames.discretise_gap``). Published thresholds, told as what would be measured and never as
advice:

* 15 N·m/deg of bending stiffness with the frame slackened (Richardson et al., J Bone Joint Surg Br
  1994;76:389-94, from memory); of 76 bones so judged, 4 bent afterwards (abstract);
* less than 10 % of a static load through the frame (BMC Musculoskelet Disord 2024;25:353: 82 tibial
  fractures, 0 of 35 and 2 of 47 broke again).

In the stiffnesses K of frame and callus along the bone the frame's share is K_f / (K_f + K_c): 10 %
ask for callus nine times as stiff as the frame.
"""

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from frames.assumptions import Assumption, assumed
from frames.casefile import Case
from frames.caution import CAUTION
from frames.healing_course.activities import activities_of
from frames.healing_course.bridged import bridged
from frames.healing_course.callus import (
    bound_at,
    modulus,
    weeks_of,
    when_reached,
    with_callus,
)
from frames.healing_course.weeks import TEST_LOAD_N, Asked, Week, week_of
from frames.lines import Line
from frames.moving.cortex import cortex_movement
from frames.result_parts import MOVEMENTS
from frames.sizes import STANDARD_GRAVITY

BENDING_THRESHOLD = 15.0
FRAME_SHARE_THRESHOLD = 10.0
LARGEST_N = 3000.0


@dataclass(frozen=True)
class ActivityCourse:
    """Peak force of an activity, N; share of it that the allowed load covers in the first week and
    the last, percent; the first week at which it is covered in full, None when it never is."""

    name: str
    times_body_weight: float
    peak_N: float
    first_week_percent: float
    last_week_percent: float
    from_week: float | None


@dataclass(frozen=True)
class HealingCourse:
    """All weeks. bound_mm: movement across the fracture plane that is exceeded in none (the largest
    of the weeks' own); gap_mm: width of the gap across it; test_load_N: of the frame's share;
    bending_week, share_week: when the published thresholds would be measured."""

    title: str
    bound_mm: float
    gap_mm: float
    test_load_N: float
    weeks: tuple[Week, ...]
    activities: tuple[ActivityCourse, ...]
    bending_week: float | None
    share_week: float | None
    notes: tuple[str, ...]
    assumptions: tuple[Assumption, ...]

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file."""
        return {"format": "tautring healing", "version": 1, **asdict(self), "caution": CAUTION}

    def lines(self) -> Iterator[Line]:
        """As text."""
        from frames.healing_course.text import healing_lines

        return healing_lines(self)


def healing(case: Case, say: Callable[[str], None] = lambda _words: None) -> HealingCourse:
    """Week by week. Raises ``FemError`` when the frame cannot be solved."""
    width = cortex_movement(case.bone, dict.fromkeys(MOVEMENTS, 0.0), np.zeros(1), 1.0).width_mm
    mass = case.case.body_mass_kg
    weight = None if mass is None else mass * STANDARD_GRAVITY
    times = weeks_of(case.healing)
    frame = bridged(case, modulus(case.healing, float(times[0])))
    weeks: list[Week] = []
    growth = 1.0
    for time in times.tolist():
        say(f"week {time:g} of {times[-1]:g}")
        bound = bound_at(case.healing, time, width)
        week = week_of(frame, Asked(time, bound, width, _largest(case, weight), weight, growth))
        if not (week.at_least or week.unstable):
            growth = week.allowed_N / (week.axial_N_per_mm * bound)
        weeks.append(week)
    bending = np.array([w.callus_Nm_per_deg for w in weeks])
    share = np.array(
        [np.nan if w.frame_share_percent is None else w.frame_share_percent for w in weeks]
    )
    return HealingCourse(
        title=case.case.title,
        bound_mm=max(w.bound_mm for w in weeks),
        gap_mm=width,
        test_load_N=TEST_LOAD_N,
        weeks=tuple(weeks),
        activities=tuple(_activities(case, weight, times, weeks)),
        bending_week=when_reached(times, bending, BENDING_THRESHOLD, falling=False),
        share_week=when_reached(times, share, FRAME_SHARE_THRESHOLD, falling=True),
        notes=tuple(_notes(case, weight, max(w.movement_mm for w in weeks) > width)),
        assumptions=_assumptions(case),
    )


def _largest(case: Case, weight: float | None) -> float:
    """No larger load is tried, N: enough for all activities."""
    if weight is None:
        return LARGEST_N
    return weight * max(a.times_body_weight for a in activities_of(case))


def _activities(
    case: Case, weight: float | None, times: np.ndarray, weeks: list[Week]
) -> Iterator[ActivityCourse]:
    if weight is None:
        return
    allowed = np.array([w.allowed_N for w in weeks])
    for a in activities_of(case):
        peak = a.times_body_weight * weight
        yield ActivityCourse(
            a.name,
            a.times_body_weight,
            peak,
            100.0 * float(allowed[0]) / peak,
            100.0 * float(allowed[-1]) / peak,
            when_reached(times, np.maximum(allowed, 1e-9), peak * (1.0 - 1e-9), falling=False),
        )


def _notes(case: Case, weight: float | None, meets: bool) -> Iterator[str]:
    if meets:
        yield (
            "The bounds allow more movement than the gap is wide: the bone ends would meet before, "
            "and nothing stops them here."
        )
    if case.bone.contact is not None:
        yield (
            "The faces of [bone.contact] are left out: callus stands in the gap instead, square on "
            "the bone. Bone ends that touch would carry more."
        )
        if case.nut_turn:
            yield "Nuts turned in the frame move the bone ends; no face stops them."
    if case.bone.callus is not None:
        yield "The modulus in [bone.callus] is replaced by that of each week."
    if case.history:
        yield "[[history]] is left out: every week starts from the tensioned frame."
    if weight is None:
        yield "Without body_mass_kg nothing is said in body weights."


def _assumptions(case: Case) -> tuple[Assumption, ...]:
    bridged_case = with_callus(case, case.healing.E_MPa[0])
    taken = assumed(bridged_case, "healing", "bone", "ring", "rod", "wire", "pin", "model")
    if case.healing.strain_by_week_percent is not None:
        taken = tuple(a for a in taken if a.key != "healing.strain_at_most_percent")
    return (*taken, *_own(bridged_case))


def _own(case: Case) -> Iterator[Assumption]:
    callus = case.bone.callus
    assert callus is not None
    if None in (callus.outer_mm, callus.inner_mm, callus.thickness_mm):
        outer, inner, thickness = case.bone.callus_tube
        yield Assumption(
            "bone.callus",
            f"{outer:g} mm outside, {inner:g} mm inside, {thickness:g} mm along the bone",
            "where not given, as wide as the bone and as thick as the gap; own choice, no source",
        )
    yield Assumption("load for the shares", f"{TEST_LOAD_N:g} N", "own choice, no source")
    if case.case.body_mass_kg is None:
        yield Assumption("largest load tried", f"{LARGEST_N:g} N", "own choice, no source")
        return
    if not case.activity:
        for a in activities_of(case):
            shown = f"{a.times_body_weight:g} × body weight"
            yield Assumption(f'activity "{a.name}"', shown, a.source or "")
