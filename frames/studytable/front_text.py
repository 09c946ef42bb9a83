"""The Pareto front as text: a line for each design, best in the first aim first."""

from collections.abc import Iterator, Sequence
from textwrap import wrap

from frames.lines import WIDTH, Line, heading, number, short, table, wrapped
from frames.studytable.columns import Column, Columns
from frames.studytable.front import Aim, Front
from frames.studytable.grouping import shown

_MOST_ON_FRONT = 20
_COLUMN = 9  # letters of a column


def front_lines(columns: Columns, front: Front | None) -> Iterator[Line]:
    """The front as a table, or why there is none."""
    if front is None:
        yield from heading("Pareto front")
        said = (
            "None: it needs two outputs at least, of axial_N_per_mm, wires and mass_g, or named "
            "with --more and --less."
        )
        yield from wrapped(said, "  ", "faint", first="  ")
        return
    yield from heading("Pareto front: designs that no other beats")
    aims = "; ".join(f"{a.text} {'more' if a.more else 'less'} is better" for a in front.aims)
    said = (
        f"{aims[:1].upper()}{aims[1:]}. {len(front.designs)} of {front.compared} designs are on it."
    )
    yield from wrapped(said, "  ", "", first="  ")
    parameters = [i for i, x in enumerate(columns.x) if len(set(x.tolist())) > 1]
    fit = max(1, (WIDTH - 8) // (_COLUMN + 2) - len(front.aims))
    shown_columns: list[Aim | Column] = [
        *front.aims,
        *(columns.parameters[i] for i in parameters[:fit]),
    ]
    headers = _headers([c.label for c in shown_columns], [c.unit for c in shown_columns])
    rows = [
        (
            str(d),
            *(_value(float(columns.y[d, a.column])) for a in front.aims),
            *(short(shown(columns.x[i][d]), _COLUMN) for i in parameters[:fit]),
        )
        for d in front.designs[:_MOST_ON_FRONT]
    ]
    yield from table([*headers, *rows], len(headers))
    left = []
    if (more := len(front.designs) - _MOST_ON_FRONT) > 0:
        left.append(f"{more} more designs")
    if len(parameters) > fit:
        names = (columns.parameters[i].name for i in parameters[fit:])
        left.append(", ".join(f'"{n}"' for n in names) + " of each design")
    if left:
        yield from wrapped(f"In the file of --json: {'; '.join(left)}.", "  ", "faint", first="  ")


def _value(value: float) -> str:
    return f"{value:.0f}" if value == round(value) else number(value)


def _headers(labels: Sequence[str], units: Sequence[str]) -> list[tuple[str, ...]]:
    """Labels folded into lines above each other, units below them."""
    folded = [
        [short(w, _COLUMN) for w in wrap(text, _COLUMN, break_long_words=False)] for text in labels
    ]
    height = max(len(f) for f in folded)
    rows = [[""] for k in range(height)]
    for lines in folded:
        for k in range(height):
            rows[k].append(lines[k - height + len(lines)] if k >= height - len(lines) else "")
    rows[-1][0] = "design"
    return [*(tuple(r) for r in rows), ("", *units)]
