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

from fem import FemError, MechanismError
from frames.assumptions import Assumption, assumed
from frames.built import built
from frames.casefile import Case
from frames.caution import CAUTION
from frames.freedom import explained
from frames.gap import gap_compliance, named_stiffnesses
from frames.healing_course.activities import activities_of
from frames.healing_course.allowed import Allowed, allowed_load, largest_movement, under_load
from frames.healing_course.callus import (
    callus_bending,
    modulus,
    weeks_of,
    when_reached,
    with_callus,
)
from frames.lines import Line
from frames.moving.cortex import cortex_movement
from frames.pretension import Pretensioned, pretension
from frames.result_parts import MOVEMENTS
from frames.sizes import STANDARD_GRAVITY
from frames.supports import held_at_ankle

BENDING_THRESHOLD = 15.0
FRAME_SHARE_THRESHOLD = 10.0
LARGEST_BODY_WEIGHTS = 3.5
LARGEST_N = 3000.0
TEST_LOAD_N = 200.0


@dataclass(frozen=True)
class Week:
    """One week. E_MPa of callus; allowed_N along the bone, at_least: the bounds are not reached at
    the largest load tried; unstable: more load has no equilibrium; kg and body_weight_percent: the
    same on the scales; movement_mm at the cortex and strain_percent there; wire_peak_stress_MPa at
    that load; axial stiffness (N/mm); frame_share_percent of a static test load; callus_Nm_per_deg:
    bending stiffness with the frame slackened; steps: of this leg since the operation."""

    week: float
    E_MPa: float
    allowed_N: float
    at_least: bool
    unstable: bool
    allowed_kg: float
    body_weight_percent: float | None
    movement_mm: float
    strain_percent: float
    wire_peak_stress_MPa: float | None
    axial_N_per_mm: float
    bending_ap_Nm_per_deg: float
    torsion_Nm_per_deg: float
    frame_share_percent: float
    callus_Nm_per_deg: float
    steps: float


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
    """All weeks. bound_mm: movement across the fracture plane that is not exceeded; test_load_N: of
    the frame's share; bending_week, share_week: when the published thresholds would be measured."""

    title: str
    bound_mm: float
    gap_mm: float
    test_load_N: float
    wire_yield_MPa: float | None
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
    wanted = case.healing
    bound = min(wanted.movement_at_most_mm, wanted.strain_at_most_percent / 100.0 * width)
    mass = case.case.body_mass_kg
    weight = None if mass is None else mass * STANDARD_GRAVITY
    largest = LARGEST_N if weight is None else LARGEST_BODY_WEIGHTS * weight
    times = weeks_of(wanted)
    weeks: list[Week] = []
    for time in times.tolist():
        say(f"week {time:g} of {times[-1]:g}")
        weeks.append(_week(case, time, bound, width, largest, weight, weeks[-1:]))
    bending = np.array([w.callus_Nm_per_deg for w in weeks])
    share = np.array([w.frame_share_percent for w in weeks])
    yields = [w.yield_MPa for w in case.wire]
    return HealingCourse(
        title=case.case.title,
        bound_mm=bound,
        gap_mm=width,
        test_load_N=TEST_LOAD_N,
        wire_yield_MPa=min(yields) if yields else None,
        weeks=tuple(weeks),
        activities=tuple(_activities(case, weight, times, weeks)),
        bending_week=when_reached(times, bending, BENDING_THRESHOLD, falling=False),
        share_week=when_reached(times, share, FRAME_SHARE_THRESHOLD, falling=True),
        notes=tuple(_notes(case, weight)),
        assumptions=_assumptions(case),
    )


def _week(
    case: Case,
    time: float,
    bound: float,
    width: float,
    largest: float,
    weight: float | None,
    before: list[Week],
) -> Week:
    E = modulus(case.healing, time)
    parts = built(with_callus(case, E))
    try:
        pre = pretension(parts)
    except MechanismError as error:
        raise explained(error, parts) from error
    stiffness = _stiffness(pre)
    guess = stiffness["axial_N_per_mm"] * bound
    found: Allowed = allowed_load(lambda F: largest_movement(pre, F), bound, largest, guess)
    stress = None
    if case.wire and found.load_N > 0.0:
        stress = max(w.peak_stress_MPa for w in under_load(pre, found.load_N).wires)
    return Week(
        week=time,
        E_MPa=E,
        allowed_N=found.load_N,
        at_least=found.capped,
        unstable=found.limited,
        allowed_kg=found.load_N / STANDARD_GRAVITY,
        body_weight_percent=None if weight is None else 100.0 * found.load_N / weight,
        movement_mm=found.movement_mm,
        strain_percent=100.0 * found.movement_mm / width,
        wire_peak_stress_MPa=stress,
        axial_N_per_mm=stiffness["axial_N_per_mm"],
        bending_ap_Nm_per_deg=stiffness["bending_ap_Nm_per_deg"],
        torsion_Nm_per_deg=stiffness["torsion_Nm_per_deg"],
        frame_share_percent=_frame_share(pre),
        callus_Nm_per_deg=callus_bending(parts.construct.case.bone),
        steps=case.healing.steps_per_day * 7.0 * time,
    )


def _stiffness(pre: Pretensioned) -> dict[str, float]:
    held = held_at_ankle(pre.parts, pre.system)
    C = gap_compliance(pre.parts, pre.system, pre.response.tangent, "with callus", held)
    return named_stiffnesses(C)


def _frame_share(pre: Pretensioned) -> float:
    for load in (TEST_LOAD_N, TEST_LOAD_N / 4.0):
        try:
            bone = under_load(pre, load).bone_share_percent
        except FemError:
            continue
        assert bone is not None
        return 100.0 - bone
    return float("nan")


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


def _notes(case: Case, weight: float | None) -> Iterator[str]:
    if case.bone.contact is not None:
        yield "The faces of [bone.contact] are left out: callus stands in the gap instead."
    if case.bone.callus is not None:
        yield "The modulus in [bone.callus] is replaced by that of each week."
    if weight is None:
        yield "Without body_mass_kg nothing is said in body weights."


def _assumptions(case: Case) -> tuple[Assumption, ...]:
    taken = assumed(case, "healing", "bone", "ring", "rod", "wire", "pin", "model")
    if case.activity:
        return taken
    used = tuple(
        Assumption(f'activity "{a.name}"', f"{a.times_body_weight:g} × body weight", a.source or "")
        for a in activities_of(case)
    )
    return (*taken, *used)
