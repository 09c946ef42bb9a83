"""Strength as text, the governing part first."""

from collections.abc import Iterator

from frames.assumptions import assumption_lines
from frames.caution import CAUTION
from frames.lines import Line, heading, number, short, table, wrapped
from frames.stressing.columns import FrameBuckling
from frames.stressing.limits import cycles_words
from frames.stressing.parts import PartStress
from frames.stressing.solving import AT_REST
from frames.stressing.strength import Strength

KINDS = ("wire", "half-pin", "ring", "rod", "post", "bone")
PER_KIND = 3
NAMES = 6
"""Parts named in one sentence."""


def strength_lines(answer: Strength) -> Iterator[Line]:
    """What governs, the worst of each kind, cycles, clamps, cortices, rods, the frame."""
    yield from wrapped(answer.title, "", "heading")
    yield from _governing(answer)
    yield from heading("The worst parts of each kind")
    yield from table(list(_rows(answer)), header=2)
    yield from wrapped(
        "Rings without their holes. Cycles: how often the hardest load may come and go until the "
        "part breaks; - where nothing is known, no end: it bears any number.",
        "  ",
        "faint",
        first="  ",
    )
    yield from _cycles(answer)
    yield from _clamps(answer)
    yield from _bone(answer)
    yield from _columns(answer)
    yield from assumption_lines(answer.assumptions)
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")


def _governing(answer: Strength) -> Iterator[Line]:
    first = answer.governing
    if first is None:
        yield from wrapped("Of no part is the yield stress known.", "", "warning")
        return
    over = [p for p in answer.parts if (p.share_percent or 0.0) > 100.0]
    said = (
        f"Nearest to its limit: {_named(first)}, {first.stress_MPa:.0f} MPa ({first.place}), "
        f"{first.share_percent:.0f} % of its yield stress {_under(first.load)}."
    )
    if not over:
        yield from wrapped(f"{said} No part passes its yield stress.", "", "good")
        return
    many = "1 part passes" if len(over) == 1 else f"{len(over)} parts pass"
    yield from wrapped(
        f"{said} {many} the yield stress: {_listed(over)}. Such figures, and the cycles that "
        "belong to them, are not real: the metal gives way and stays bent.",
        "",
        "bad",
    )


def _under(load: str) -> str:
    return "before load" if load == AT_REST else f"under {load!r}"


def _rows(answer: Strength) -> Iterator[list[str]]:
    yield ["part", "stress", "of", "under", "cycles", "where"]
    yield ["", "MPa", "yield", "", "", ""]
    for kind in KINDS:
        for p in [p for p in answer.parts if p.kind == kind][:PER_KIND]:
            yield [
                short(_named(p), 22),
                f"{p.stress_MPa:.0f}",
                "-" if p.share_percent is None else f"{p.share_percent:.0f} %",
                short(p.load, 11),
                _life(p),
                p.place,
            ]


def _named(part: PartStress) -> str:
    own = part.name.startswith(part.kind) or part.kind == "bone"
    return part.name if own else f"{part.kind} {part.name}"


def _listed(parts: list[PartStress]) -> str:
    more = f" and {len(parts) - NAMES} more" if len(parts) > NAMES else ""
    return ", ".join(_named(p) for p in parts[:NAMES]) + more


def _life(part: PartStress) -> str:
    if part.enough is None:
        return "-"
    if part.life_cycles is None:
        return "no end"
    return cycles_words(part.life_cycles) if part.life_cycles >= 1.0 else "none"


