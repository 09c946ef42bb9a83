"""A comparison as a sheet of bars."""

from frames.comparing.comparison import Comparison
from frames.comparing.rows import Row
from frames.comparing.text import SHORT, percent_text
from frames.picture.bar_sheet import BarPanel, BarSheet

_SHOWN = ("closing_mm", "wire_tension_min_N", "wire_peak_stress_MPa", "pin_peak_stress_MPa")
_MOST_LOADS = 4


def bar_sheet(answer: Comparison) -> BarSheet:
    """Stiffness, and of the first loads closing, tension and stress."""
    first = answer.frames[0].letter
    loads = list(dict.fromkeys(row.load for row in answer.rows if row.load is not None))
    sections = [("Stiffness at the gap, without load", _panels(answer, None))]
    sections += [(f"Under “{load}”", _panels(answer, load)) for load in loads[:_MOST_LOADS]]
    note = f"Percent: difference to {first}. Every bar begins at zero."
    if len(loads) > _MOST_LOADS:
        note += f" {len(loads) - _MOST_LOADS} more loads are in the table."
    note += " A calculation aid for trained people; the licensed clinician in charge decides."
    return BarSheet(
        f"{len(answer.frames)} frames side by side",
        tuple((c.letter, _said(c.name, c.title, c.verdict)) for c in answer.frames),
        tuple(sections),
        note,
    )


def _said(name: str, title: str, verdict: str) -> str:
    return f"{name}: {title} ({verdict})"


def _panels(answer: Comparison, load: str | None) -> tuple[BarPanel, ...]:
    rows = [row for row in answer.rows if row.load == load]
    return tuple(_panel(row) for row in rows if load is None or row.quantity in _SHOWN)


def _panel(row: Row) -> BarPanel:
    remarks = ["", *(percent_text(p) if p is not None else "" for p in row.change_percent[1:])]
    title = f"{SHORT[row.quantity]}, {row.unit}"
    return BarPanel(title, row.values, tuple(remarks))
