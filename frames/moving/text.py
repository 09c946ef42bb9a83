"""Movement and strain as text."""

from collections.abc import Iterator

from frames.assumptions import assumption_lines
from frames.caution import CAUTION
from frames.lines import Line, heading, short, table, wrapped
from frames.moving.movement import LoadMovement, Movement
from frames.moving.windows import bounds

_NOTES = (
    "Outer edge of the cortex, from the tensioned frame on to the load; opening is negative. "
    "Closing is across the fracture plane, the shift along it (its largest). Strain is movement "
    "over the width of the gap as the case gives it."
)
_SHARES = "By the length of the cortex's outer edge. Movement and strain count as sizes."
_THROUGH = (
    "Nothing in the case stops them there, so the movement shown is more than a leg's, and it is "
    "held against no window. [bone.contact] in the case lets the ends touch and carry their share."
)
_ROUND = " all round the cortex"
_HALF = 0.05  # percent, least share that is told


def movement_lines(answer: Movement) -> Iterator[Line]:
    """The four sides of the cortex under each load, then the windows, then what was assumed."""
    yield from wrapped(answer.title, "", "heading")
    yield from heading(f"How far the bone ends close under load (gap {answer.gap_mm:.2f} mm wide)")
    yield from table(list(_closing(answer)), header=2)
    yield from wrapped(_NOTES, "  ", "faint", first="  ")
    yield from heading("How much of the cortex lies inside, below and above each window")
    clear = [load for load in answer.loads if not load.meets]
    if clear:
        yield from table(list(_shares(clear)), header=2)
        yield from wrapped(_SHARES, "  ", "faint", first="  ")
    else:
        yield Line("  None is told: the bone ends would meet under every load.")
    yield from heading("In words")
    for load in clear:
        yield from wrapped(f"{load.name}: {_said(load)}", "    ", "", first="  ")
    if met := [load for load in answer.loads if load.meets]:
        where = "; ".join(f"{load.name}: the bone ends would meet {_met(load)}" for load in met)
        yield from wrapped(f"{where}. {_THROUGH}", "    ", "warning", first="  ")
    yield from assumption_lines(answer.assumptions)
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")


def _closing(answer: Movement) -> Iterator[list[str]]:
    names = [p.name for p in answer.loads[0].points]
    yield ["load", *names, "shift", "strain, largest", ""]
    yield ["", *["mm"] * len(names), "mm", "axial", "shear"]
    for load in answer.loads:
        yield [
            short(load.name, 20),
            *[_size(p.closing_mm) for p in load.points],
            _size(load.shift_mm),
            f"{load.axial_strain_percent:.0f} %",
            f"{load.shear_strain_percent:.0f} %",
        ]


def _size(value: float) -> str:
    """mm with two decimals, no minus before a zero."""
    return f"{round(value, 2) + 0.0:.2f}"


def _shares(loads: list[LoadMovement]) -> Iterator[list[str]]:
    yield ["window", "bounds", "inside", "below", "above"]
    yield ["", "", "%", "%", "%"]
    for load in loads:
        yield [short(load.name, 40), "", "", "", ""]
        for window in load.windows:
            yield [
                f"  {short(window.name, 36)}",
                bounds(window),
                f"{window.inside_percent:.0f}",
                "-" if window.at_least is None else f"{window.below_percent:.0f}",
                "-" if window.at_most is None else f"{window.above_percent:.0f}",
            ]


def _met(load: LoadMovement) -> str:
    return _where(load.meets_percent)


def _said(load: LoadMovement) -> str:
    said = (
        f"{_moves(load)} (strain up to {load.axial_strain_percent:.0f} %) and shifts by up to "
        f"{load.shift_mm:.2f} mm ({load.shear_strain_percent:.0f} % of its width)."
    )
    for title, of in (
        ("Inside the window", lambda w: w.inside_percent),
        ("Below it", lambda w: w.below_percent),
        ("Above it", lambda w: w.above_percent),
    ):
        told = [f"{w.name} {_where(of(w))}" for w in load.windows if of(w) >= _HALF]
        if told:
            said += f" {title}: {_shared(told)}."
    shear = any(w.measure.startswith("shear") for w in load.windows)
    if not shear and load.shear_strain_percent > load.axial_strain_percent:
        said += " The shift is the larger of the two, and no window bounds it."
    return said


def _shared(told: list[str]) -> str:
    """Names joined by commas; what all have in common, that it is all round, is said once."""
    if all(t.endswith(_ROUND) for t in told):
        return ", ".join(t.removesuffix(_ROUND) for t in told) + _ROUND
    return ", ".join(told)


def _moves(load: LoadMovement) -> str:
    low, high = (round(v, 2) + 0.0 for v in load.closing_mm)
    if low == high:
        return f"the gap {'opens' if high < 0.0 else 'closes'} by {abs(high):.2f} mm all round"
    if high <= 0.0:
        return f"the gap opens by {-high:.2f} to {-low:.2f} mm"
    if low < 0.0:
        return f"the gap closes by up to {high:.2f} mm and opens by up to {-low:.2f} mm"
    return f"the gap closes by {low:.2f} to {high:.2f} mm"


def _where(share: float) -> str:
    if share >= 100.0 - _HALF:
        return _ROUND.strip()
    return f"on {share:.0f} % of the cortex" if share >= 1.0 else "on less than 1 % of the cortex"
