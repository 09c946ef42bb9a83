"""Warnings: limits of the wires, of common practice and of the model that a frame passes, each in
words.

Common practice, no source: tension of 490 to 1275 N (50 to 130 kgf) for wires of 1.5 to 2.0 mm;
crossing of the wires on a ring at 50° or more.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from fem.algebra import Array
from frames.construct import Construct
from frames.pretension import Pretensioned
from frames.result_parts import LoadResult

USUAL_TENSION_N = (490.0, 1275.0)
USUAL_TENSION_DIAMETERS_MM = (1.5, 2.0)
USUAL_CROSSING_DEG = 50.0
STEEPEST_SLOPE = 0.15
"""Slope of a wire against its clamp chord (rad) beyond which third-order terms pass 1 %."""


@dataclass(frozen=True)
class Finding:
    """kind : "tension range", "crossing angle", "wire yield", "slack wire", "wire slides",
    "clamp slips", "pin yield", "gap closes", "large movement".

    parts : names concerned. load : name of the largest load of its path. load_N : axial load at
    which it begins, None when it has none; share : the share of the path's largest load, None when
    the finding belongs to the unloaded frame.
    """

    kind: str
    message: str
    parts: tuple[str, ...]
    load: str | None = None
    load_N: float | None = None
    share: float | None = None


def layout_findings(place: Construct) -> Iterator[Finding]:
    """What the parts list alone shows."""
    low, high = USUAL_TENSION_N
    for w in place.wires:
        d, T = w.wire.diameter_mm, w.wire.tension
        small, large = USUAL_TENSION_DIAMETERS_MM
        if small <= d <= large and not low <= T <= high:
            yield Finding(
                "tension range",
                f"Wire {w.wire.name}: tension {T:.0f} N lies outside {low:.0f} to {high:.0f} N, "
                f"common practice for wires of {small} to {large} mm (no source).",
                (w.wire.name,),
            )
    for ring in place.rings:
        own = [w.wire for w in place.wires if w.wire.ring == ring.ring.name]
        pairs = [
            (crossing_deg(a.bearing_deg, b.bearing_deg), a, b)
            for a in own
            for b in own
            if a is not b
        ]
        if not pairs:
            continue
        widest, a, b = max(pairs, key=lambda p: p[0])
        if widest < USUAL_CROSSING_DEG - 1e-9:
            yield Finding(
                "crossing angle",
                f"Ring {ring.ring.name}: wires {a.name} and {b.name} cross at {widest:.0f}°, less "
                f"than {USUAL_CROSSING_DEG:.0f}°, common practice (no source); the bone slides "
                "easily along their bisector.",
                (a.name, b.name),
            )


def crossing_deg(bearing_a: float, bearing_b: float) -> float:
    """Angle at which two wires cross, 0 to 90°."""
    turn = abs(bearing_a - bearing_b) % 180.0
    return min(turn, 180.0 - turn)


def pin_findings(place: Construct, loads: tuple[LoadResult, ...]) -> Iterator[Finding]:
    """Half-pins past yield under a load."""
    limit = {p.pin.name: p.pin.yield_MPa for p in place.pins}
    for load in loads:
        over = [p for p in load.pins if p.peak_stress_MPa > limit[p.name]]
        if over:
            worst = max(over, key=lambda p: p.peak_stress_MPa / limit[p.name])
            names = tuple(p.name for p in over)
            yield Finding(
                "pin yield",
                f"Half-pin{'s' if len(names) > 1 else ''} {', '.join(names)}: past yield under "
                f"{load.name!r}, up to {worst.peak_stress_MPa:.0f} MPa in {worst.name} where "
                f"{limit[worst.name]:.0f} MPa is the limit; elastic figures are too good there.",
                names,
                load=load.name,
                load_N=load.axial_N,
                share=1.0,
            )


def rest_findings(pre: Pretensioned, peak: Array, limit: Array) -> Iterator[Finding]:
    """Pretension alone: wires past yield."""
    over = [n for n, p, y in zip(pre.parts.wire_names, peak, limit, strict=True) if p > y]
    if over:
        yield Finding(
            "wire yield",
            f"{wires_are(tuple(over))} past yield by pretension alone: "
            f"{float((peak / limit).max()) * 100:.0f} % of the yield stress. Use less tension or a "
            "thicker wire.",
            tuple(over),
        )


def slope_finding(largest: float, load: str) -> Iterator[Finding]:
    """Movement beyond the reach of the wire's kinematics; ``largest``: slope of a wire leg, rad."""
    if largest > STEEPEST_SLOPE:
        yield Finding(
            "large movement",
            f"Under {load!r} wires slope by {np.degrees(largest):.0f}°, beyond the "
            f"{np.degrees(STEEPEST_SLOPE):.0f}° up to which the model is good to about 1 %.",
            (),
        )


def wires_are(names: tuple[str, ...]) -> str:
    """``Wires W1, W2 are``."""
    many = len(names) > 1
    return f"Wire{'s' if many else ''} {', '.join(names)} {'are' if many else 'is'}"
