"""The tension sheet as text."""

from collections.abc import Iterator

from frames.assumptions import assumption_lines
from frames.caution import CAUTION
from frames.dialling import tensioning_lines
from frames.lines import Line, heading, short, table, wrapped
from frames.tension_sheet.orders import BestOrder, Ordered
from frames.tension_sheet.sheet import TensionSheet

ACROSS = 9


def sheet_lines(answer: TensionSheet) -> Iterator[Line]:
    """Stages, earlier wires after each, the uncorrected way, order, winding."""
    yield from tensioning_lines(answer.tensioning)
    yield from _earlier(answer)
    yield from _naive(answer)
    if answer.best is not None:
        yield from _best(answer.best)
    yield from _winding(answer)
    yield from assumption_lines(answer.assumptions)
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")


def _earlier(answer: TensionSheet) -> Iterator[Line]:
    stages = answer.tensioning.stages
    names = [w.name for w in stages[-1].left]
    yield from heading("Tension of every wire after each stage, N (leg at the start)")
    for k in range(0, len(names), ACROSS):
        own = names[k : k + ACROSS]
        rows = [["after", *[short(n, 6) for n in own]]]
        laid: set[str] = set()
        for stage in stages:
            laid |= set(stage.tensioned)
            left = {w.name: w.legs_N[0] for w in stage.left}
            cells = [f"{left[n]:.0f}" if n in laid else "" for n in own]
            rows.append([short(", ".join(stage.tensioned), 12), *cells])
        yield from table(rows, header=1)
    yield from heading("Tap tone at the start and end leg, Hz: when tensioned, and in the end")
    rows = [["wire", "when tensioned", "in the end"]]
    last = {w.name: w for w in stages[-1].left}
    for stage in stages:
        then = {w.name: w for w in stage.left}
        for name in stage.tensioned:
            rows.append([short(name, 12), *[_tones(x[name].tone_Hz) for x in (then, last)]])
    yield from table(rows, header=1)


def _tones(tones: tuple[float, float]) -> str:
    return f"{tones[0]:.0f} / {tones[1]:.0f}"


def _naive(answer: TensionSheet) -> Iterator[Line]:
    yield from heading("If every wire is simply dialled at its tension, in this order")
    again = [w for w in answer.naive if w.again]
    rows = [["wire", "wanted", "left", "off", "again", "then"], ["", "N", "N", "", "", "N"]]
    for w in answer.naive:
        rows.append(
            [
                short(w.name, 12),
                f"{w.wanted_N:.0f}",
                f"{w.left_N:.0f}",
                f"{round(w.off_percent) + 0:+d} %",
                "yes" if w.again else "",
                "" if w.second_N is None else f"{w.second_N:.0f}",
            ]
        )
    yield from table(rows, header=2)
    if again:
        names = ", ".join(w.name for w in again)
        words = f"Off by more than {answer.within_percent:g} %: {names}. Tension these once more."
    else:
        words = f"None is off by more than {answer.within_percent:g} %."
    yield from wrapped(words, "    ", "warning" if again else "good", first="  ")
    if again:
        yield from wrapped(_after_second(answer), "    ", "faint", first="  ")


def _after_second(answer: TensionSheet) -> str:
    off = []
    for w in answer.naive:
        if w.second_N is not None:
            percent = 100.0 * (w.second_N / w.wanted_N - 1.0)
            if abs(percent) > answer.within_percent:
                off.append(f"{w.name} ({percent:+.0f} %)")
    if not off:
        return f"After that none is off by more than {answer.within_percent:g} %."
    return (
        f"After that still off: {', '.join(off)}. Dials that count in what each wire loses: "
        'pretension = "final" in the case.'
    )


def _best(best: BestOrder) -> Iterator[Line]:
    yield from heading("The order that leaves the wires nearest to each other, none corrected")
    for label, order in (
        ("best order", best.best),
        ("order of the case", best.case_order),
        ("wires of a ring at once (two tensioners)", best.pairs),
    ):
        if order is not None:
            yield from wrapped(f"{label}: {_told(order)}", "      ", "", first="  ")
    certain = (
        "no other order can be better unless it differs from its estimate by more than any that "
        "was solved"
        if best.proven
        else "not proven to be the best"
    )
    yield from wrapped(
        f"{best.compared} orders compared, {best.solved} of them tensioned in full (estimates were "
        f"off by {best.error_percent:.1f} % at most): {certain}.",
        "  ",
        "faint",
        first="  ",
    )


def _told(order: Ordered) -> str:
    names = ", ".join(" with ".join(stage) for stage in order.stages)
    return (
        f"{names}; scatter {order.scatter_percent:.1f} % "
        f"(standard deviation {order.deviation_percent:.1f} %), "
        f"{min(order.left_N):.0f} to {max(order.left_N):.0f} N"
    )


def _winding(answer: TensionSheet) -> Iterator[Line]:
    if not answer.winding:
        return
    yield from heading("Wound on the slotted bolt instead: turn of the bolt")
    rows = [["wire", "turn", "each degree", "100 to 130 kgf", "from there to yield"]]
    rows.append(["", "deg", "N", "deg", "deg"])
    for w in answer.winding:
        rows.append(
            [
                short(w.name, 12),
                f"{w.turn_deg:.0f}",
                f"{w.N_per_deg:.0f}",
                f"{w.window_deg:.0f}",
                f"{w.to_yield_deg:.0f}",
            ]
        )
    yield from table(rows, header=2)
    least = min(w.window_deg for w in answer.winding)
    most = max(w.window_deg for w in answer.winding)
    quarter = [w for w in answer.winding if w.to_yield_deg < 90.0]
    yields = (
        "A quarter turn too much makes every wire yield"
        if len(quarter) == len(answer.winding)
        else f"A quarter turn too much makes {len(quarter)} of {len(answer.winding)} wires yield"
    )
    span = f"{least:.0f}" if round(least) == round(most) else f"{least:.0f} to {most:.0f}"
    near = min(answer.winding, key=lambda w: w.to_yield_deg)
    yield from wrapped(
        f"Only {span} degrees of turn lie between too little (100 kgf) and too much (130 kgf), and "
        f"{near.to_yield_deg:.0f} more than the tension above make {near.name} yield. {yields}. "
        "This is geometry without friction: no measured relation of turn and tension was found in "
        "print. Judge the tension, not the turn.",
        "  ",
        "warning",
        first="  ",
    )
