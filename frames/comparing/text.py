"""A comparison as text: verdicts, numbers with bars, what differs."""

from collections.abc import Iterator

from frames.caution import CAUTION
from frames.comparing.comparison import Comparison, Row
from frames.lines import Line, heading, number, short, table, wrapped

ACROSS = 3
"""So many frames stand side by side; more follow below."""
BAR = 30
MOST_CHANGES = 12


def comparison_lines(answer: Comparison) -> Iterator[Line]:
    """The whole comparison."""
    yield from heading("Frames compared")
    for i, f in enumerate(answer.frames, start=1):
        mood = (
            "" if f.verdict == "no targets" else "good" if f.verdict == "meets targets" else "bad"
        )
        said = f.verdict
        if f.unsolved is None and f.targets:
            said += f" ({f.targets - f.missed} of {f.targets})"
        yield from wrapped(f"{i}  {f.name}: {said}", "     ", mood, first="  ")
        if f.unsolved is not None:
            yield from wrapped(f.unsolved, "     ", "bad", first="     ")
    rest = range(1, len(answer.frames))
    blocks = [[0, *rest[k : k + ACROSS - 1]] for k in range(0, len(rest), ACROSS - 1)]
    for block in blocks:
        yield from _numbers(answer, block)
    yield from _bars(answer)
    yield from _changes(answer)
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")


def _numbers(answer: Comparison, block: list[int]) -> Iterator[Line]:
    load: str | None = ""
    for row in answer.rows:
        if row.load != load:
            load = row.load
            title = "Stiffness at the gap, no load yet" if load is None else f"Under {load!r}"
            yield from heading(title)
            rows = [r for r in answer.rows if r.load == load]
            heads = [
                "",
                "",
                *[c for i in block for c in ((f"frame {i + 1}",) + (("",) if i else ()))],
            ]
            yield from table([heads, *[_cells(r, block) for r in rows]], header=1)


def _cells(row: Row, block: list[int]) -> list[str]:
    cells = [short(row.label, 30), row.unit]
    for i in block:
        value, change = row.values[i], row.change_percent[i]
        cells.append("-" if value is None else number(value))
        if i:
            cells.append("" if change is None else f"{round(change) + 0:+d} %")
    return cells


def _bars(answer: Comparison) -> Iterator[Line]:
    """The stiffness along the bone as bars."""
    row = next((r for r in answer.rows if r.quantity == "axial_N_per_mm"), None)
    if row is None:
        return
    yield from heading("Axial stiffness, N/mm")
    most = max((v for v in row.values if v is not None), default=0.0)
    for i, value in enumerate(row.values, start=1):
        name = short(answer.frames[i - 1].name, 24)
        length = 0 if value is None or most <= 0.0 else round(BAR * max(value, 0.0) / most)
        shown = "not solved" if value is None else number(value)
        yield Line(f"  {i:>2} {name:<24} {'█' * length:<{BAR}} {shown}".rstrip())


def _changes(answer: Comparison) -> Iterator[Line]:
    for i, f in enumerate(answer.frames[1:], start=2):
        yield from heading(f"What frame {i} has other than frame 1")
        if not f.changes:
            yield Line("  nothing")
            continue
        rows = [[short(c.where, 36), short(c.first, 18), short(c.other, 18)] for c in f.changes]
        yield from table([["", "frame 1", f"frame {i}"], *rows[:MOST_CHANGES]], header=1)
        if len(rows) > MOST_CHANGES:
            yield Line(f"  and {len(rows) - MOST_CHANGES} more, in the JSON file")
