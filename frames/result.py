"""The result of a check, and its files.  Keys carry their units; nothing in it is a NaN or
infinite."""

import csv
import io
import json
from dataclasses import asdict, dataclass
from importlib.metadata import PackageNotFoundError, version
from typing import Any

import numpy as np

from fem.algebra import Array
from frames.caution import CAUTION
from frames.findings import Finding
from frames.quantities import QUANTITIES

FORMAT = "tautring result"
FORMAT_VERSION = 1
MOVEMENTS = (
    "anterior_mm",
    "medial_mm",
    "axial_mm",
    "about_anterior_deg",
    "about_medial_deg",
    "about_axis_deg",
)


@dataclass(frozen=True)
class WireResult:
    """tension_N; peak_stress_MPa: tension plus bending, elastic; slack: no tension left."""

    name: str
    tension_N: float
    peak_stress_MPa: float
    slack: bool


@dataclass(frozen=True)
class LoadResult:
    """Movement of the proximal against the distal face at the gap's centre, from pretension on
    (axial_mm negative when the gap closes, closing_mm its opposite); secant and tangent stiffness;
    wires under the load."""

    name: str
    axial_N: float | None
    gap_movement: dict[str, float]
    closing_mm: float
    shear_mm: float
    secant: dict[str, float]
    tangent: dict[str, float]
    wires: tuple[WireResult, ...]
    iterations: int
    equilibrium_error: float
    energy_error: float


@dataclass(frozen=True)
class TargetResult:
    """meets, and margin: how far the value lies inside its nearest bound (negative: short by so
    much)."""

    quantity: str
    load: str | None
    label: str
    value: float
    at_least: float | None
    at_most: float | None
    meets: bool
    margin: float


@dataclass(frozen=True)
class PretensionedWire:
    """tension_N as set; tone_Hz: tap tone of start and end leg; peak stress at pretension."""

    name: str
    ring: str
    tension_N: float
    tone_Hz: tuple[float, float]
    peak_stress_MPa: float


@dataclass(frozen=True)
class Result:
    """All answers of one check.  matrix: (6, 6) stiffness, N, mm, rad; anterior, medial, proximal,
    then rotations."""

    title: str
    side: str
    verdict: str
    stiffness: dict[str, float]
    matrix: Array
    loads: tuple[LoadResult, ...]
    wires: tuple[PretensionedWire, ...]
    targets: tuple[TargetResult, ...]
    warnings: tuple[Finding, ...]
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
            "loads": [asdict(r) for r in self.loads],
            "wires": [asdict(w) for w in self.wires],
            "targets": [asdict(t) for t in self.targets],
            "warnings": [asdict(w) for w in self.warnings],
            "caution": CAUTION,
        }

    def to_json(self) -> str:
        """The result file's text."""
        return json.dumps(self.to_dict(), indent=2, ensure_ascii=False, allow_nan=False) + "\n"

    def to_csv(self) -> str:
        """Every number as a row: what, load, part, quantity (with its unit), value."""
        out = io.StringIO()
        table = csv.writer(out, lineterminator="\n")
        table.writerow(["what", "load", "part", "quantity", "value"])
        for name, value in self.stiffness.items():
            table.writerow(["stiffness", "", "", name, repr(value)])
        for w in self.wires:
            table.writerow(["wire", "", w.name, "tension_N", repr(w.tension_N)])
            table.writerow(["wire", "", w.name, "tone_start_Hz", repr(w.tone_Hz[0])])
            table.writerow(["wire", "", w.name, "tone_end_Hz", repr(w.tone_Hz[1])])
            table.writerow(["wire", "", w.name, "peak_stress_MPa", repr(w.peak_stress_MPa)])
        for r in self.loads:
            rows = {**r.gap_movement, "closing_mm": r.closing_mm, "shear_mm": r.shear_mm}
            for name, value in rows.items():
                table.writerow(["movement", r.name, "", name, repr(value)])
            for kind, values in (("secant", r.secant), ("tangent", r.tangent)):
                for name, value in values.items():
                    table.writerow([kind, r.name, "", name, repr(value)])
            for v in r.wires:
                table.writerow(["wire", r.name, v.name, "tension_N", repr(v.tension_N)])
                table.writerow(["wire", r.name, v.name, "peak_stress_MPa", repr(v.peak_stress_MPa)])
        for t in self.targets:
            table.writerow(["target", t.load or "", "", t.quantity, repr(t.value)])
            table.writerow(["target margin", t.load or "", "", t.quantity, repr(t.margin)])
        return out.getvalue()


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
    tensions = [w.tension_N for w in under.wires]
    values = {
        "secant_axial_N_per_mm": under.secant.get("axial_N_per_mm"),
        "closing_mm": under.closing_mm,
        "shear_mm": under.shear_mm,
        "wire_tension_min_N": min(tensions),
        "wire_tension_max_N": max(tensions),
        "wire_peak_stress_MPa": max(w.peak_stress_MPa for w in under.wires),
    }
    value = values[name]
    if value is None:
        raise KeyError(f"{QUANTITIES[name].label} has no value under {load!r}")
    return float(value)


def plain(value: Any) -> float:
    """A Python float of a numpy one, with negative zero made zero."""
    return float(np.asarray(value)) + 0.0
