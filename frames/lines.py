"""Lines of text for a terminal of 80 columns: headings, wrapped words, tables, numbers.

A line carries a mood (heading, good, bad, warning, faint) that a terminal may colour; the words
alone say everything.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from textwrap import wrap

WIDTH = 80


@dataclass(frozen=True)
class Line:
    """One line of text; mood: "", "heading", "good", "bad", "warning" or "faint"."""

    text: str
    mood: str = ""


def heading(text: str) -> Iterator[Line]:
    """An empty line and a heading."""
    yield Line("")
    yield Line(text, "heading")


def wrapped(text: str, indent: str, mood: str, first: str = "") -> Iterator[Line]:
    """Text broken into lines of the page's width."""
    for line in wrap(text, WIDTH, initial_indent=first, subsequent_indent=indent):
        yield Line(line, mood)


def table(rows: Sequence[Sequence[str]], header: int) -> Iterator[Line]:
    """Columns as wide as they need to be; first one to the left, the others to the right."""
    widths = [
        max(len(r[i]) for r in rows if r[i] or i == 0) if _column(rows, i) else 0
        for i in range(len(rows[0]))
    ]
    for i, row in enumerate(rows[:header]):
        # a header over two columns: its right neighbour is empty
        for j in range(len(row) - 1):
            if i == 0 and row[j] and row[j + 1] == "" and j > 0:
                own = max(len(r[j]) for r in rows[1:])
                widths[j] = max(own, len(row[j]) - 2 - max(len(r[j + 1]) for r in rows[1:]))
    for i, row in enumerate(rows):
        cells = []
        j = 0
        while j < len(row):
            wide = i == 0 and j + 1 < len(row) and j > 0 and row[j] and row[j + 1] == ""
            width = widths[j] + (2 + widths[j + 1] if wide else 0)
            cells.append(row[j].ljust(width) if j == 0 else row[j].rjust(width))
            j += 2 if wide else 1
        yield Line(("  " + "  ".join(cells)).rstrip(), "faint" if i < header else "")


def _column(rows: Iterable[Sequence[str]], i: int) -> bool:
    return any(r[i] for r in rows)


def short(text: str, most: int) -> str:
    """Text cut to so many characters."""
    return text if len(text) <= most else text[: most - 1] + "…"


def number(value: float) -> str:
    """Three or four significant digits, without exponent in the usual range."""
    size = abs(value)
    if size >= 1000 or size == 0:
        return f"{value:.0f}"
    if size >= 100:
        return f"{value:.1f}"
    if size >= 1:
        return f"{value:.2f}"
    return f"{value:.3f}" if size >= 0.01 else f"{value:.2g}"
