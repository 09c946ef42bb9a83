"""Windows for movement and strain, and how much of the cortex lies inside each.

Shares are of the outer edge of the cortex, by arc: it is sampled at so many evenly spaced bearings
that a share is good to a tenth of a percent.
"""

from dataclasses import dataclass

import numpy as np

from fem.algebra import Array
from frames.casefile import Case
from frames.casefile.gap_windows import Window

BEARINGS: Array = np.linspace(0.125, 359.875, 1440)
"""Bearings (degrees) at which the cortex is sampled."""

_PERREN = "limit of the tissue, Perren 1978 and 1979, from memory"

STANDARD = (
    Window(
        name="useful axial movement",
        measure="axial_mm",
        at_least=0.2,
        at_most=1.0,
        source="Goodship and Kenwright; Claes, from memory",
    ),
    Window(name="lamellar bone", measure="axial_strain_percent", at_most=2.0, source=_PERREN),
    Window(
        name="cartilage and fibrous tissue",
        measure="axial_strain_percent",
        at_most=10.0,
        source=_PERREN,
    ),
    Window(
        name="granulation tissue", measure="axial_strain_percent", at_most=100.0, source=_PERREN
    ),
)
"""Windows of a case that sets none of its own."""


@dataclass(frozen=True)
class WindowShare:
    """Share of the cortex, percent, inside a window, below and above it; smallest and largest value
    round the cortex, in the unit of the measure."""

    name: str
    measure: str
    at_least: float | None
    at_most: float | None
    inside_percent: float
    below_percent: float
    above_percent: float
    smallest: float
    largest: float


def windows_of(case: Case) -> tuple[Window, ...]:
    """Those of the case, or the standard ones."""
    return case.window or STANDARD


def share_of(window: Window, values: Array) -> WindowShare:
    """How values (k,), evenly spaced round the cortex, lie to a window."""
    below = np.zeros(values.shape, bool) if window.at_least is None else values < window.at_least
    above = np.zeros(values.shape, bool) if window.at_most is None else values > window.at_most
    return WindowShare(
        window.name,
        window.measure,
        window.at_least,
        window.at_most,
        100.0 * float((~below & ~above).mean()),
        100.0 * float(below.mean()),
        100.0 * float(above.mean()),
        float(values.min()),
        float(values.max()),
    )


def unit_of(measure: str) -> str:
    """Unit in which a measure is shown."""
    return "%" if measure.endswith("percent") else "mm"


def bounds(window: Window | WindowShare) -> str:
    """Bounds of a window in words."""
    unit, low, high = unit_of(window.measure), window.at_least, window.at_most
    if low is None:
        return f"up to {high:g} {unit}"
    return f"from {low:g} {unit}" if high is None else f"{low:g} to {high:g} {unit}"
