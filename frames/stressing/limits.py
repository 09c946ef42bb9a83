"""What materials bear: yield, ultimate stress, and a line of stress amplitude against cycles.

Figures, each a minimum or a rule for smooth bars, not a maker's:

* stainless steel, cold-worked 316L: yield 690, ultimate 860 MPa (minima of the ASTM table that
  biomaterials texts quote). Amplitude 0.9 of the ultimate stress at 10³ cycles and 0.4 at 10⁶, a
  textbook rule for wrought steel (Shigley, from memory, with 0.4 in place of 0.5 for the surface);
* aluminium 6061-T6: 276 and 310 MPa, 97 MPa at 5·10⁸ cycles (handbooks, from memory);
* titanium alloy 6Al-4V: 795 and 860 MPa (minima of ASTM F136), 500 MPa at 10⁷ cycles (all from
  memory);
* carbon composite: 500 MPa, half of it at 10⁷ cycles (from memory, of the right order only);
* cortical bone: yield 100, ultimate 130 MPa, the lower end of what bars cut along the bone bear in
  tension (from memory). It mends what load wears, so that it has no line of cycles here.

A part with a yield stress of its own (``yield_MPa`` of a wire, pin, ring or rod) has the other
figures of its material in proportion: the same metal drawn harder or softer. The case's
``[[endurance]]`` may give some figures of a material; those that it leaves out are the built-in
ones, in proportion to the yield stress that it gives.

Cycles come and go with an amplitude σ_a about a mean σ_m. Goodman's line makes of them an amplitude
about nought that wears as much,

    S = σ_a / (1 - σ_m / σ_u),      σ_m counted as nought where it is compression,

and Basquin's line, straight between its points in the logarithms of both, gives

    N = N₁ (S / S₁)^(ln(N₂ / N₁) / ln(S₂ / S₁)).

It runs on straight above its first point and goes level after its last: a smaller amplitude has no
end.
"""

from dataclasses import dataclass, replace
from itertools import pairwise
from math import inf, isinf, log

import numpy as np

from fem.algebra import Array
from frames.casefile import Case
from frames.casefile.endurance import CORTICAL_BONE
from frames.sizes import DEFAULT_MATERIAL


@dataclass(frozen=True)
class Limits:
    """yield_MPa, ultimate_MPa; cycles and amplitude_MPa: points of the line, fully reversed, none
    where it is not known; source of all of it."""

    yield_MPa: float
    ultimate_MPa: float
    cycles: tuple[float, ...]
    amplitude_MPa: tuple[float, ...]
    source: str

    def scaled(self, yield_MPa: float) -> "Limits":
        """The same material drawn to another yield stress."""
        share = yield_MPa / self.yield_MPa
        points = tuple(share * a for a in self.amplitude_MPa)
        return replace(
            self,
            yield_MPa=yield_MPa,
            ultimate_MPa=share * self.ultimate_MPa,
            amplitude_MPa=points,
        )

    def reversed_amplitude(self, amplitude: Array, mean: Array, notch: float = 1.0) -> Array:
        """S (...,) MPa of amplitudes and means (...,) by Goodman's line, infinite where the part
        breaks at once. notch : by how much a notch makes the amplitude worse."""
        mean = np.maximum(mean, 0.0)
        holds = mean + amplitude < self.ultimate_MPa
        rest = np.where(holds, 1.0 - mean / self.ultimate_MPa, 1.0)
        return np.asarray(np.where(holds, notch * amplitude / rest, inf))

    def cycles_at(self, S: float) -> float:
        """Cycles to failure of a fully reversed amplitude S, MPa: infinite below the line's end, 0
        where S is infinite."""
        if not self.cycles or self.amplitude_MPa[-1] > S:
            return inf
        if isinf(S):
            return 0.0
        points = list(zip(self.cycles, self.amplitude_MPa, strict=True))
        below = next((p for p in pairwise(points) if p[1][1] <= S), None)
        assert below is not None  # S is not less than the last point's
        (N1, S1), (N2, S2) = below
        return float(N1 * (S / S1) ** (log(N2 / N1) / log(S2 / S1)))

    @property
    def words(self) -> str:
        """``yield 690, ultimate 860 MPa, 774 MPa for 1e3 cycles``."""
        points = zip(self.amplitude_MPa, self.cycles, strict=True)
        line = "".join(f", {a:.0f} MPa for {cycles_words(n)} cycles" for a, n in points)
        return f"yield {self.yield_MPa:.0f}, ultimate {self.ultimate_MPa:.0f} MPa{line}"

    def life(self, amplitude_MPa: float, mean_MPa: float) -> float:
        """Cycles to failure of an amplitude about a mean."""
        S = self.reversed_amplitude(np.array(amplitude_MPa), np.array(mean_MPa))
        return self.cycles_at(float(S))


def cycles_words(cycles: float) -> str:
    """``4e5``: a number of cycles is known to its order."""
    return f"{cycles:.1e}".replace("e+0", "e").replace("e+", "e").replace(".0e", "e")


STANDARD: dict[str, Limits] = {
    DEFAULT_MATERIAL: Limits(
        690.0,
        860.0,
        (1e3, 1e6),
        (774.0, 344.0),
        "cold-worked 316L, ASTM minima; amplitude by a textbook rule, from memory",
    ),
    "aluminium": Limits(276.0, 310.0, (1e3, 5e8), (279.0, 97.0), "6061-T6, from memory"),
    "titanium": Limits(
        795.0, 860.0, (1e3, 1e7), (774.0, 500.0), "6Al-4V, minima of ASTM F136, from memory"
    ),
    "carbon composite": Limits(
        500.0, 500.0, (1e3, 1e7), (450.0, 250.0), "laminate, from memory, of the right order only"
    ),
    CORTICAL_BONE: Limits(100.0, 130.0, (), (), "lower end in tension along it, from memory"),
}
"""Limits by the names of materials."""


def limits_of(case: Case, material: str) -> Limits:
    """Those of a named material, as the case's ``[[endurance]]`` changes them."""
    known = STANDARD[material]
    own = next((e for e in case.endurance if e.material == material), None)
    if own is None:
        return known
    built_in = known if own.yield_MPa is None else known.scaled(own.yield_MPa)
    return Limits(
        built_in.yield_MPa,
        own.ultimate_MPa or built_in.ultimate_MPa,
        own.cycles or built_in.cycles,
        own.amplitude_MPa or built_in.amplitude_MPa,
        own.source or "[[endurance]] of the case",
    )


def limits_for(case: Case, material: str | None, own_yield: float | None) -> Limits | None:
    """Limits of a part with a yield stress of its own or None. A part without a named material
    (elastic constants of its own) has no limit but that yield stress, or none at all."""
    if material is not None:
        known = limits_of(case, material)
        return known if own_yield is None else known.scaled(own_yield)
    if own_yield is None:
        return None
    return Limits(own_yield, own_yield, (), (), "yield_MPa of the case")
