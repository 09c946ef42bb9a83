"""A frame that the search proposes, confirmed: the case as it would be written, checked and fitted
afresh."""

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from frames.casefile import Case, case_from_text, case_to_toml
from frames.checking import check
from frames.fitting import fit
from frames.outputs import margin_percent
from frames.result_parts import TargetResult
from frames.searching.layout import Layer
from frames.searching.margins import Bounds
from frames.searching.refining import Point
from frames.searching.worst_case import taken_by_tolerances


@dataclass(frozen=True)
class LaidWire:
    """A wire of a frame: bearing in degrees, diameter in mm, tension in kgf."""

    name: str
    ring: str
    face: str
    bearing_deg: float
    diameter_mm: float
    tension_kgf: float


@dataclass(frozen=True)
class Candidate:
    """case; its wires; targets as ``check`` judges them; margin_percent: the smallest of all, in
    percent of its bound; worst_case_percent: the same less what the tolerances of the case can
    take; misfits: what ``fit`` finds, in sentences."""

    case: Case
    wires: tuple[LaidWire, ...]
    targets: tuple[TargetResult, ...]
    margin_percent: float
    worst_case_percent: float
    misfits: tuple[str, ...]

    @property
    def meets(self) -> bool:
        """All targets, with all that tolerances can take."""
        return all(t.meets for t in self.targets) and self.worst_case_percent >= 0.0

    def to_dict(self) -> dict[str, Any]:
        """Plain data, with the case as text."""
        return {
            "wires": [asdict(w) for w in self.wires],
            "targets": [asdict(t) for t in self.targets],
            "meets": self.meets,
            "margin_percent": self.margin_percent,
            "worst_case_percent": self.worst_case_percent,
            "misfits": list(self.misfits),
            "case": case_to_toml(self.case),
        }


def candidate(layer: Layer, point: Point, bounds: Bounds) -> Candidate:
    """Confirm a point. Raises ``FemError`` when its frame cannot be solved."""
    laid = layer.lay(point.layout, point.diameter_mm, point.tensions_kgf)
    case = case_from_text(case_to_toml(laid))
    targets = check(case).targets
    margins = [margin_percent(t) for t in targets]
    by_quantity = {(t.quantity, t.load): t.value for t in targets}
    values = np.array([by_quantity[a] for a in bounds.asked])
    worst = (bounds.margins(values) - taken_by_tolerances(case, bounds)).min()
    return Candidate(
        case,
        tuple(
            LaidWire(w.name, w.ring, w.face or "", w.bearing_deg, w.diameter_mm, float(t))
            for w, t in zip(case.wire, point.tensions_kgf, strict=True)
        ),
        targets,
        min(margins),
        100.0 * float(worst),
        tuple(p.message for p in fit(case).problems),
    )
