"""Movement and strain as text."""

from collections.abc import Iterator

from frames.assumptions import assumption_lines
from frames.caution import CAUTION
from frames.lines import Line, heading, short, table, wrapped
from frames.moving.movement import LoadMovement, Movement
from frames.moving.windows import WindowShare


def movement_lines(answer: Movement) -> Iterator[Line]:
    """The four sides of the cortex under each load, then the windows, then what was assumed."""
    yield from wrapped(answer.title, "", "heading")
    yield from heading(
        f"How far the bone ends close under load (gap {answer.gap_mm:.2f} mm wide), mm"
    )
    yield from table(list(_closing(answer)), header=2)
    yield Line("  Opening is negative; strain is movement over the width of the gap.", "faint")
    yield from heading("Share of the cortex (outer edge) inside each window")
    yield from table(list(_shares(answer)), header=2)
    for load in answer.loads:
        yield from wrapped(_said(load), "    ", "warning" if load.meets else "", first="  ")
    yield from assumption_lines(answer.assumptions)
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")


def _closing(answer: Movement) -> Iterator[list[str]]:
    names = [p.name for p in answer.loads[0].points]
    yield ["load", *names, "sideways", "strain, largest", ""]
    yield ["", *["mm"] * len(names), "mm", "axial", "shear"]
    for load in answer.loads:
        axial = max(abs(p.axial_strain_percent) for p in load.points)
        shear = max(p.shear_strain_percent for p in load.points)
        sideways = max(p.shift_mm for p in load.points)
        yield [
            short(load.name, 14),
            *[f"{p.closing_mm:.2f}" for p in load.points],
            f"{sideways:.2f}",
            f"{axial:.0f} %",
            f"{shear:.0f} %",
        ]


def _shares(answer: Movement) -> Iterator[list[str]]:
    shown = answer.loads[-4:]
    yield ["window", "bounds", *[short(load.name, 11) for load in shown]]
    yield ["", "", *["inside"] * len(shown)]
    for i, window in enumerate(answer.loads[0].windows):
        inside = [f"{load.windows[i].inside_percent:.0f} %" for load in shown]
        yield [short(window.name, 26), _bounds(window), *inside]


def _bounds(window: WindowShare) -> str:
    unit = "%" if window.measure.endswith("percent") else "mm"
    low, high = window.at_least, window.at_most
    if low is None:
        return f"to {high:g} {unit}"
    return f"from {low:g} {unit}" if high is None else f"{low:g}-{high:g} {unit}"


def _said(load: LoadMovement) -> str:
    if load.meets:
        return (
            f"{load.name}: the bone ends would meet. The model keeps the gap open and shows more "
            "movement than a leg whose bone ends carry their share ([bone.contact] lets them)."
        )
    first = load.windows[0]
    sizes = f"{first.smallest:.2f} to {first.largest:.2f}"
    unit = "%" if first.measure.endswith("percent") else "mm"
    if first.inside_percent > 99.9:
        where = "inside it all round the cortex"
    elif first.above_percent > 99.9:
        where = "more than it all round the cortex"
    elif first.below_percent > 99.9:
        where = "less than it all round the cortex"
    else:
        parts = [
            f"{share:.0f} % of the cortex {word}"
            for share, word in (
                (first.inside_percent, "inside"),
                (first.below_percent, "below"),
                (first.above_percent, "above"),
            )
            if share >= 0.5
        ]
        where = ", ".join(parts)
    return f"{load.name}: {sizes} {unit} against the window {first.name!r}: {where}."
