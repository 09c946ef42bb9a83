"""A draft as text, and the remarks at the head of its case file."""

from collections.abc import Iterator
from textwrap import wrap

from frames.assumptions import assumption_lines
from frames.caution import CAUTION
from frames.drafting.directions import crossing
from frames.drafting.draft import Draft
from frames.lines import Line, heading, short, table, wrapped


def draft_lines(answer: Draft) -> Iterator[Line]:
    """Rings, wires, rods to take, what had to give way."""
    case = answer.case
    yield from wrapped(f"{case.case.title}: a draft to start from", "", "heading")
    for note in answer.notes:
        yield from wrapped(note, "    ", "warning", first="  ! ")
    for problem in answer.problems:
        yield from wrapped(f"Does not fit yet: {problem}", "    ", "bad", first="  ! ")
    a, m = case.ring[0].centre_mm
    where = f"{abs(a):.0f} mm {'behind' if a < 0 else 'before'}"
    aside = f"{abs(m):.0f} mm {'medial' if m >= 0 else 'lateral'}"
    yield from heading(f"Rings of {answer.ring_mm:g} mm, centre {where} and {aside} of the bone")
    rows = [
        ["ring", "below knee", "level", "tilt", "wires at", "crossing"],
        ["", "mm", "mm", "deg", "deg", "deg"],
    ]
    for ring, below in zip(case.ring, answer.below_knee_mm, strict=True):
        own = [w.bearing_deg for w in case.wire if w.ring == ring.name]
        rows.append(
            [
                short(ring.name, 10),
                f"{below:.0f}",
                f"{ring.level_mm:+.0f}",
                f"{ring.tilt_deg:.1f}",
                ", ".join(f"{b:g}" for b in own),
                f"{crossing(own[0], own[1]):.0f}",
            ]
        )
    yield from table(rows, header=2)
    wire = case.wire[0]
    rods = "; ".join(
        f"{r.count} of {r.length_mm:g} mm between {r.rings[0]} and {r.rings[1]}"
        for r in answer.rods
    )
    said = f"Wires of {wire.diameter_mm:g} mm at {wire.tension_kgf:g} kgf. Rods from stock: {rods}."
    yield from wrapped(said, "    ", "", first="  ")
    yield from assumption_lines(answer.assumptions, "the measurements do")
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")


def header(answer: Draft) -> str:
    """Remarks that begin the case file."""
    stock = "; ".join(f"{'-'.join(r.rings)} {r.count} × {r.length_mm:g} mm" for r in answer.rods)
    texts = [
        f"{answer.case.case.title}: a first draft from measurements. Change it freely, then: "
        "tautring fit, tautring check.",
        f"CAUTION. {CAUTION}",
        *answer.notes,
        *[f"Does not fit yet: {p}" for p in answer.problems],
        f"Rods from stock: {stock}",
        "Taken because the measurements do not say otherwise:",
    ]
    lines = []
    for text in texts:
        lines += wrap(text, 96, initial_indent="# ", subsequent_indent="#   ")
        lines.append("#")
    lines.pop()
    for a in answer.assumptions:
        count = f" (for {a.parts} parts)" if a.parts > 1 else ""
        told = f"{a.key} = {a.value}{count}: {a.source}."
        lines += wrap(told, 96, initial_indent="#   ", subsequent_indent="#     ")
    return "\n".join(lines) + "\n\n"
