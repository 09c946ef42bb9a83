"""A spread as text: tolerances, chances, quantities, what matters most."""

from collections.abc import Iterator

from frames.assumptions import assumption_lines
from frames.caution import CAUTION
from frames.comparing.text import SHORT
from frames.lines import Line, heading, number, short, table, wrapped
from frames.spreading.spread_result import (
    Chance,
    Distributed,
    Spread,
    Taken,
    TargetChance,
)

_MEANING = {
    "normal": "normal, 95 % within",
    "uniform": "uniform",
    "triangular": "triangular",
}
_BY_SLOPES = "By slopes: from the derivatives at the planned frame (first order)."
_MOST_REASONS = 5
_NAME = 28
_LONG = 49


def spread_lines(answer: Spread) -> Iterator[Line]:
    """The whole answer."""
    yield from wrapped(
        f"{answer.title}: {answer.designs} frames built within tolerances", "", "heading"
    )
    yield Line(f"  drawn at random, seed {answer.seed}", "faint")
    yield from heading("Tolerances")
    yield from table([_tolerance(t) for t in answer.tolerances], header=0)
    yield from _cut(answer)
    if answer.targets:
        yield from heading("Chance of meeting the targets (95 % confidence interval)")
        for target in answer.targets:
            yield from _target(target)
        if answer.together is not None and len(answer.targets) > 1:
            yield Line("  all targets together")
            yield Line(f"      {chance_text(answer.together)}")
        yield Line(f"  {_BY_SLOPES}", "faint")
    yield from _failures(answer)
    yield from heading("Spread of the answers")
    yield from _quantities(answer)
    yield from heading("Which tolerance matters most: share of the variance")
    yield from _shares(answer)
    yield from assumption_lines(answer.assumptions)
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")


def _tolerance(t: Taken) -> list[str]:
    each = "all alike" if t.together else f"{t.numbers}, each by itself" if t.numbers > 1 else "one"
    return [short(t.name, _NAME), t.size, _MEANING[t.distribution], each]


def _cut(answer: Spread) -> Iterator[Line]:
    cut = [t for t in answer.tolerances if t.cut]
    for t in cut:
        yield from wrapped(
            f"{short(t.name, 60)}: {t.cut} of {t.numbers * answer.designs} values lay beyond a "
            "limit of the case file and were set to it.",
            "    ", "warning", first="  ",
        )  # fmt: skip
    if not cut:
        yield Line("  No value lay beyond a limit of the case file.", "faint")


def chance_text(chance: Chance) -> str:
    """``97.3 % (96.1 to 98.1 %)``."""
    ends = f"{_percent(chance.low)} to {_percent(chance.high)} %"
    return f"{_percent(chance.chance)} % ({ends})"


def _percent(share: float) -> str:
    """A chance in percent; 100 and 0 only when it is that."""
    if 0.0 < share < 0.0005:
        return "<0.1"
    if 0.9995 < share < 1.0:
        return ">99.9"
    return (
        f"{100.0 * share:.1f}".removesuffix(".0") if share in (0.0, 1.0) else f"{100 * share:.1f}"
    )


def _target(t: TargetChance) -> Iterator[Line]:
    bounds = (("at least", t.at_least), ("at most", t.at_most))
    asked = " and ".join(f"{word} {v:g}" for word, v in bounds if v is not None)
    yield from wrapped(f"{t.label}: {asked} {t.unit}", "    ", "", first="  ")
    planned = f"as planned {number(t.planned)}" + ("" if t.planned_meets else " MISSED")
    said = f"{chance_text(t.sample)}; {planned}; by slopes {_percent(t.first_order)} %"
    yield Line(f"      {said}", "" if t.sample.low > 0.5 else "bad")
    if t.apart is not None:
        yield from wrapped(f"slopes differ: {t.apart}.", "      ", "faint", first="      ")


def _failures(answer: Spread) -> Iterator[Line]:
    if not answer.failures:
        return
    word = "frame" if answer.failed == 1 else "frames"
    yield from heading(f"{answer.failed} {word} that cannot be built or solved, counted as missed")
    for f in answer.failures[:_MOST_REASONS]:
        yield from wrapped(f"{f.designs}: {f.reason}", "     ", "warning", first="  ")
    if (more := len(answer.failures) - _MOST_REASONS) > 0:
        yield Line(f"  and {more} other reasons, in the file of --json", "faint")


def _quantities(answer: Spread) -> Iterator[Line]:
    rows = [["", "unit", "planned", "mean", "sd", "5 %", "median", "95 %"]]
    loads = dict.fromkeys(q.load for q in answer.quantities)
    for load in loads:
        if load is not None:
            rows.append([f'under "{short(load, 16)}"', *[""] * 7])
        rows += [_row(q, "" if load is None else "  ") for q in answer.quantities if q.load == load]
    yield from table(rows, header=1)
    yield Line("  sd: standard deviation. 5 %, 95 %: so many frames lie below.", "faint")


def _row(q: Distributed, indent: str) -> list[str]:
    shown = (q.planned, q.mean, q.sd, q.percentile_5, q.percentile_50, q.percentile_95)
    name = short(indent + SHORT.get(q.quantity, q.label), 20)
    return [name, q.unit, *("-" if v is None else number(v) for v in shown)]


def _shares(answer: Spread) -> Iterator[Line]:
    """Of what the targets ask for; of all quantities without targets."""
    wanted = {(t.quantity, t.load) for t in answer.targets}
    shown = [q for q in answer.quantities if not wanted or (q.quantity, q.load) in wanted]
    rows = [["", "by slopes", "in the sample"]]
    for q in shown:
        own = "-" if q.sd is None else f"sd {number(q.sd)}"
        name = short(q.label, _LONG - 2 - len(q.unit)) + f", {q.unit}"
        rows.append([name, f"sd {number(q.sd_first_order)}", own])
        for s in q.shares:
            sample = "-" if s.sample is None else f"{100.0 * max(s.sample, 0.0):.0f} %"
            rows.append(
                [f"  {short(s.tolerance, _LONG - 2)}", f"{100.0 * s.first_order:.0f} %", sample]
            )
        if q.explained is not None and q.explained < 0.95:
            left = 100.0 * (1.0 - q.explained)
            rows.append(["  kinks and curvature", "", f"{left:.0f} %"])
    yield from table(rows, header=1)
    fits = "In the sample: by straight lines fitted to the frames drawn."
    if any(q.explained is None for q in shown):
        fits += " A dash: too few frames were drawn to tell."
    said = fits if answer.targets else f"{_BY_SLOPES} {fits}"
    yield from wrapped(said, "  ", "faint", first="  ")
    if answer.left_out:
        yield from wrapped(
            "Slopes leave out what may not be moved to both sides: " + ", ".join(answer.left_out),
            "    ", "warning", first="  ",
        )  # fmt: skip
