"""A result as text for a terminal of 80 columns."""

from collections.abc import Iterator, Sequence

from frames.assumptions import assumption_lines
from frames.caution import CAUTION
from frames.lines import WIDTH, Line, heading, number, short, table, wrapped
from frames.printout_parts import (
    bone_lines,
    history_lines,
    legs,
    nut_turn_lines,
    pin_lines,
    stage_lines,
)
from frames.quantities import QUANTITIES
from frames.result import Result
from frames.result_parts import LoadResult, TargetResult


def printout(result: Result) -> Iterator[Line]:
    """The whole result."""
    yield from _verdict(result)
    yield from _before_load(result)
    yield from _stiffness(result)
    if result.loads:
        yield from _movement(result)
        yield from bone_lines(result)
    if result.wires:
        yield from _wires(result)
    yield from pin_lines(result)
    yield from history_lines(result)
    yield from _warnings(result)
    yield from assumption_lines(result.assumptions)
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")


def _before_load(result: Result) -> Iterator[Line]:
    yield from stage_lines(result)
    yield from nut_turn_lines(result)


def _verdict(result: Result) -> Iterator[Line]:
    yield from wrapped(f"{result.title}, {result.side} leg", "", "heading")
    missed = [t for t in result.targets if not t.meets]
    if not result.targets:
        yield Line("No targets are set in the case file, so there is no verdict.")
        return
    if missed:
        verb = "is" if len(missed) == 1 else "are"
        count = f"{len(missed)} of {len(result.targets)} targets {verb} missed"
        yield Line(f"FALLS SHORT: {count}.", "bad")
    else:
        yield Line(f"MEETS all {len(result.targets)} targets.", "good")
    yield Line("")
    for t in result.targets:
        yield from wrapped(_target(t), "          ", "good" if t.meets else "bad", first="  ")


def _target(t: TargetResult) -> str:
    unit = QUANTITIES[t.quantity].unit
    bounds = [
        f"at {word} {number(b)}"
        for word, b in (("least", t.at_least), ("most", t.at_most))
        if b is not None
    ]
    side = f"{number(abs(t.margin))} {'to spare' if t.meets else 'short'}"
    return (
        f"{'met   ' if t.meets else 'MISSED'}  {t.label}: {number(t.value)} {unit}, "
        f"asked for {' and '.join(bounds)} ({side})"
    )


def _stiffness(result: Result) -> Iterator[Line]:
    yield from heading("Stiffness at the fracture gap, wires at their tension, no load yet")
    for name, value in result.stiffness.items():
        q = QUANTITIES[name]
        yield Line(f"  {q.label:<34}{number(value):>9}  {q.unit}")
    if result.sticking:
        yield from wrapped(
            "For movements so small that what rubs (wires in the bone, fracture faces) sticks.",
            "  ",
            "faint",
            first="  ",
        )


def _movement(result: Result) -> Iterator[Line]:
    yield from heading("Movement at the gap under load (from the tensioned frame on)")
    rows = [["load", "along bone", "closing", "sideways", "tilt", "stiffness, N/mm", ""]]
    rows.append(["", "N", "mm", "mm", "deg", "secant", "tangent"])
    for r in result.loads:
        rows.append(
            [
                short(r.name, 20),
                "-" if r.axial_N is None else f"{r.axial_N:.0f}",
                f"{r.closing_mm:.2f}",
                f"{r.shear_mm:.2f}",
                f"{_tilt(r):.2f}",
                number(r.secant["axial_N_per_mm"]) if "axial_N_per_mm" in r.secant else "-",
                number(r.tangent["axial_N_per_mm"]),
            ]
        )
    yield from table(rows, header=2)


def _tilt(r: LoadResult) -> float:
    a, m = r.gap_movement["about_anterior_deg"], r.gap_movement["about_medial_deg"]
    return float((a * a + m * m) ** 0.5)


def _wires(result: Result) -> Iterator[Line]:
    yield from heading("Wires: tension in N, largest stress in MPa (tension plus bending)")
    for most in (3, 2, 1):  # as many loads, from the last back, as fit the page
        shown = result.loads[-most:]
        lines = list(table(_wire_rows(result, shown), header=2))
        if max(len(line.text) for line in lines) <= WIDTH:
            break
    if len(shown) < len(result.loads):
        last = "load" if len(shown) == 1 else f"{len(shown)} loads"
        yield Line(f"  (the last {last} of {len(result.loads)}; all are in the result file)")
    yield from lines
    yield Line("  Tap tone of the start and end leg, clamp to bone, before load.", "faint")
    if _uneven(result):
        yield Line("  Two tensions: those of the start and the end leg.", "faint")


def _uneven(result: Result) -> bool:
    every = [w.legs_N for w in result.wires]
    every += [w.legs_N for r in result.loads for w in r.wires]
    return any("/" in legs(pair) for pair in every)


def _wire_rows(result: Result, shown: Sequence[LoadResult]) -> list[list[str]]:
    heads = (c for r in shown for c in (short(r.name, 12), ""))
    rows = [
        ["wire", "ring", "tap tone", "no load", "", *heads],
        ["", "", "Hz", "N", "MPa", *["N", "MPa"] * len(shown)],
    ]
    for i, w in enumerate(result.wires):
        cells = [short(w.name, 9), short(w.ring, 7), "/".join(f"{f:.0f}" for f in w.tone_Hz)]
        cells += [legs(w.legs_N), f"{w.peak_stress_MPa:.0f}"]
        for r in shown:
            under = r.wires[i]
            loose = under.slack and max(under.legs_N) <= 0.0
            tension = "slack" if loose else legs(under.legs_N)
            cells += [tension, f"{under.peak_stress_MPa:.0f}"]
        rows.append(cells)
    return rows


def _warnings(result: Result) -> Iterator[Line]:
    if not result.warnings:
        return
    yield from heading(f"Warnings ({len(result.warnings)})")
    for w in result.warnings:
        yield from wrapped(w.message, "    ", "warning", first="  ! ")
