"""What would mend a missed target, as text."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from frames.assumptions import assumption_lines
from frames.caution import CAUTION
from frames.lines import Line, heading, number, short, table, wrapped
from frames.mending.sensitivity import ADJOINT
from frames.mending.trials import Change
from frames.quantities import QUANTITIES
from frames.result_parts import TargetResult

if TYPE_CHECKING:
    from frames.mending.mend import Mending

CHANGES_SHOWN, MISFITS_SHOWN, EFFECTS_SHOWN, COLUMNS = 18, 5, 8, 3


def mending_lines(answer: "Mending") -> Iterator[Line]:
    """Targets, changes, what does not fit, what matters most."""
    yield from wrapped(answer.title, "", "heading")
    yield from _targets(answer.targets)
    if answer.missed:
        yield from _changes(answer)
    else:
        yield Line("")
        yield Line("No target is missed: nothing has to be mended.", "good")
    yield from _effects(answer)
    yield from assumption_lines(answer.assumptions)
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")


def _targets(targets: Sequence[TargetResult]) -> Iterator[Line]:
    yield from heading("Targets")
    for i, t in enumerate(targets, start=1):
        unit = QUANTITIES[t.quantity].unit
        bounds = [f"at least {t.at_least:g}"] if t.at_least is not None else []
        bounds += [f"at most {t.at_most:g}"] if t.at_most is not None else []
        said = "met" if t.meets else f"missed by {number(-t.margin)}"
        text = f"{i}  {t.label}: {number(t.value)} {unit} ({', '.join(bounds)}): {said}"
        yield from wrapped(text, "     ", "good" if t.meets else "bad", first="  ")


def _changes(answer: "Mending") -> Iterator[Line]:
    yield from heading("Single changes, each solved anew, best first")
    if not answer.changes:
        yield from wrapped("None of those tried helps and fits.", "  ", "warning", first="  ")
    else:
        yield from _table(answer, answer.changes[:CHANGES_SHOWN])
        more = len(answer.changes) - CHANGES_SHOWN
        if more > 0:
            yield Line(f"  and {more} more with less gain", "faint")
        words = (
            "T1, T2 …: value of a missed target after the change. gain: share of what is missing "
            "that it makes up; targets that it newly misses count against it."
        )
        yield from wrapped(words, "  ", "faint", first="  ")
        if not any(c.meets_all for c in answer.changes):
            words = "No single change meets all targets; make the best one and ask again."
            yield from wrapped(words, "  ", "warning", first="  ")
    if answer.misfits:
        yield from heading("Would help, but does not fit")
        for c in answer.misfits[:MISFITS_SHOWN]:
            words = f"{c.change}, {c.before} to {c.after} (gain {_percent(c.gain)}): {c.misfits[0]}"
            yield from wrapped(words, "    ", "warning", first="  ")
        more = len(answer.misfits) - MISFITS_SHOWN
        if more > 0:
            yield Line(f"  and {more} more", "faint")


def _table(answer: "Mending", changes: Sequence[Change]) -> Iterator[Line]:
    shown = [i for i, t in enumerate(answer.targets) if not t.meets][:COLUMNS]
    rows = [["change", "from", "to", *(f"T{i + 1}" for i in shown), "gain", "targets"]]
    rows.append(
        ["", "", "", *(QUANTITIES[answer.targets[i].quantity].unit for i in shown), "%", ""]
    )
    for c in changes:
        values = [number(c.values[i]) for i in shown]
        rows.append(
            [
                short(c.change, 28),
                short(c.before, 12),
                short(c.after, 14),
                *values,
                f"{100.0 * c.gain:.0f}",
                _verdict(c),
            ]
        )
    yield from table(rows, header=2)


def _verdict(change: Change) -> str:
    if change.meets_all:
        return "all met"
    return "not " + ",".join(str(i) for i, met in enumerate(change.meets, 1) if not met)


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"


def _effects(answer: "Mending") -> Iterator[Line]:
    if not answer.effects:
        return
    yield from heading("What moves the targets most, a little change at a time")
    places = {(t.quantity, t.load): i for i, t in reversed(list(enumerate(answer.targets, 1)))}
    missed = {(t.quantity, t.load) for t in answer.missed}
    order = range(len(answer.asked))
    own = sorted(
        order, key=lambda i: (answer.asked[i].quantity, answer.asked[i].load) not in missed
    )
    own = own[:COLUMNS]
    asked = [answer.asked[i] for i in own]
    heads = [f"T{places[a.quantity, a.load]}" for a in asked]
    units = [QUANTITIES[a.quantity].unit for a in asked]
    rows = [["part", "number", "by", *heads], ["", "", "", *units]]
    for e in answer.effects[:EFFECTS_SHOWN]:
        changes = [_signed(e.by[i] * e.practical) for i in own]
        part, what = (e.part, e.number) if e.part else (e.number, "")
        amount = f"+{e.practical:.3g} {e.unit}".replace(" °", "°")
        rows.append([short(part, 30), short(what, 20), amount, *changes])
    yield from table(rows, header=2)
    methods = {e.method for e in answer.effects}
    if methods == {ADJOINT}:
        words = "Exact derivatives at the solved frame; a large change bends away from them."
    elif ADJOINT in methods:
        words = (
            "Exact derivatives at the solved frame; where parts meet, by two frames solved on both "
            "sides. A large change bends away from them."
        )
    else:
        words = (
            "This frame remembers its loads or changes its contacts: each by two frames solved on "
            "both sides. A large change bends away from them."
        )
    yield from wrapped(words, "  ", "faint", first="  ")


def _signed(value: float) -> str:
    text = number(value)
    return text if text.startswith("-") or float(text) == 0.0 else f"+{text}"
