"""Warnings: limits of the wires, of common practice and of the model that a frame passes, each in
words.

Common practice, no source: tension of 490 to 1275 N (50 to 130 kgf) for wires of 1.5 to 2.0 mm;
crossing of the wires on a ring at 50° or more.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from fem.algebra import Array
from frames.construct import Construct
from frames.onset import LoadPath, State
from frames.pretension import Pretensioned

USUAL_TENSION_N = (490.0, 1275.0)
USUAL_TENSION_DIAMETERS_MM = (1.5, 2.0)
USUAL_CROSSING_DEG = 50.0
STEEPEST_SLOPE = 0.15
"""Slope of a wire against its clamp chord (rad) beyond which third-order terms pass 1 %."""


@dataclass(frozen=True)
class Finding:
    """kind : "tension range", "crossing angle", "wire yield", "slack wire", "gap closes", "large
    movement".

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


def gap_opening(pre: Pretensioned, D: Array, u: Array) -> float:
    """Smallest opening (mm) between the faces round the cortex's outer edge: gap + Δz - r √(θ_x² +
    θ_y²)."""
    bone = pre.parts.construct.case.bone
    move = D.T @ (u - pre.u)
    tilt = float(np.hypot(move[3], move[4]))
    return bone.gap_mm + float(move[2]) - bone.outer_mm / 2.0 * tilt


def path_findings(
    pre: Pretensioned, path: LoadPath, axial_N: float | None, D: Array, limit: Array
) -> Iterator[Finding]:
    """What is passed on the way to the largest load of a path; ``limit`` (w,) yield stresses,
    MPa."""
    names = np.array(pre.parts.wire_names)
    at_rest, full = path.states[0], path.states[-1]

    def when(state: State) -> str:
        if axial_N is not None:
            return f"{state.level * axial_N:.0f} N axial load (line of {path.name!r})"
        return f"{100 * state.level:.0f} % of {path.name!r}"

    def begins(state: State) -> dict[str, Any]:
        return {
            "load": path.name,
            "load_N": None if axial_N is None else state.level * axial_N,
            "share": state.level,
        }

    yielding = path.first(lambda s: float((s.peak_stress / limit).max()) - 1.0)
    if yielding is not None and yielding is not at_rest:
        first = str(names[int(np.argmax(yielding.peak_stress / limit))])
        past = tuple(names[full.peak_stress > limit].tolist())
        yield Finding(
            "wire yield",
            f"Wire steel yields from {when(yielding)}, first in {first} at clamp or cortex; at "
            f"{when(full)} in {', '.join(past) or first}. Beyond that the elastic figures are not "
            "real: wires sag and lose tension.",
            past or (first,),
            **begins(yielding),
        )
    slack = path.first(lambda s: 0.5 - float(s.tension.min()))
    if slack is not None and slack is not at_rest:
        loose = tuple(names[slack.tension <= float(slack.tension.min()) + 1.0].tolist())
        yield Finding(
            "slack wire",
            f"{_wires(loose)} slack from {when(slack)}: no tension is left, and the bone is held "
            "by bending only.",
            loose,
            **begins(slack),
        )
    closing = path.first(lambda s: -gap_opening(pre, D, s.u))
    if closing is not None:
        yield Finding(
            "gap closes",
            f"The bone ends meet from {when(closing)}. The model keeps the gap open: beyond that "
            "it shows more movement and more wire load than a frame whose bone ends carry their "
            "share.",
            (),
            **begins(closing),
        )


def rest_findings(pre: Pretensioned, peak: Array, limit: Array) -> Iterator[Finding]:
    """Pretension alone: wires past yield."""
    over = [n for n, p, y in zip(pre.parts.wire_names, peak, limit, strict=True) if p > y]
    if over:
        yield Finding(
            "wire yield",
            f"{_wires(tuple(over))} past yield by pretension alone: "
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


def _wires(names: tuple[str, ...]) -> str:
    many = len(names) > 1
    return f"Wire{'s' if many else ''} {', '.join(names)} {'are' if many else 'is'}"
