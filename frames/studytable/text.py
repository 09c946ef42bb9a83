"""Answers from a study as text: ranked effects, interactions, indices, the front, what was left
out."""

from collections.abc import Iterator, Mapping, Sequence

from frames.caution import CAUTION
from frames.lines import WIDTH, Line, heading, number, short, table, wrapped
from frames.studytable.answer import Effects
from frames.studytable.columns import SALTELLI, Column, Columns
from frames.studytable.front_text import front_lines
from frames.studytable.grouping import shown
from frames.studytable.parts import Index, Level, MainEffect, OutputEffects

_MOST_REASONS = 5
_WORTH = 0.01
"""Interactions with a smaller share of the variance are not worth a line."""
_MOST_PAIRS = 5
_NONE = 1e-9  # a smaller part of the means is rounding
_LEVEL = 10  # letters of a level


def effects_lines(answer: Effects) -> Iterator[Line]:
    """The whole answer."""
    columns = answer.columns
    yield from wrapped(f"What the study says: {columns.title}", "", "heading")
    yield from wrapped(_counted(answer), "  ", "", first="  ")
    yield from _reasons(columns)
    for output in answer.outputs:
        yield from _output(output, answer)
    yield from front_lines(answer.columns, answer.front)
    yield from heading("How far this goes")
    for note in answer.notes:
        yield from wrapped(note, "  ", "", first="  ")
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")


def _counted(answer: Effects) -> str:
    said = f"{answer.designs} designs ({answer.columns.method}), {len(answer.columns.parameters)} "
    said += "parameters" if len(answer.columns.parameters) != 1 else "parameter"
    if not answer.without:
        return said + "; every design has its values."
    return said + f"; {answer.without} of them have no values and are left out:"


def _reasons(columns: Columns) -> Iterator[Line]:
    reasons = columns.reasons()
    for reason, count in reasons[:_MOST_REASONS]:
        yield from wrapped(f"{count} × {reason}", "      ", "warning", first="    ")
    if (more := len(reasons) - _MOST_REASONS) > 0:
        yield Line(f"    and {more} more reasons, in the file of --json", "faint")


def _output(output: OutputEffects, answer: Effects) -> Iterator[Line]:
    yield Line("")
    yield from wrapped(_capital(output.text), "", "heading")
    if output.lowest is None or output.highest is None or output.mean is None:
        yield Line("  No design has a value.", "warning")
        return
    of = " of the two independent samples" if answer.columns.method == SALTELLI else ""
    said = f"{output.designs} designs{of}, {number(output.lowest)} to {number(output.highest)}"
    said += f", mean {number(output.mean)}, standard deviation {number(output.sd or 0.0)}."
    if output.missing and output.missing != answer.without:
        said += f" {output.missing} designs without a value."
    yield from wrapped(said, "  ", "", first="  ")
    if output.why_not:
        yield from wrapped(f"No effects: {output.why_not}.", "  ", "faint", first="  ")
    columns = {p.name: p for p in answer.columns.parameters}
    if output.main:
        yield from _effects(output, columns)
    yield from _indices(output, columns)


def _effects(output: OutputEffects, columns: Mapping[str, Column]) -> Iterator[Line]:
    header = ("parameter", "lowest", "at", "highest", "at", "effect", "share")
    yield from _fitted(
        [header, *(_main(m, output.kind == "bins") for m in output.main)], output.main, columns
    )
    yield from _interactions(output, {name: c.text for name, c in columns.items()})


def _fitted(
    rows: list[tuple[str, ...]],
    items: Sequence[MainEffect | Index],
    columns: Mapping[str, Column],
) -> Iterator[Line]:
    """A table whose first column is the names of parameters, as long as there is room."""
    others = sum(2 + max(len(r[i]) for r in rows) for i in range(1, len(rows[0])))
    room = WIDTH - 2 - others
    named = [(_name(columns[i.name], room), *r[1:]) for i, r in zip(items, rows[1:], strict=True)]
    yield from table([rows[0], *named], 1)


def _name(column: Column, room: int) -> str:
    """Label and unit; the heading of the column where there is no room for the label."""
    unit = f" ({column.unit})" if column.unit else ""
    fits = len(column.label) + len(unit) <= room
    return short(column.label if fits else column.name, room - len(unit)) + unit


def _main(effect: MainEffect, binned: bool) -> tuple[str, ...]:
    low, high = effect.levels[effect.low], effect.levels[effect.high]
    sign = "" if low.value is None or effect.effect < 0.0 else "+"
    return (
        "",
        number(low.mean or 0.0),
        _level(low, binned),
        number(high.mean or 0.0),
        _level(high, binned),
        _size(effect, sign),
        _percent(effect.share),
    )


def _size(effect: MainEffect, sign: str) -> str:
    if effect.chance:
        return "chance"
    means = [level.mean for level in effect.levels if level.mean is not None]
    if abs(effect.effect) <= _NONE * max(abs(m) for m in means):
        return "none"
    return f"{sign}{number(effect.effect)}{'*' if _bends(effect) else ''}"


def _level(level: Level, binned: bool) -> str:
    if level.value is None or not binned:
        return short(level.label, _LEVEL)
    return number(level.value) if level.label != shown(level.value) else level.label


def _bends(effect: MainEffect) -> bool:
    number_like = effect.levels[effect.low].value is not None
    return number_like and not effect.steady and not effect.chance


def _percent(share: float) -> str:
    return f"{_fixed(100.0 * share, 1)} %"


def _fixed(value: float, digits: int) -> str:
    """With so many digits behind the point; no minus before zero."""
    return f"{round(value, digits) + 0.0:.{digits}f}"


def _interactions(output: OutputEffects, labels: dict[str, str]) -> Iterator[Line]:
    if any(_bends(m) for m in output.main):
        yield Line("  * the means do not rise or fall throughout", "faint")
    if any(m.chance for m in output.main):
        said = "chance: bins differ no more than chance makes them (F test, 95 %)"
        yield Line(f"  {said}", "faint")
    worth = [i for i in output.interactions if i.share >= _WORTH and not i.chance][:_MOST_PAIRS]
    if not output.interactions:
        return
    if not worth:
        yield Line(f"  No two parameters interact with {_percent(_WORTH)} of the variance or more.")
        return
    yield Line("  Pairs whose effects do not add up, share of the variance:")
    for pair in worth:
        said = f"{_percent(pair.share)}  {labels[pair.first]} with {labels[pair.second]}"
        yield from wrapped(said, "            ", "", first="    ")


def _indices(output: OutputEffects, columns: Mapping[str, Column]) -> Iterator[Line]:
    if output.indices:
        said = f"  Sobol indices from {output.samples} base samples, with bounds of 95 %"
        if output.dropped:
            said += f"; {output.dropped} dropped"
        yield Line(said)
        header = ("parameter", "by itself", "bounds", "with others", "bounds")
        rows = [
            (
                "",
                _fixed(i.first, 3),
                f"{_fixed(i.first_low, 2)} to {_fixed(i.first_high, 2)}",
                _fixed(i.total, 3),
                f"{_fixed(i.total_low, 2)} to {_fixed(i.total_high, 2)}",
            )
            for i in output.indices
        ]  # fmt: skip
        yield from _fitted([header, *rows], output.indices, columns)
    elif output.dropped:
        yield from wrapped(
            f"No Sobol indices: fewer than two of {output.dropped} base samples are complete.",
            "  ", "warning", first="  ",
        )  # fmt: skip


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
