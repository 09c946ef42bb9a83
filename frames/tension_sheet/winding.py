"""Winding a wire on the slotted bolt that clamps it: turn of the bolt against tension.

A wire of diameter d winds on a bolt of diameter D at the radius r = (D + d) / 2. Turned by θ the
bolt draws in r θ, of which the share s slips back; the slack comes first. The length drawn in and
the tension belong together by what the wire stretches and the ring gives,

    r θ (1 - s) - slack = T (L / EA + f),

whose bracket is the take-up of the wire over its tension (``frames.staging``: stretch and closing
of the ring while it is tensioned). So

    dT/dθ = r (1 - s) / (L / EA + f).

A 1.8 mm wire on a stainless ring of 150 mm takes about 1,415 N for each millimetre drawn in, the
full working tension. No measured relation of turn and tension was found in print: this is geometry,
and friction makes the real thing less sure.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees, pi, radians

from frames.casefile import Case
from frames.result_parts import StageResult
from frames.sizes import STANDARD_GRAVITY

TOO_LOOSE_KGF, TOO_TIGHT_KGF = 100.0, 130.0
"""Tensions between which the turn is told (common practice, no source)."""


@dataclass(frozen=True)
class WoundWire:
    """N_per_mm: tension for each millimetre drawn in; turn_deg: of the bolt to the tension dialled,
    slack and slip counted; N_per_deg; window_deg: turn between 100 and 130 kgf; to_yield_deg: turn
    from the tension dialled to the yield stress of the straight wire."""

    name: str
    tension_N: float
    N_per_mm: float
    turn_deg: float
    N_per_deg: float
    window_deg: float
    to_yield_deg: float


def wound_wires(case: Case, stages: Sequence[StageResult]) -> tuple[WoundWire, ...]:
    """Every wire with the take-up of its stage; one that was not drawn in is left out."""
    wires = {w.name: w for w in case.wire}
    found = []
    for stage in stages:
        for take_up, dial in zip(stage.take_up, stage.dial_N, strict=True):
            T = max(d for d in dial if d is not None)
            u = take_up.start_mm + take_up.end_mm
            if u > 0.0 and T > 0.0:
                wire = wires[take_up.wire]
                limit = wire.yield_MPa * pi * wire.diameter_mm**2 / 4.0
                found.append(wound(take_up.wire, T, u, wire.diameter_mm, limit, case))
    return tuple(found)


def wound(
    name: str, tension_N: float, take_up_mm: float, diameter_mm: float, limit_N: float, case: Case
) -> WoundWire:
    """One wire that takes take_up_mm to its tension; limit_N: tension at its yield stress."""
    winding = case.winding
    r = (winding.bolt_diameter_mm + diameter_mm) / 2.0
    kept = 1.0 - winding.slip_percent / 100.0
    per_mm = tension_N / take_up_mm
    per_deg = per_mm * kept * r * radians(1.0)
    return WoundWire(
        name=name,
        tension_N=tension_N,
        N_per_mm=per_mm,
        turn_deg=degrees((take_up_mm + winding.slack_mm) / (r * kept)),
        N_per_deg=per_deg,
        window_deg=(TOO_TIGHT_KGF - TOO_LOOSE_KGF) * STANDARD_GRAVITY / per_deg,
        to_yield_deg=(limit_N - tension_N) / per_deg,
    )
