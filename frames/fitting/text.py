"""Fit as text."""

from collections.abc import Iterator

from frames.assumptions import assumption_lines
from frames.caution import CAUTION
from frames.fitting.directions import IN, NOT_JUDGED, Hold, SkinPlace, off_words
from frames.fitting.fit import MISFITS, Fit
from frames.fitting.limb_room import EndRoom, RingRoom
from frames.fracture import SIDES
from frames.lines import Line, heading, short, table, wrapped


def fit_lines(answer: Fit) -> Iterator[Line]:
    """Verdict and problems first, then the tables behind them."""
    yield from wrapped(answer.title, "", "heading")
    yield _verdict(answer)
    for problem in sorted(answer.problems, key=lambda p: p.unknown):
        how = ("warning", "  ? ") if problem.unknown else ("bad", "  ! ")
        yield from wrapped(problem.message, "    ", how[0], first=how[1])
    for words in answer.unjudged:
        yield from wrapped(words, "    ", "warning", first="  ? ")
    yield from _rings(answer)
    yield from _ends(answer)
    yield from _skin(answer)
    yield from _hold(answer)
    yield from _parts(answer)
    yield from assumption_lines(answer.assumptions)
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")


def _verdict(answer: Fit) -> Line:
    wrong = sum(not p.unknown for p in answer.problems)
    if answer.verdict == MISFITS:
        return Line(f"DOES NOT FIT: {wrong} problem{'s' if wrong > 1 else ''}.", "bad")
    if answer.problems:
        return Line("NOT ALL COULD BE JUDGED; what could be, fits.", "warning")
    if answer.unjudged:
        return Line("Fits, as far as it could be judged.", "good")
    return Line("FITS.", "good")


def _rings(answer: Fit) -> Iterator[Line]:
    if not answer.rings:
        return
    yield from heading("Room between leg and ring, mm: now / swollen")
    yield Line(f"  Swelling counted: {answer.swelling}.", "faint")
    of = {(r.ring, r.direction): r for r in answer.rings}
    rows = [["ring", *SIDES]]
    for ring in dict.fromkeys(r.ring for r in answer.rings):
        rows.append([short(ring, 12), *[_both(of[ring, side]) for side in SIDES]])
    rows.append(["asked for", *[f"{r.asked_mm:g}" for r in answer.rings[: len(SIDES)]]])
    yield from table(rows, header=1)
    if any(not r.measured for r in answer.rings):
        yield Line("  *: the leg is not measured at all levels of the ring there.", "faint")
    known = [r for r in answer.rings if r.swollen_mm is not None]
    if known:
        r = min(known, key=lambda r: (r.swollen_mm or 0.0) - r.asked_mm)
        words = (
            f"Tightest against what is asked for: {r.ring} {r.direction}, at {r.bearing_deg:.0f}°, "
            f"level {r.level_mm:.0f} mm, {r.swollen_mm:.1f} mm when swollen."
        )
        yield from wrapped(words, "    ", "", first="  ")
    if answer.bars:
        b = answer.bars[0]
        words = (
            f"Nearest rod or post: {b.part}, at {b.bearing_deg:.0f}°, level {b.level_mm:.0f} mm, "
            f"{b.now_mm:.0f} / {b.swollen_mm:.0f}."
        )
        yield from wrapped(words, "    ", "", first="  ")


def _ends(answer: Fit) -> Iterator[Line]:
    if not answer.ends:
        return
    yield from heading("Room between leg and clamps, mm: now / swollen")
    by: dict[str, list[EndRoom]] = {}
    for e in answer.ends:
        by.setdefault(e.part, []).append(e)
    pins = any(e.end == "clamp" for e in answer.ends)
    wires = any(e.end != "clamp" for e in answer.ends)
    if wires:
        rows = [["wire or pin" if pins else "wire", "start", "end"]]
    else:
        rows = [["pin", "clamp", ""]]
    for part, ends in by.items():
        cells = [_both(e) for e in ends]
        rows.append([short(part, 20), *cells, *[""] * (2 - len(cells))])
    rows.append(["asked for", f"{answer.ends[0].asked_mm:g}", ""])
    yield from table(rows, header=1)
    if pins and wires:
        yield Line("  Start of a pin: its clamp.", "faint")


def _both(room: RingRoom | EndRoom) -> str:
    partly = isinstance(room, RingRoom) and not room.measured
    if room.swollen_mm is None:
        return "open" if isinstance(room, RingRoom) and not partly else "not measured"
    return f"{'*' if partly else ''}{room.now_mm:.0f} / {room.swollen_mm:.0f}"


def _skin(answer: Fit) -> Iterator[Line]:
    if not answer.skin:
        return
    yield from heading("Where wires and pins pass the skin")
    if not all(s.on_skin for s in answer.skin):
        words = "(clamp): the leg is not measured there, so the bearing is that of the clamp."
        yield Line("  " + words, "faint")
    rows = [["wire or pin", "end", "bearing", "level", "corridor"], ["", "", "deg", "mm", ""]]
    for s in answer.skin:
        where = "" if s.on_skin else " (clamp)"
        rows.append(
            [
                short(s.part, 14),
                s.end,
                f"{s.bearing_deg:.0f}",
                f"{s.level_mm:.0f}",
                short(_said(s), 28) + where,
            ]
        )
    yield from table(rows, header=2)


def _said(s: SkinPlace) -> str:
    if s.verdict == IN:
        return s.corridor or ""
    if s.off_deg is not None:
        return f"{off_words(s.off_deg)} outside {s.corridor}"
    return "none given there" if s.verdict != NOT_JUDGED else "-"


def _hold(answer: Fit) -> Iterator[Line]:
    yield from heading("What holds the bone, and how the wires of a ring cross")
    for hold in answer.holds:
        words = f"{hold.fragment.capitalize()}: {_parts_of(hold)}."
        yield from wrapped(words, "    ", "", first="  ")
    by: dict[str, list[str]] = {}
    for c in answer.crossings:
        by.setdefault(c.ring, []).append(f"{c.wires[0]} and {c.wires[1]} {c.angle_deg:.0f}°")
    for ring, angles in by.items():
        yield from wrapped(f"Crossing on {ring}: {', '.join(angles)}.", "    ", "", first="  ")


def _parts_of(hold: Hold) -> str:
    counts = [
        f"{len(names)} {kind}{'s' if len(names) > 1 else ''} ({', '.join(names)})"
        for names, kind in ((hold.wires, "wire"), (hold.pins, "half-pin"))
        if names
    ]
    if not counts:
        return "nothing"
    ring = "rings" if len(hold.rings) > 1 else "ring"
    return f"{', '.join(counts)} on {ring} {', '.join(hold.rings)}"


def _parts(answer: Fit) -> Iterator[Line]:
    if answer.parts:
        yield from heading("Parts nearest to each other, not fixed together, between surfaces")
        rows = [["one", "other", "gap", "bearing", "level"], ["", "", "mm", "deg", "mm"]]
        for g in answer.parts[:5]:
            where = "in bone" if g.in_bone else f"{g.bearing_deg:.0f}"
            names = short(g.one, 24), short(g.other, 24)
            rows.append([*names, f"{g.gap_mm:.1f}", where, f"{g.level_mm:.0f}"])
        yield from table(rows, header=2)
    if answer.holes:
        h = answer.holes[0]
        words = (
            f"Nearest fixings on one ring: {h.one} and {h.other} on {h.ring}, {h.apart_mm:.1f} mm "
            "from middle to middle."
        )
        yield from wrapped(words, "    ", "", first="  ")
