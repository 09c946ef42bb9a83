"""What a frame of two halves does, estimated from frames that have one of them.

Seen from the gap, the two fragments with their wires and rings lie one behind the other: the same
load passes through both, and movements add. With values v(P, D) of frames solved with a proximal
half P and a distal half D, and with two reference halves P₀, D₀,

    v(P, D) ≈ v(P, D₀) + v(P₀, D) - v(P₀, D₀)          movements
    1/v(P, D) ≈ 1/v(P, D₀) + 1/v(P₀, D) - 1/v(P₀, D₀)  stiffnesses
    v(P, D) ≈ min or max of v(P, D₀), v(P₀, D)         slackest, tightest, most stressed wire

The first two would be exact if nothing but the halves gave, and each alike whatever the other is;
the rods between them, and loads that move sideways, make the rest. So an estimate ranks frames, and
the best are then solved. Of a half and its mirror image, where the case is symmetric, one is solved
and stands for both. Tension and diameter enter by the ratio in which they change v(P₀, D₀).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fem.algebra import Array
from frames.casefile import CaseError
from frames.mending.answers import Asked
from frames.quantities import STIFFNESSES
from frames.searching.layout import Layer, Layout, Setting
from frames.searching.margins import Bounds, solved
from frames.searching.mirror import Mirror

_LEAST = 1e-12
_SMALLEST, _LARGEST = (
    "wire_tension_min_N",
    ("wire_tension_max_N", "wire_peak_stress_MPa", "pin_peak_stress_MPa"),
)


def sum_up(asked: Sequence[Asked], one: Array, other: Array, reference: Array) -> Array:
    """(..., k) estimates from values (..., k) of frames with one half, with the other, and of the
    reference."""
    shape = np.broadcast_shapes(one.shape, other.shape)
    found = np.empty(shape)
    for k, (quantity, _) in enumerate(asked):
        a, b, c = one[..., k], other[..., k], reference[k]
        if quantity in (*STIFFNESSES, "secant_axial_N_per_mm"):
            found[..., k] = 1.0 / np.maximum(1.0 / a + 1.0 / b - 1.0 / c, _LEAST)
        elif quantity == _SMALLEST:
            found[..., k] = np.minimum(a, b)
        elif quantity in _LARGEST:
            found[..., k] = np.maximum(a, b)
        else:
            found[..., k] = a + b - c
    return found


@dataclass
class Estimates:
    """Solves what estimates need, each half once."""

    layer: Layer
    bounds: Bounds
    settings: tuple[Setting, ...]
    reference: tuple[Layout, Layout]
    mirror: Mirror

    def __post_init__(self) -> None:
        cases = [self.layer.alike(self.whole, s) for s in self.settings]
        self._base = solved(cases, self.bounds)
        self._known: dict[tuple[int, Layout], Array] = {}

    @property
    def whole(self) -> Layout:
        """The frame of both reference halves."""
        return tuple(sorted((*self.reference[0], *self.reference[1])))

    @property
    def of_whole(self) -> Array:
        """(settings,) its smallest margins."""
        return self.bounds.worst(self._base)

    @property
    def usable(self) -> bool:
        """The reference can be solved at every setting."""
        return bool(np.isfinite(self._base).all())

    def halves(self, side: int, layouts: Sequence[Layout]) -> Array:
        """(n, k) values of frames with these halves on one side (0 distal, 1 proximal) and the
        reference on the other, at the last setting."""
        layouts = [self.mirror.first(h) for h in layouts]
        new, cases = [], []
        for half in dict.fromkeys(h for h in layouts if (side, h) not in self._known):
            whole = tuple(sorted((*half, *self.reference[1 - side])))
            try:
                cases.append(self.layer.alike(whole, self.settings[-1]))
                new.append(half)
            except CaseError:
                self._known[side, half] = np.full(len(self.bounds.asked), np.nan)
        for half, row in zip(new, solved(cases, self.bounds), strict=True):
            self._known[side, half] = row
        rows = [self._known[side, h] for h in layouts]
        return np.array(rows).reshape(-1, len(self.bounds.asked))

    def margins(self, distal: Sequence[Layout], proximal: Sequence[Layout]) -> Array:
        """(settings, distal, proximal) estimated smallest margins."""
        d, p = self.halves(0, distal), self.halves(1, proximal)
        with np.errstate(divide="ignore", invalid="ignore"):
            values = sum_up(self.bounds.asked, d[:, None], p[None, :], self._base[-1])
            ratios = np.where(self._base[-1] == 0.0, 1.0, self._base / self._base[-1])
        return np.stack([self.bounds.worst(values * r) for r in ratios])
