"""A result as text for a terminal of 80 columns.

Lines carry a mood (heading, good, bad, warning, faint) that a terminal may colour; the words alone
say everything.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from textwrap import wrap

from frames.caution import CAUTION
from frames.quantities import QUANTITIES
from frames.result import LoadResult, Result, TargetResult

WIDTH = 80


@dataclass(frozen=True)
class Line:
    """One line of text; mood: "", "heading", "good", "bad", "warning" or "faint"."""

    text: str
    mood: str = ""


def printout(result: Result) -> Iterator[Line]:
    """The whole result."""
    yield from _verdict(result)
    yield from _stiffness(result)
    if result.loads:
        yield from _movement(result)
    yield from _wires(result)
    yield from _warnings(result)
    yield Line("")
    yield from _wrapped(CAUTION, "", "faint")


def _verdict(result: Result) -> Iterator[Line]:
    yield from _wrapped(f"{result.title}, {result.side} leg", "", "heading")
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
        yield from _wrapped(_target(t), "          ", "good" if t.meets else "bad", first="  ")


def _target(t: TargetResult) -> str:
    unit = QUANTITIES[t.quantity].unit
    bounds = [
        f"at {word} {_number(b)}"
        for word, b in (("least", t.at_least), ("most", t.at_most))
        if b is not None
    ]
    side = f"{_number(abs(t.margin))} {'to spare' if t.meets else 'short'}"
    return (
        f"{'met   ' if t.meets else 'MISSED'}  {t.label}: {_number(t.value)} {unit}, "
        f"asked for {' and '.join(bounds)} ({side})"
    )


def _stiffness(result: Result) -> Iterator[Line]:
    yield from _heading("Stiffness at the fracture gap, wires at their tension, no load yet")
    for name, value in result.stiffness.items():
        q = QUANTITIES[name]
        yield Line(f"  {q.label:<34}{_number(value):>9}  {q.unit}")


def _movement(result: Result) -> Iterator[Line]:
    yield from _heading("Movement at the gap under load (from the tensioned frame on)")
    rows = [["load", "along bone", "closing", "sideways", "tilt", "stiffness, N/mm", ""]]
    rows.append(["", "N", "mm", "mm", "deg", "secant", "tangent"])
    for r in result.loads:
        rows.append(
            [
                _short(r.name, 20),
                "-" if r.axial_N is None else f"{r.axial_N:.0f}",
                f"{r.closing_mm:.2f}",
                f"{r.shear_mm:.2f}",
                f"{_tilt(r):.2f}",
                _number(r.secant["axial_N_per_mm"]) if "axial_N_per_mm" in r.secant else "-",
                _number(r.tangent["axial_N_per_mm"]),
            ]
        )
    yield from _table(rows, header=2)


def _tilt(r: LoadResult) -> float:
    a, m = r.gap_movement["about_anterior_deg"], r.gap_movement["about_medial_deg"]
    return float((a * a + m * m) ** 0.5)


def _wires(result: Result) -> Iterator[Line]:
    yield from _heading(
        "Wires: tension in N, largest stress in MPa (tension plus bending, elastic)"
    )
    for most in (3, 2, 1):  # as many loads, from the last back, as fit the page
        shown = result.loads[-most:]
        lines = list(_table(_wire_rows(result, shown), header=2))
        if max(len(line.text) for line in lines) <= WIDTH:
            break
    if len(shown) < len(result.loads):
        last = "load" if len(shown) == 1 else f"{len(shown)} loads"
        yield Line(f"  (the last {last} of {len(result.loads)}; all are in the result file)")
    yield from lines
    yield Line("  Tap tone of the start and end leg, clamp to bone, before load.", "faint")


def _wire_rows(result: Result, shown: Sequence[LoadResult]) -> list[list[str]]:
    heads = (c for r in shown for c in (_short(r.name, 12), ""))
    rows = [
        ["wire", "ring", "tap tone", "no load", "", *heads],
        ["", "", "Hz", "N", "MPa", *["N", "MPa"] * len(shown)],
    ]
    for i, w in enumerate(result.wires):
        cells = [_short(w.name, 9), _short(w.ring, 7), "/".join(f"{f:.0f}" for f in w.tone_Hz)]
        cells += [f"{w.tension_N:.0f}", f"{w.peak_stress_MPa:.0f}"]
        for r in shown:
            under = r.wires[i]
            tension = "slack" if under.slack else f"{under.tension_N:.0f}"
            cells += [tension, f"{under.peak_stress_MPa:.0f}"]
        rows.append(cells)
    return rows


def _warnings(result: Result) -> Iterator[Line]:
    if not result.warnings:
        return
    yield from _heading(f"Warnings ({len(result.warnings)})")
    for w in result.warnings:
        yield from _wrapped(w.message, "    ", "warning", first="  ! ")


def _heading(text: str) -> Iterator[Line]:
    yield Line("")
    yield Line(text, "heading")


def _wrapped(text: str, indent: str, mood: str, first: str = "") -> Iterator[Line]:
    for line in wrap(text, WIDTH, initial_indent=first, subsequent_indent=indent):
        yield Line(line, mood)


def _table(rows: Sequence[Sequence[str]], header: int) -> Iterator[Line]:
    """Columns as wide as they need to be; first one to the left, the others to the right."""
    widths = [
        max(len(r[i]) for r in rows if r[i] or i == 0) if _column(rows, i) else 0
        for i in range(len(rows[0]))
    ]
    for i, row in enumerate(rows[:header]):
        # a header over two columns: its right neighbour is empty
        for j in range(len(row) - 1):
            if i == 0 and row[j] and row[j + 1] == "" and j > 0:
                own = max(len(r[j]) for r in rows[1:])
                widths[j] = max(own, len(row[j]) - 2 - max(len(r[j + 1]) for r in rows[1:]))
    for i, row in enumerate(rows):
        cells = []
        j = 0
        while j < len(row):
            wide = i == 0 and j + 1 < len(row) and j > 0 and row[j] and row[j + 1] == ""
            width = widths[j] + (2 + widths[j + 1] if wide else 0)
            cells.append(row[j].ljust(width) if j == 0 else row[j].rjust(width))
            j += 2 if wide else 1
        yield Line(("  " + "  ".join(cells)).rstrip(), "faint" if i < header else "")


def _column(rows: Iterable[Sequence[str]], i: int) -> bool:
    return any(r[i] for r in rows)


def _short(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"


def _number(value: float) -> str:
    """Three or four significant digits, without exponent in the usual range."""
    size = abs(value)
    if size >= 1000 or size == 0:
        return f"{value:.0f}"
    if size >= 100:
        return f"{value:.1f}"
    if size >= 1:
        return f"{value:.2f}"
    return f"{value:.3f}" if size >= 0.01 else f"{value:.2g}"
