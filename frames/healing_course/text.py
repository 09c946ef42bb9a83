"""The course of healing as text."""

from collections.abc import Iterator

from frames.assumptions import assumption_lines
from frames.caution import CAUTION
from frames.healing_course.course import HealingCourse, Week
from frames.lines import Line, heading, number, short, table, wrapped


def healing_lines(answer: HealingCourse) -> Iterator[Line]:
    """Weeks, activities, what would be measured, what was assumed."""
    yield from wrapped(answer.title, "", "heading")
    yield from heading(
        f"Load along the bone that moves its ends by no more than {answer.bound_mm:.2f} mm"
    )
    yield from table(list(_weeks(answer)), header=2)
    yield Line("  kg: on the scales, standing still. ≥: not reached at the largest load tried.")
    yield Line(f"  Share of the frame: of {answer.test_load_N:.0f} N, standing still.")
    yield Line("  Bending: of callus alone, frame slackened. Steps: of this leg, in thousands.")
    if any(_yields(answer, w) for w in answer.weeks):
        yield from wrapped(
            f"*: at this load the steel of a wire is past its yield stress "
            f"({answer.wire_yield_MPa:.0f} MPa): the wires would sag and lose tension.",
            "  ",
            "warning",
            first="  ",
        )
    if any(w.unstable for w in answer.weeks):
        yield Line("  !: more load finds no equilibrium; the frame would tilt away.", "warning")
    yield from _activities(answer)
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
    yield [
        "week",
        "callus",
        "load",
        "",
        "of body",
        "strain",
        "stiffness",
        "frame",
        "bending",
        "steps",
    ]
    yield ["", "MPa", "N", "kg", "weight", "", "N/mm", "share", "N·m/deg", "1000"]
    for w in answer.weeks:
        mark = ("≥" if w.at_least else "") + f"{w.allowed_N:.0f}"
        mark += ("*" if _yields(answer, w) else "") + ("!" if w.unstable else "")
        yield [
            f"{w.week:g}",
            number(w.E_MPa),
            mark,
            f"{w.allowed_kg:.0f}",
            "-" if w.body_weight_percent is None else f"{w.body_weight_percent:.0f} %",
            f"{w.strain_percent:.0f} %",
            f"{w.axial_N_per_mm:.0f}",
            f"{w.frame_share_percent:.0f} %",
            f"{w.callus_Nm_per_deg:.2g}",
            f"{w.steps / 1000.0:.0f}",
        ]


def _yields(answer: HealingCourse, week: Week) -> bool:
    stress, limit = week.wire_peak_stress_MPa, answer.wire_yield_MPa
    return stress is not None and limit is not None and stress > limit


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
