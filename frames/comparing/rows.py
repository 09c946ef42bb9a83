"""Numbers and targets of frames side by side.

Loads go by their name: a row stands for every load that at least two frames have. Where loads of
the same name differ, the differences between the case files say so.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from frames.quantities import QUANTITIES, STIFFNESSES
from frames.result import Result, quantity
from frames.result_parts import TargetResult

UNDER_LOAD = (
    "closing_mm",
    "shear_mm",
    "wire_tension_min_N",
    "wire_peak_stress_MPa",
    "pin_peak_stress_MPa",
    "bone_share_percent",
)
"""Quantities shown under every load; one that no frame has is left out."""

_NIL = 1e-9


@dataclass(frozen=True)
class Row:
    """One number of all frames. load: None for the frame without load; values: None where a frame
    has none; change_percent: against the first frame's size, None where either has no value or the
    first one's is nil."""

    quantity: str
    load: str | None
    unit: str
    values: tuple[float | None, ...]
    change_percent: tuple[float | None, ...]

    @property
    def name(self) -> str:
        """What the row is about, for files."""
        return self.quantity if self.load is None else f"{self.load}, {self.quantity}"


@dataclass(frozen=True)
class TargetRow:
    """A target: label, unit, bounds; how each frame does, None where its case does not set it."""

    label: str
    unit: str
    at_least: float | None
    at_most: float | None
    results: tuple[TargetResult | None, ...]


def number_rows(results: Sequence[Result | None]) -> Iterator[Row]:
    """Stiffness without load, then the rows of every load; None for a frame without a result."""
    for name in STIFFNESSES:
        yield _row(name, None, results)
    solved = [r for r in results if r is not None]
    names = [load.name for r in solved for load in r.loads]
    for load in dict.fromkeys(names):
        if names.count(load) >= min(2, len(solved)):
            rows = [_row(name, load, results) for name in UNDER_LOAD]
            yield from (row for row in rows if any(v is not None for v in row.values))


def _row(name: str, load: str | None, results: Sequence[Result | None]) -> Row:
    values = tuple(_value(r, name, load) for r in results)
    first = values[0]
    change = tuple(
        None
        if v is None or first is None or abs(first) < _NIL
        else 100.0 * (v - first) / abs(first)
        for v in values
    )
    return Row(name, load, QUANTITIES[name].unit, values, change)


def _value(result: Result | None, name: str, load: str | None) -> float | None:
    if result is None:
        return None
    try:
        return quantity(result, name, load)
    except KeyError:
        return None


def target_rows(results: Sequence[Result | None]) -> Iterator[TargetRow]:
    """Every target that a case sets, the same ones together."""
    own = [
        {} if r is None else {(t.label, t.at_least, t.at_most): t for t in r.targets}
        for r in results
    ]
    for key in dict.fromkeys(key for targets in own for key in targets):
        found = tuple(targets.get(key) for targets in own)
        unit = next(QUANTITIES[t.quantity].unit for t in found if t is not None)
        yield TargetRow(key[0], unit, key[1], key[2], found)
