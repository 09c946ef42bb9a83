"""What materials bear: yield, ultimate stress, and a line of stress amplitude against cycles.

Figures, each a minimum or a rule for smooth bars, not a maker's:

* stainless steel, cold-worked 316L: yield 690, ultimate 860 MPa (minima of the ASTM table that
  biomaterials texts quote). Amplitude 0.9 of the ultimate stress at 10³ cycles and 0.4 at 10⁶, a
  textbook rule for wrought steel (Shigley, from memory, with 0.4 in place of 0.5 for the surface);
* aluminium 6061-T6: 276 and 310 MPa, 97 MPa at 5·10⁸ cycles (handbooks, from memory);
* titanium alloy 6Al-4V: 795 and 860 MPa, 500 MPa at 10⁷ cycles (from memory);
* carbon composite: 500 MPa, half of it at 10⁷ cycles (from memory, of the right order only).

A part with a yield stress of its own (wires, pins) has the others in proportion.

Between the points of the line its logarithms run straight (Basquin), N = N1 (S / S1)^(1/b); beyond
the last one it goes level, below the first it bears one cycle less than it yields.
"""

from dataclasses import dataclass
from itertools import pairwise
from math import inf, log

from frames.casefile import Case
from frames.sizes import DEFAULT_MATERIAL


@dataclass(frozen=True)
class Limits:
    """yield_MPa, ultimate_MPa; cycles and amplitude_MPa: points of the line, fully reversed; source
    of all of it."""

    yield_MPa: float
    ultimate_MPa: float
    cycles: tuple[float, ...]
    amplitude_MPa: tuple[float, ...]
    source: str

    def scaled(self, yield_MPa: float) -> "Limits":
        """The same material drawn to another yield stress."""
        share = yield_MPa / self.yield_MPa
        points = tuple(share * a for a in self.amplitude_MPa)
        return Limits(yield_MPa, share * self.ultimate_MPa, self.cycles, points, self.source)

    def life(self, amplitude_MPa: float, mean_MPa: float) -> float:
        """Cycles to failure of a stress amplitude about a mean stress; infinite below the line's
        end, 0 at the ultimate stress. Goodman: S = S_a / (1 - S_m / S_u)."""
        if mean_MPa + amplitude_MPa >= self.ultimate_MPa:
            return 0.0
        S = amplitude_MPa / (1.0 - max(mean_MPa, 0.0) / self.ultimate_MPa)
        if self.amplitude_MPa[-1] > S:
            return inf
        pairs = list(zip(self.cycles, self.amplitude_MPa, strict=True))
        for (N1, S1), (N2, S2) in pairwise(pairs):
            if S >= S2 and (S <= S1 or pairs[0] == (N1, S1)):
                slope = (log(N2) - log(N1)) / (log(S2) - log(S1))
                return float(N1 * (S / S1) ** slope)
        return inf


STANDARD: dict[str, Limits] = {
    DEFAULT_MATERIAL: Limits(
        690.0,
        860.0,
        (1e3, 1e6),
        (774.0, 344.0),
        "cold-worked 316L, ASTM minima; amplitude by a textbook rule, from memory",
    ),
    "aluminium": Limits(276.0, 310.0, (1e3, 5e8), (279.0, 97.0), "6061-T6, from memory"),
    "titanium": Limits(795.0, 860.0, (1e3, 1e7), (774.0, 500.0), "6Al-4V, from memory"),
    "carbon composite": Limits(
        500.0, 500.0, (1e3, 1e7), (450.0, 250.0), "laminate, from memory, of the right order only"
    ),
}
"""Limits by the names of materials."""


def limits_of(case: Case, material: str | None) -> Limits | None:
    """Those of a named material, as the case's ``[[endurance]]`` changes them; None for a part with
    elastic constants of its own, of which nothing is known."""
    if material is None:
        return None
    known = STANDARD[material]
    for own in case.endurance:
        if own.material == material:
            return Limits(
                own.yield_MPa or known.yield_MPa,
                own.ultimate_MPa or known.ultimate_MPa,
                own.cycles or known.cycles,
                own.amplitude_MPa or known.amplitude_MPa,
                own.source or "[[endurance]] of the case",
            )
    return known
