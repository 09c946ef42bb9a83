"""Text of what only some frames have: stages, nut turns, bone ends that carry, pins, histories."""

from collections.abc import Iterator

from frames.lines import Line, heading, number, short, table, wrapped
from frames.result import Result
from frames.result_parts import HistoryResult, Touch


def legs(tensions: tuple[float, float]) -> str:
    """Tension of a wire, or of its legs at start and end where they differ."""
    start, end = (f"{t:.0f}" for t in tensions)
    return start if abs(tensions[0] - tensions[1]) < 1.0 else f"{start}/{end}"


def stage_lines(result: Result) -> Iterator[Line]:
    """That tensions come from dials."""
    if not result.tensioning:
        return
    yield Line("")
    yield from wrapped(
        f"Tensioned in {len(result.tensioning)} stages at the tensions dialled; what came out is "
        "under Wires. The stages: tautring tensioning, and the result file.",
        "",
        "faint",
    )


def nut_turn_lines(result: Result) -> Iterator[Line]:
    """Rods made longer or shorter before load."""
    if not result.nut_turns:
        return
    yield from heading("Nuts turned before load, one after the other")
    rows = [["turn", "rods", "longer", "gap opens", "sideways", "tilt", "bone ends"]]
    rows.append(["", "", "mm", "mm", "mm", "deg", "N"])
    for t in result.nut_turns:
        move = t.gap_movement
        longer = sorted({f"{x:+.2f}" for x in t.lengthen_mm})
        rows.append(
            [
                short(t.name, 20),
                str(len(t.rods)),
                "/".join(longer),
                f"{move['axial_mm']:+.2f}",
                f"{(move['anterior_mm'] ** 2 + move['medial_mm'] ** 2) ** 0.5:.2f}",
                f"{(move['about_anterior_deg'] ** 2 + move['about_medial_deg'] ** 2) ** 0.5:.2f}",
                "-" if t.bone_N is None else f"{t.bone_N:.0f}",
            ]
        )
    yield from table(rows, header=2)


def bone_lines(result: Result) -> Iterator[Line]:
    """What the bone ends carry under each load, and where they meet first."""
    if not any(r.bone_N is not None for r in result.loads):
        return
    yield from heading("Between the bone ends")
    faces = any(r.faces is not None for r in result.loads)
    rows = [["load", "bone ends", "by bone", "by frame"], ["", "N", "of load", "of load"]]
    if faces:
        rows[0] += ["pressed", "rubbed", "touching", "sliding"]
        rows[1] += ["N", "N", "of face", "of that"]
    for r in result.loads:
        cells = [
            short(r.name, 20),
            "-" if r.bone_N is None else f"{r.bone_N:.0f}",
            *_shares(r.bone_share_percent),
        ]
        if r.faces is not None:
            cells += [f"{r.faces.pressed_N:.0f}", f"{r.faces.rubbed_N:.0f}"]
            cells += [f"{100 * r.faces.touching:.0f} %", f"{100 * r.faces.sliding:.0f} %"]
        rows.append(cells)
    yield from table(rows, header=2)
    for load in dict.fromkeys(t.load for t in result.touches):
        said = [f"{t.side} {_from(t)}" for t in result.touches if t.load == load]
        text = f"First touch on the way to {load!r}: {', '.join(said)}."
        yield from wrapped(text, "  ", "", first="  ")


def _from(touch: Touch) -> str:
    if touch.share == 0.0:
        return "already without load"
    at = f"{touch.share:.0%}" if touch.load_N is None else f"{touch.load_N:.0f} N"
    return f"from {at}"


def _shares(bone: float | None) -> tuple[str, str]:
    if bone is None:
        return "-", "-"
    whole = round(bone)
    return f"{whole} %", f"{100 - whole} %"


def pin_lines(result: Result) -> Iterator[Line]:
    """Half-pins under each load."""
    loads = result.loads[-3:]
    if not any(r.pins for r in loads):
        return
    yield from heading("Half-pins: moment at the clamp in N·m, largest stress in MPa")
    heads = (c for r in loads for c in (short(r.name, 12), ""))
    rows = [["pin", *heads], ["", *["N·m", "MPa"] * len(loads)]]
    for i, pin in enumerate(loads[0].pins):
        cells = [short(pin.name, 12)]
        for r in loads:
            under = r.pins[i]
            cells += [f"{under.clamp_moment_Nm:.1f}", f"{under.peak_stress_MPa:.0f}"]
        rows.append(cells)
    yield from table(rows, header=2)


def history_lines(result: Result) -> Iterator[Line]:
    """What is left after loads that came and went."""
    before = {w.name: w.legs_N for w in result.wires}
    for past in result.histories:
        yield from heading(f"After {past.load!r} came and went {_times(past)}")
        change = past.gap_set["axial_mm"]
        way = f"stays {'opened' if change > 0 else 'closed'} by {abs(change):.2f} mm"
        way = way if abs(change) >= 0.005 else "is back where it was"
        axial = past.stiffness["axial_N_per_mm"]
        yield from wrapped(
            f"The gap {way}; axial stiffness "
            f"{number(axial)} N/mm (before: {number(result.stiffness['axial_N_per_mm'])}). "
            f"Energy lost in the first cycle {past.lost_Nmm[0]:.0f} N·mm, in the last "
            f"{past.lost_Nmm[1]:.0f}.",
            "  ",
            "",
            first="  ",
        )
        rows = [["wire", "before", "now", "lost"], ["", "N", "N", "%"]]
        for w in past.wires:
            was, now = before[w.name], w.legs_N
            lost = 100.0 * (1.0 - sum(now) / sum(was)) if sum(was) > 0.0 else 0.0
            rows.append([short(w.name, 20), legs(was), legs(now), f"{round(lost) + 0:d}"])
        yield from table(rows, header=2)


def _times(past: HistoryResult) -> str:
    count = "once" if past.cycles == 1 else f"{past.cycles} times"
    return f"{count}, {'and nothing changes any more' if past.settled else 'still changing'}"
