"""The course of healing as text."""

from collections.abc import Iterator

from frames.assumptions import assumption_lines
from frames.caution import CAUTION
from frames.healing_course.course import HealingCourse
from frames.lines import Line, heading, number, short, table, wrapped


def healing_lines(answer: HealingCourse) -> Iterator[Line]:
    """Weeks, activities, what would be measured, what was assumed."""
    yield from wrapped(answer.title, "", "heading")
    yield from heading(f"Load along the bone that moves its ends by no more than {_bound(answer)}")
    yield from table(list(_weeks(answer)), header=2)
    yield Line("  kg: on the scales, standing still. ≥: not reached at the largest load tried.")
    yield Line("  Movement and strain: the largest round the cortex. Steps: of this leg, in all.")
    yield from _past_yield(answer)
    if any(w.unstable for w in answer.weeks):
        yield Line("  !: more load finds no equilibrium; the frame would tilt away.", "warning")
    yield from _activities(answer)
    yield from heading("Stiffness at the fracture, small loads, and who carries")
    yield from table(list(_stiffness(answer)), header=2)
    yield Line(
        f"  Shares of {answer.test_load_N:.0f} N, standing still. Callus alone: with the frame "
        "slackened."
    )
    yield from _measured(answer)
    yield from wrapped(
        "Only movement bounds the load above. Whether callus is strong enough for it is not known.",
        "    ",
        "warning",
        first="  ",
    )
    for note in answer.notes:
        yield from wrapped(note, "  ", "warning", first="  ")
    yield from assumption_lines(answer.assumptions)
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")


def _weeks(answer: HealingCourse) -> Iterator[list[str]]:
    yield ["week", "callus", "load", "", "of body", "movement", "strain", "steps"]
    yield ["", "MPa", "N", "kg", "weight", "mm", "", "thousands"]
    for w in answer.weeks:
        mark = ("≥" if w.at_least else "") + f"{w.allowed_N:.0f}"
        mark += ("" if w.yield_N is None else "*") + ("!" if w.unstable else "")
        yield [
            f"{w.week:g}",
            number(w.E_MPa),
            mark,
            f"{w.allowed_kg:.0f}",
            "-" if w.body_weight_percent is None else f"{w.body_weight_percent:.0f} %",
            f"{w.movement_mm:.2f}",
            f"{w.strain_percent:.0f} %",
            f"{w.steps / 1000.0:.0f}",
        ]


def _stiffness(answer: HealingCourse) -> Iterator[list[str]]:
    yield ["week", "axial", "sagittal", "coronal", "torsion", "callus alone", "frame", "bone"]
    bending = "N·m/deg"
    yield ["", "N/mm", bending, bending, bending, bending, "carries", "carries"]
    for w in answer.weeks:
        yield [
            f"{w.week:g}",
            f"{w.axial_N_per_mm:.0f}",
            number(w.bending_ap_Nm_per_deg),
            number(w.bending_ml_Nm_per_deg),
            number(w.torsion_Nm_per_deg),
            number(w.callus_Nm_per_deg),
            _percent(w.frame_share_percent),
            _percent(w.bone_share_percent),
        ]


def _percent(share: float | None) -> str:
    return "-" if share is None else f"{share:.0f} %"


def _bound(answer: HealingCourse) -> str:
    least = min(w.bound_mm for w in answer.weeks)
    if least < answer.bound_mm:
        return f"{least:.2f} to {answer.bound_mm:.2f} mm"
    return f"{answer.bound_mm:.2f} mm"


def _past_yield(answer: HealingCourse) -> Iterator[Line]:
    told = [
        f"{w.yield_N:.0f} N in week {w.week:g} ({w.yield_part})"
        for w in answer.weeks
        if w.yield_N is not None
    ]
    if told:
        yield from wrapped(
            "*: less than this load is enough for steel to pass its yield stress (wires then sag "
            f"and lose tension): {', '.join(told)}.",
            "     ",
            "warning",
            first="  ",
        )


def _activities(answer: HealingCourse) -> Iterator[Line]:
    if not answer.activities:
        return
    first, last = answer.weeks[0].week, answer.weeks[-1].week
    yield from heading("How much of what a leg does that load covers")
    rows = [
        [
            "peak force along the shin",
            "body weights",
            "N",
            f"week {first:g}",
            f"week {last:g}",
            "all of it",
        ]
    ]
    for a in answer.activities:
        rows.append(
            [
                short(a.name, 26),
                f"{a.times_body_weight:g}",
                f"{a.peak_N:.0f}",
                _capped(a.first_week_percent),
                _capped(a.last_week_percent),
                "not by then" if a.from_week is None else f"from week {a.from_week:.0f}",
            ]
        )
    yield from table(rows, header=1)


def _capped(percent: float) -> str:
    return "all" if percent >= 100.0 else f"{percent:.0f} %"


def _measured(answer: HealingCourse) -> Iterator[Line]:
    yield from heading("What would be measured, if callus follows this curve")
    bending = (
        "With the frame slackened, 15 N·m/deg of bending stiffness (Richardson et al. 1994, from "
        f"memory) would be measured {_when(answer.bending_week)}. Of 76 bones judged healed so, 4 "
        "bent afterwards."
    )
    share = (
        "Standing still, less than 10 % of the load would pass through the frame (BMC "
        f"Musculoskelet Disord 2024;25:353) {_when(answer.share_week)}. While walking, 15.6 ± 2.8 "
        "% was measured at removal (the same journal 2025;26:139)."
    )
    for text in (bending, share):
        yield from wrapped(text, "    ", "", first="  ")
    yield from wrapped(
        "Neither is advice: callus of this patient follows its own curve, and the clinician in "
        "charge decides.",
        "    ",
        "warning",
        first="  ",
    )


def _when(week: float | None) -> str:
    return "at no week of the curve" if week is None else f"from about week {week:.0f} on"
