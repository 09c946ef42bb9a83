"""Strength as text, the governing part first."""

from collections.abc import Iterator

from frames.assumptions import assumption_lines
from frames.caution import CAUTION
from frames.lines import Line, heading, short, table, wrapped
from frames.stressing.parts import PartStress
from frames.stressing.strength import Strength

KINDS = ("wire", "half-pin", "ring", "rod", "post")
PER_KIND = 3


def strength_lines(answer: Strength) -> Iterator[Line]:
    """What governs, the worst of each kind, clamps, cortices, rods."""
    yield from wrapped(answer.title, "", "heading")
    first = answer.governing
    if first is not None and first.share_percent is not None:
        over = first.share_percent > 100.0
        yield from wrapped(
            f"Nearest to its limit: {first.kind} {first.name}, {first.share_percent:.0f} % of its "
            f"yield stress under {first.load!r}."
            + (" Past yield the figures are not real stresses: steel gives way." if over else ""),
            "",
            "bad" if over else "",
        )
    yield from heading(
        f"Largest stress of the worst parts of each kind ({answer.cycles:.3g} cycles)"
    )
    yield from table(list(_rows(answer)), header=2)
    yield Line(
        "  Rings without holes; swing: half the change by load; cycles: to failure.",
        "faint",
    )
    short_lived = [p for p in answer.parts if p.enough is False]
    if short_lived:
        names = ", ".join(_named(p) for p in short_lived[:8])
        more = f" and {len(short_lived) - 8} more" if len(short_lived) > 8 else ""
        yield from wrapped(
            f"Under their hardest load these would not outlive {answer.cycles:.3g} cycles: "
            f"{names}{more}.",
            "  ",
            "warning",
            first="  ",
        )
    yield from _clamps(answer)
    yield from _bone(answer)
    yield from _columns(answer)
    yield from assumption_lines(answer.assumptions)
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")


def _rows(answer: Strength) -> Iterator[list[str]]:
    yield ["part", "stress", "of yield", "under", "swing", "cycles", "where"]
    yield ["", "MPa", "", "", "MPa", "", ""]
    for kind in KINDS:
        for p in [p for p in answer.parts if p.kind == kind][:PER_KIND]:
            yield [
                short(_named(p), 22),
                f"{p.stress_MPa:.0f}",
                "-" if p.share_percent is None else f"{p.share_percent:.0f} %",
                short(p.load, 11),
                f"{p.amplitude_MPa:.0f}",
                _life(p),
                p.place.removeprefix("at "),
            ]


def _named(part: PartStress) -> str:
    own = part.name.startswith(part.kind)
    return part.name if own else f"{part.kind} {part.name}"


def _life(part: PartStress) -> str:
    if part.enough is None:
        return "-"
    if part.life_cycles is None:
        return "no end"
    return f"{part.life_cycles:.0e}" if part.life_cycles >= 1.0 else "none"


def _clamps(answer: Strength) -> Iterator[Line]:
    if not answer.clamps:
        return
    yield from heading("Clamps")
    judged = [c for c in answer.clamps if c.slip_N is not None]
    for c in judged[:3]:
        yield from wrapped(
            f"{c.wire}: {c.tension_N:.0f} N under {c.load!r}, {c.share_percent:.0f} % of the load "
            f"at which it slips ({c.slip_N:.0f} N).",
            "    ",
            "bad" if (c.share_percent or 0.0) > 100.0 else "",
            first="  ",
        )
    if not judged:
        c = max(answer.clamps, key=lambda c: c.tension_N)
        yield from wrapped(
            f"The case gives no slip_N or bolt_torque_Nm. The largest tension, {c.tension_N:.0f} N "
            f"in {c.wire} under {c.load!r}, asks for about {c.torque_Nm:.0f} N·m on its bolts "
            "(8 N·m held 900 N, Vet Surg 2002;31:571-6).",
            "    ",
            "",
            first="  ",
        )


def _bone(answer: Strength) -> Iterator[Line]:
    if not answer.bearings:
        return
    b = answer.bearings[0]
    yield from heading("Bearing on the cortex")
    yield from wrapped(
        f"Highest nominal pressure {b.pressure_MPa:.0f} MPa: {b.part} under {b.load!r}, "
        f"{b.force_N:.0f} N on one cortex. At the edge of the hole the peak is several times that. "
        "Cancellous bone yields at 2 to 7 MPa (Board, Yang and Saleh 2006, abstract), cortical "
        "bone at about 100 to 200 (from memory).",
        "    ",
        "",
        first="  ",
    )


def _columns(answer: Strength) -> Iterator[Line]:
    if not answer.rods:
        return
    r = answer.rods[0]
    yield from heading("Rods as columns")
    yield from wrapped(
        f"Nearest to buckling: {r.piece}, {r.compression_N:.0f} N under {r.load!r}, "
        f"{r.share_percent:.1f} % of its Euler load of {r.buckling_N:.0f} N. Buckling of the whole "
        "frame: tautring modes.",
        "    ",
        "bad" if r.share_percent > 100.0 else "",
        first="  ",
    )
