"""Movement and strain of the bone ends under every load, against windows."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from frames.assumptions import Assumption, assumed
from frames.casefile import Bone, Case, CaseError, Problem
from frames.caution import CAUTION
from frames.checking import check
from frames.fracture import SIDES
from frames.lines import Line
from frames.moving.cortex import cortex_movement
from frames.moving.windows import BEARINGS, WindowShare, bounds, share_of, windows_of
from frames.result_parts import MOVEMENTS, LoadResult


@dataclass(frozen=True)
class CortexPoint:
    """One side of an edge of the cortex: closing across the fracture plane (opening negative) and
    shift along it, mm; both over the width of the gap, percent."""

    name: str
    closing_mm: float
    shift_mm: float
    axial_strain_percent: float
    shear_strain_percent: float


@dataclass(frozen=True)
class LoadMovement:
    """Under one load, from the tensioned frame on. gap_movement: at the gap's centre; points: the
    four sides of the outer edge of the cortex, inner_points: of the inner edge; closing_mm:
    smallest and largest round the outer edge; shift_mm and strains: the largest there, as sizes;
    windows: share of the outer edge in each. meets_percent: share of the outer edge on which the
    bone ends would pass through each other, as nothing in the case stops them (0 with
    [bone.contact])."""

    name: str
    axial_N: float | None
    gap_movement: dict[str, float]
    points: tuple[CortexPoint, ...]
    inner_points: tuple[CortexPoint, ...]
    closing_mm: tuple[float, float]
    shift_mm: float
    axial_strain_percent: float
    shear_strain_percent: float
    windows: tuple[WindowShare, ...]
    meets_percent: float

    @property
    def meets(self) -> bool:
        """Whether the bone ends would meet somewhere and the model does not stop them."""
        return self.meets_percent > 0.0


@dataclass(frozen=True)
class Movement:
    """All loads; gap_mm across the fracture plane; touching: the case lets the bone ends touch."""

    title: str
    gap_mm: float
    touching: bool
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
    # loads that come and go leave the answers under the others as they are, and take long
    result = check(case.model_copy(update={"history": ()}))
    moved = tuple(_under(case, load) for load in result.loads)
    touching = case.bone.contact is not None
    return Movement(case.case.title, _width(case), touching, moved, _assumptions(case))


def _under(case: Case, load: LoadResult) -> LoadMovement:
    bone = case.bone
    around = cortex_movement(bone, load.gap_movement, BEARINGS, bone.outer_mm / 2.0)
    values = around.measures
    through = around.closing_mm >= around.width_mm
    return LoadMovement(
        load.name,
        load.axial_N,
        load.gap_movement,
        _sides(bone, load, bone.outer_mm / 2.0),
        _sides(bone, load, bone.inner_mm / 2.0),
        (float(around.closing_mm.min()), float(around.closing_mm.max())),
        float(values["shear_mm"].max()),
        float(values["axial_strain_percent"].max()),
        float(values["shear_strain_percent"].max()),
        tuple(share_of(window, values[window.measure]) for window in windows_of(case)),
        100.0 * float(through.mean()) if bone.contact is None else 0.0,
    )


def _sides(bone: Bone, load: LoadResult, radius_mm: float) -> tuple[CortexPoint, ...]:
    at = cortex_movement(bone, load.gap_movement, np.array(list(SIDES.values())), radius_mm)
    axial, shear = (100.0 * w / at.width_mm for w in (at.closing_mm, at.shift_mm))
    numbers = np.stack([at.closing_mm, at.shift_mm, axial, shear], axis=-1).tolist()
    return tuple(CortexPoint(name, *row) for name, row in zip(SIDES, numbers, strict=True))


def _width(case: Case) -> float:
    return cortex_movement(case.bone, dict.fromkeys(MOVEMENTS, 0.0), np.zeros(1), 1.0).width_mm


def _assumptions(case: Case) -> tuple[Assumption, ...]:
    taken = assumed(case, "bone", "ring", "rod", "wire", "pin", "model")
    if case.window:
        return taken
    standard = tuple(
        Assumption(f'window "{w.name}"', bounds(w), w.source or "") for w in windows_of(case)
    )
    return (*standard, *taken)