def _cycles(answer: Strength) -> Iterator[Line]:
    judged = [p for p in answer.parts if p.enough is not None]
    if not judged:
        return
    yield from heading("Load that comes and goes")
    wanted = (
        f"{answer.steps_per_day:.0f} steps a day for {answer.weeks:g} weeks are "
        f"{cycles_words(answer.cycles)} cycles."
    )
    if all(p.enough for p in judged):
        said = f"{wanted} Every part of a known material outlives them under every load."
        yield from wrapped(said, "    ", "good", first="  ")
        return
    yield from wrapped(f"{wanted} If every step were this load:", "    ", "", first="  ")
    for load in answer.loads:
        tired = [p for p in judged if load in p.too_much]
        said = "every part outlives them."
        if tired:
            said = f"{len(tired)} of {len(judged)} parts would break: {_listed(tired)}."
        mood = "warning" if tired else "good"
        yield from wrapped(f"{load}: {said}", "    ", mood, first="  ")
    p = max(judged, key=lambda p: (p.amplitude_MPa or 0.0) * (not p.enough))
    yield from wrapped(
        f"Widest: {_named(p)}, {p.amplitude_MPa:.0f} MPa to either side of {p.mean_MPa:.0f} MPa "
        f"{_under(p.life_load or '')}.",
        "    ",
        "faint",
        first="  ",
    )


def _clamps(answer: Strength) -> Iterator[Line]:
    if not answer.clamps:
        return
    yield from heading("Clamps of the wires")
    judged = [c for c in answer.clamps if c.slip_N is not None]
    for c in judged[:PER_KIND]:
        yield from wrapped(
            f"{c.wire}: {c.tension_N:.0f} N {_under(c.load)}, {c.share_percent:.0f} % of the load "
            f"at which it slips ({c.slip_N:.0f} N).",
            "    ",
            "bad" if (c.share_percent or 0.0) > 100.0 else "",
            first="  ",
        )
    if not judged:
        c = max(answer.clamps, key=lambda c: c.tension_N)
        yield from wrapped(
            f"The case gives no slip_N or bolt_torque_Nm. The largest tension, {c.tension_N:.0f} N "
            f"in {c.wire} {_under(c.load)}, asks for about {c.torque_Nm:.0f} N·m on its bolts "
            "(8 N·m held 900 N, Vet Surg 2002;31:571-6).",
            "    ",
            "",
            first="  ",
        )


def _bone(answer: Strength) -> Iterator[Line]:
    if not answer.bearings:
        return
    b = answer.bearings[0]
    yield from heading("Wires and pins on the cortex")
    yield from wrapped(
        f"Highest nominal pressure {number(b.pressure_MPa)} MPa: {b.part} {_under(b.load)}, "
        f"{b.force_N:.0f} N on one cortex, {b.share_percent:.0f} % of the yield stress of cortical "
        "bone. At the edge of the hole the peak is several times that. Near a joint, where the "
        "cortex is thin, remember that cancellous bone yields at 2 to 7 MPa (Board, Yang and Saleh "
        "2006, abstract).",
        "    ",
        "bad" if b.share_percent > 100.0 else "",
        first="  ",
    )


def _columns(answer: Strength) -> Iterator[Line]:
    if not answer.rods and not answer.frame:
        return
    yield from heading("Buckling")
    if answer.rods:
        r = answer.rods[0]
        yield from wrapped(
            f"Rods: nearest is {r.piece}, {r.compression_N:.0f} N {_under(r.load)}, "
            f"{number(r.share_percent)} % of its Euler load of {r.buckling_N:.0f} N.",
            "    ",
            "bad" if r.share_percent > 100.0 else "",
            first="  ",
        )
    known: list[tuple[float, FrameBuckling]] = [
        (f.factor, f) for f in answer.frame if f.factor is not None
    ]
    if known:
        factor, least = min(known, key=lambda pair: pair[0])
        yield from wrapped(
            f"Whole frame: about {number(factor)} times {least.load!r} (an estimate by linear "
            "extrapolation).",
            "    ",
            "bad" if factor < 1.0 else "",
            first="  ",
        )
    elif answer.frame:
        yield Line("  Whole frame: it stiffens under every load and does not buckle.")
    elif answer.loads:
        yield from wrapped(
            "Whole frame: no estimate, for its stiffness changes by leaps where fracture faces "
            "touch or wires grip, slip or yield.",
            "    ",
            "faint",
            first="  ",
        )
