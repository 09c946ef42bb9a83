"""Movement and strain of the bone ends under every load, against windows."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from frames.assumptions import Assumption, assumed
from frames.casefile import Case, CaseError, Problem
from frames.caution import CAUTION
from frames.checking import check
from frames.fracture import SIDES
from frames.lines import Line
from frames.moving.cortex import cortex_movement
from frames.moving.windows import BEARINGS, WindowShare, share_of, windows_of
from frames.result_parts import MOVEMENTS, LoadResult


@dataclass(frozen=True)
class CortexPoint:
    """One side of the outer edge of the cortex: closing across the fracture plane (opening
    negative) and shift along it, mm; both over the width of the gap, percent."""

    name: str
    closing_mm: float
    shift_mm: float
    axial_strain_percent: float
    shear_strain_percent: float


@dataclass(frozen=True)
class LoadMovement:
    """Under one load, from the tensioned frame on. gap_movement: at the gap's centre; points: the
    four sides; windows: share of the cortex in each; meets: the model's gap is open and the bone
    ends would touch somewhere round the cortex."""

    name: str
    axial_N: float | None
    gap_movement: dict[str, float]
    points: tuple[CortexPoint, ...]
    windows: tuple[WindowShare, ...]
    meets: bool


@dataclass(frozen=True)
class Movement:
    """All loads; gap_mm across the fracture plane."""

    title: str
    gap_mm: float
    loads: tuple[LoadMovement, ...]
    assumptions: tuple[Assumption, ...]

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file."""
        return {"format": "tautring movement", "version": 1, **asdict(self), "caution": CAUTION}

    def lines(self) -> Iterator[Line]:
        """As text."""
        from frames.moving.text import movement_lines

        return movement_lines(self)


def movement(case: Case) -> Movement:
    """Raises ``CaseError`` for a case without loads, ``FemError`` when it cannot be solved."""
    if not case.load:
        raise CaseError([Problem("load", "the case has no [[load]], so nothing moves; write one")])
    moved = tuple(_under(case, load) for load in check(case).loads)
    width = _width(case)
    return Movement(case.case.title, width, moved, _assumptions(case))


def _under(case: Case, load: LoadResult) -> LoadMovement:
    bone, r = case.bone, case.bone.outer_mm / 2.0
    around = cortex_movement(bone, load.gap_movement, BEARINGS, r)
    sides = cortex_movement(bone, load.gap_movement, np.array(list(SIDES.values())), r)
    axial, shear = (100.0 * w / sides.width_mm for w in (sides.closing_mm, sides.shift_mm))
    numbers = np.stack([sides.closing_mm, sides.shift_mm, axial, shear], axis=-1).tolist()
    points = tuple(CortexPoint(name, *row) for name, row in zip(SIDES, numbers, strict=True))
    values = around.measures
    shares = tuple(share_of(window, values[window.measure]) for window in windows_of(case))
    open_gap = bone.contact is None and bone.callus is None
    meets = open_gap and bool(around.closing_mm.max() >= around.width_mm)
    return LoadMovement(load.name, load.axial_N, load.gap_movement, points, shares, meets)


def _width(case: Case) -> float:
    return cortex_movement(case.bone, dict.fromkeys(MOVEMENTS, 0.0), np.zeros(1), 1.0).width_mm


def _assumptions(case: Case) -> tuple[Assumption, ...]:
    taken = assumed(case, "bone", "ring", "rod", "wire", "pin", "model")
    if case.window:
        return taken
    standard = tuple(
        Assumption(f'window "{w.name}"', _bounds(w.at_least, w.at_most, w.measure), w.source or "")
        for w in windows_of(case)
    )
    return (*standard, *taken)


def _bounds(low: float | None, high: float | None, measure: str) -> str:
    unit = "%" if measure.endswith("percent") else "mm"
    if low is None:
        return f"up to {high:g} {unit}"
    return f"from {low:g} {unit}" if high is None else f"{low:g} to {high:g} {unit}"
