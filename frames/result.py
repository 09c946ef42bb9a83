"""The result of a check, and its files.  Keys carry their units; nothing in it is a NaN or
infinite."""

import json
from dataclasses import asdict, dataclass
from importlib.metadata import PackageNotFoundError, version
from typing import Any

import numpy as np

from fem.algebra import Array
from frames.assumptions import Assumption
from frames.caution import CAUTION
from frames.findings import Finding
from frames.quantities import QUANTITIES
from frames.result_parts import (
    MOVEMENTS,
    HistoryResult,
    LoadResult,
    NutTurnResult,
    PretensionedWire,
    StageResult,
    TargetResult,
    Touch,
    WireResult,
)
from frames.result_table import result_table

__all__ = ["MOVEMENTS", "LoadResult", "Result", "WireResult", "plain", "quantity"]

FORMAT = "tautring result"
FORMAT_VERSION = 1


@dataclass(frozen=True)
class Result:
    """All answers of one check.  matrix: (6, 6) stiffness, N, mm, rad; anterior, medial, proximal,
    then rotations. touches: which side of the fracture meets from which load; tensioning: its
    stages where tensions are dialled; nut_turns done; histories: loads that came and went;
    sticking: something rubs (wires in the bone, fracture faces), and the stiffness without load is
    that of movements so small that it sticks; assumptions: what the case leaves to its default."""

    title: str
    side: str
    verdict: str
    stiffness: dict[str, float]
    matrix: Array
    loads: tuple[LoadResult, ...]
    wires: tuple[PretensionedWire, ...]
    targets: tuple[TargetResult, ...]
    warnings: tuple[Finding, ...]
    touches: tuple[Touch, ...] = ()
    tensioning: tuple[StageResult, ...] = ()
    nut_turns: tuple[NutTurnResult, ...] = ()
    histories: tuple[HistoryResult, ...] = ()
    sticking: bool = False
    assumptions: tuple[Assumption, ...] = ()
    file: str | None = None
    sha256: str | None = None

    @property
    def meets(self) -> bool:
        """No target is missed."""
        return all(t.meets for t in self.targets)

    def load(self, name: str) -> LoadResult:
        """The answers under one load."""
        found = {r.name: r for r in self.loads}
        if name not in found:
            raise KeyError(f"no load is called {name!r}; there are {', '.join(found) or 'none'}")
        return found[name]

    def to_dict(self) -> dict[str, Any]:
        """The result file's content."""
        return {
            "format": FORMAT,
            "version": FORMAT_VERSION,
            "case": {
                "title": self.title,
                "side": self.side,
                "file": self.file,
                "sha256": self.sha256,
            },
            "software": {"name": "tautring", "version": software_version()},
            "verdict": self.verdict,
            "stiffness": {**self.stiffness, "matrix": self.matrix.tolist()},
            "sticking": self.sticking,
            "loads": [asdict(r) for r in self.loads],
            "wires": [asdict(w) for w in self.wires],
            "touches": [asdict(t) for t in self.touches],
            "tensioning": [asdict(t) for t in self.tensioning],
            "nut_turns": [asdict(t) for t in self.nut_turns],
            "histories": [asdict(t) for t in self.histories],
            "targets": [asdict(t) for t in self.targets],
            "warnings": [asdict(w) for w in self.warnings],
            "assumptions": [asdict(a) for a in self.assumptions],
            "caution": CAUTION,
        }

    def to_json(self) -> str:
        """The result file's text."""
        return json.dumps(self.to_dict(), indent=2, ensure_ascii=False, allow_nan=False) + "\n"

    def to_csv(self) -> str:
        """Every number as a row (``frames.result_table``)."""
        return result_table(self.to_dict())


def software_version() -> str:
    """Version of the installed distribution."""
    try:
        return version("tautring")
    except PackageNotFoundError:
        return "not installed"


def quantity(result: Result, name: str, load: str | None) -> float:
    """Value of a quantity that a target can name; ``load`` None: the frame without load."""
    if load is None:
        return result.stiffness[name]
    under = result.load(load)
    if name in under.tangent:
        return under.tangent[name]
    values = {
        "secant_axial_N_per_mm": under.secant.get("axial_N_per_mm"),
        "closing_mm": under.closing_mm,
        "shear_mm": under.shear_mm,
        "wire_tension_min_N": min((min(w.legs_N) for w in under.wires), default=None),
        "wire_tension_max_N": max((w.tension_N for w in under.wires), default=None),
        "wire_peak_stress_MPa": max((w.peak_stress_MPa for w in under.wires), default=None),
        "pin_peak_stress_MPa": max((p.peak_stress_MPa for p in under.pins), default=None),
        "bone_share_percent": under.bone_share_percent,
    }
    value = values[name]
    if value is None:
        raise KeyError(f"{QUANTITIES[name].label} has no value under {load!r}")
    return float(value)


def plain(value: Any) -> float:
    """A Python float of a numpy one, with negative zero made zero."""
    return float(np.asarray(value)) + 0.0
