"""Fit as text."""

from collections.abc import Iterator

from frames.assumptions import assumption_lines
from frames.caution import CAUTION
from frames.fitting.directions import IN, NOT_JUDGED
from frames.fitting.fit import Fit
from frames.fitting.limb_room import EndRoom, RingRoom
from frames.fracture import SIDES
from frames.lines import Line, heading, short, table, wrapped


def fit_lines(answer: Fit) -> Iterator[Line]:
    """Verdict and problems first, then the tables behind them."""
    yield from wrapped(answer.title, "", "heading")
    count = len(answer.problems)
    if count:
        yield Line(f"DOES NOT FIT: {count} problem{'s' if count > 1 else ''}.", "bad")
    elif answer.unjudged:
        yield Line("Fits, as far as it could be judged.", "good")
    else:
        yield Line("FITS.", "good")
    for problem in answer.problems:
        yield from wrapped(problem.message, "    ", "bad", first="  ! ")
    for words in answer.unjudged:
        yield from wrapped(words, "    ", "warning", first="  ? ")
    yield from _rings(answer)
    yield from _ends(answer)
    yield from _skin(answer)
    yield from _parts(answer)
    yield from assumption_lines(answer.assumptions)
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")


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


def _ends(answer: Fit) -> Iterator[Line]:
    if not answer.ends:
        return
    yield from heading("Room between leg and clamps, mm: now / swollen")
    by: dict[str, list[EndRoom]] = {}
    for e in answer.ends:
        by.setdefault(e.part, []).append(e)
    rows = [["wire or pin", "start", "end"]]
    for part, ends in by.items():
        cells = [_both(e) for e in ends]
        rows.append([short(part, 20), *cells, *[""] * (2 - len(cells))])
    rows.append(["asked for", f"{answer.ends[0].asked_mm:g}", ""])
    yield from table(rows, header=1)


def _both(room: RingRoom | EndRoom) -> str:
    if room.swollen_mm is None:
        return "open" if isinstance(room, RingRoom) and room.measured else "unknown"
    return f"{room.now_mm:.0f} / {room.swollen_mm:.0f}"


def _skin(answer: Fit) -> Iterator[Line]:
    yield from heading("Where wires and pins pass the skin, and how the wires of a ring cross")
    rows = [["wire or pin", "end", "bearing", "level", "corridor"], ["", "", "deg", "mm", ""]]
    for s in answer.skin:
        if s.verdict == IN:
            said = s.corridor or ""
        elif s.off_deg is not None:
            said = f"{s.off_deg:.0f}° outside {s.corridor}"
        else:
            said = s.verdict if s.verdict != NOT_JUDGED else "-"
        where = "" if s.on_skin else " (at the clamp)"
        rows.append(
            [
                short(s.part, 14),
                s.end,
                f"{s.bearing_deg:.0f}",
                f"{s.level_mm:.0f}",
                short(said, 34) + where,
            ]
        )
    yield from table(rows, header=2)
    angles = [f"{c.ring} {'/'.join(c.wires)} {c.angle_deg:.0f}°" for c in answer.crossings]
    if angles:
        yield from wrapped(f"Crossing: {', '.join(angles)}.", "    ", "", first="  ")


def _parts(answer: Fit) -> Iterator[Line]:
    yield from heading("Parts nearest to each other, not fixed together, mm between surfaces")
    rows = [["one", "other", "gap"]]
    rows += [[short(g.one, 28), short(g.other, 28), f"{g.gap_mm:.1f}"] for g in answer.parts[:5]]
    yield from table(rows, header=1)
    if answer.holes:
        g = answer.holes[0]
        words = f"Nearest fixings on one ring: {g.one} and {g.other}, {g.gap_mm:.1f} mm."
        yield from wrapped(words, "    ", "", first="  ")
