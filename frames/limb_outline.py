"""The outline of the leg: distance from the bone axis to the skin at any level and bearing.

Each measured level gives a closed curve r(β) about the bone axis (β a bearing):

* four widths a, m, p, l (anterior, medial, posterior, lateral): a quarter ellipse between each two
  neighbours, r(β) = w1 w2 / sqrt((w2 cos γ)² + (w1 sin γ)²), with γ counted from the direction of
  w1; the quarters meet with a common tangent, across the axis to which they belong;
* a girth G: a circle of radius R = G / 2π about the centre c, which is where a ray from the axis
  leaves it, r(β) = c·d + sqrt(R² - |c|² + (c·d)²), d the unit vector along β.

Between two levels r runs straight. Beyond the outermost ones nothing is known: NaN.

Swelling by s mm adds s to r; swelling of the girth by q makes every r larger by the factor 1 + q.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frames.casefile import Case
from frames.casefile.limb import Limb

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Outline:
    """levels from distal to proximal, mm; curves: the leg there. swelling_mm, swelling_share: of
    the leg as it was measured."""

    limb: tuple[Limb, ...]
    swelling_mm: float = 0.0
    swelling_share: float = 0.0

    @property
    def span_mm(self) -> tuple[float, float]:
        """Most distal and most proximal level that is known."""
        return self.limb[0].level_mm, self.limb[-1].level_mm

    def radius(self, level_mm: ArrayLike, bearing_deg: ArrayLike) -> Array:
        """Distance (mm) from the bone axis to the skin; the arguments broadcast. NaN at levels that
        were not measured."""
        level, bearing = np.broadcast_arrays(
            np.asarray(level_mm, dtype=float), np.asarray(bearing_deg, dtype=float)
        )
        levels = self.levels_mm
        curves = self.measured(bearing)
        above = np.clip(np.searchsorted(levels, level), 1, max(len(levels) - 1, 1))
        above = np.minimum(above, len(levels) - 1)
        below = np.maximum(above - 1, 0)
        step = levels[above] - levels[below]
        share = np.where(step > 0.0, (level - levels[below]) / np.where(step > 0.0, step, 1.0), 0.0)
        low = np.take_along_axis(curves, below[None], axis=0)[0]
        high = np.take_along_axis(curves, above[None], axis=0)[0]
        known = (level >= levels[0] - 1e-9) & (level <= levels[-1] + 1e-9)
        return np.where(known, low + share * (high - low), np.nan)

    @property
    def levels_mm(self) -> Array:
        """(k,) measured levels, ascending."""
        return np.array([one.level_mm for one in self.limb])

    def measured(self, bearing_deg: ArrayLike) -> Array:
        """(k, ...) mm from the bone axis to the skin at each measured level, swelling counted."""
        curves = np.stack([curve(one, bearing_deg) for one in self.limb])
        return np.asarray(curves * (1.0 + self.swelling_share) + self.swelling_mm)


def outline_of(case: Case, *, swollen: bool) -> Outline | None:
    """The leg of a case, as measured or swollen; None when the case has no ``[[limb]]``."""
    if not case.limb:
        return None
    limb = tuple(sorted(case.limb, key=lambda one: one.level_mm))
    if not swollen:
        return Outline(limb)
    return Outline(limb, case.room.swelling_mm or 0.0, (case.room.swelling_percent or 0.0) / 100.0)


def curve(limb: Limb, bearing_deg: ArrayLike) -> Array:
    """r(β), mm, of one measured level."""
    b = np.radians(np.asarray(bearing_deg, dtype=float))
    if limb.widths_mm is not None:
        return _quarters(limb.widths_mm, b)
    assert limb.girth_mm is not None  # one of the two is there: see its rules
    R = limb.girth_mm / (2.0 * np.pi)
    a, m = limb.centre_mm
    along = a * np.cos(b) + m * np.sin(b)
    return np.asarray(along + np.sqrt(R**2 - a**2 - m**2 + along**2))


def _quarters(widths: Sequence[float], b: Array) -> Array:
    w = np.asarray(widths)
    turn = np.mod(b, 2.0 * np.pi) / (np.pi / 2.0)
    first = np.minimum(np.floor(turn).astype(int), 3)
    gamma = (turn - first) * (np.pi / 2.0)
    w1, w2 = w[first], w[(first + 1) % 4]
    return np.asarray(w1 * w2 / np.hypot(w2 * np.cos(gamma), w1 * np.sin(gamma)))
