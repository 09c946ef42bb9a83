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
from frames.load_states import State
from frames.onset import LoadPath
from frames.pretension import Pretensioned
from frames.result_parts import LoadResult
from frames.wire_answers import wire_yield

USUAL_TENSION_N = (490.0, 1275.0)
USUAL_TENSION_DIAMETERS_MM = (1.5, 2.0)
USUAL_CROSSING_DEG = 50.0
_MOVED_MM = 1e-3
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


def gap_opening(pre: Pretensioned, D: Array, u: Array) -> float:
    """Smallest opening (mm) between the faces round the cortex's outer edge: gap + Δz - r √(θ_x² +
    θ_y²)."""
    bone = pre.parts.construct.case.bone
    move = D.T @ (u - pre.gap_from)
    tilt = float(np.hypot(move[3], move[4]))
    return bone.gap_mm + float(move[2]) - bone.outer_mm / 2.0 * tilt


def path_findings(pre: Pretensioned, path: LoadPath, D: Array) -> Iterator[Finding]:
    """What is passed on the way to the largest load of a path."""
    yield from _yielding(pre, path)
    yield from _slack(pre, path)
    yield from _sliding(pre, path)
    yield from _slipping(pre, path)
    if not _bridged(pre):
        yield from _closing(pre, path, D)


def _when(path: LoadPath, state: State) -> str:
    if path.axial_N is not None:
        return f"{state.level * path.axial_N:.0f} N axial load (line of {path.name!r})"
    return f"{100 * state.level:.0f} % of {path.name!r}"


def _begins(path: LoadPath, state: State) -> dict[str, Any]:
    return {
        "load": path.name,
        "load_N": None if path.axial_N is None else state.level * path.axial_N,
        "share": state.level,
    }


def _bridged(pre: Pretensioned) -> bool:
    bone = pre.parts.construct.case.bone
    return bone.contact is not None or bone.callus is not None


def _yielding(pre: Pretensioned, path: LoadPath) -> Iterator[Finding]:
    names, limit = np.array(pre.parts.wire_names), wire_yield(pre.parts)
    if not len(names):
        return
    at_rest, full = path.states[0], path.states[-1]
    follows = pre.parts.construct.case.model.wire_steel == "elastic-plastic"
    edge = 1e-6 if follows else 0.0  # a hinge that flows stays at its limit
    state = path.first(lambda s: float((s.peak_stress / limit).max()) - 1.0 + edge)
    if state is None or state is at_rest:
        return
    first = str(names[int(np.argmax(state.peak_stress / limit))])
    past = tuple(names[full.peak_stress > limit * (1.0 - edge)].tolist())
    then = (
        "The model follows it: see tensions and movement."
        if follows
        else "Beyond that the elastic figures are not real: wires sag and lose tension."
    )
    yield Finding(
        "wire yield",
        f"Wire steel yields from {_when(path, state)}, first in {first} at clamp or cortex; at "
        f"{_when(path, full)} in {', '.join(past) or first}. {then}",
        past or (first,),
        **_begins(path, state),
    )


def _slack(pre: Pretensioned, path: LoadPath) -> Iterator[Finding]:
    names = np.array(pre.parts.wire_names)
    if not len(names):
        return
    slack = path.first(lambda s: 0.5 - float(s.tension.min()))
    if slack is not None and slack is not path.states[0]:
        loose = tuple(names[slack.tension <= float(slack.tension.min()) + 1.0].tolist())
        yield Finding(
            "slack wire",
            f"{_wires(loose)} slack from {_when(path, slack)}: no tension is left, and the bone is "
            "held by bending only.",
            loose,
            **_begins(path, slack),
        )


def _sliding(pre: Pretensioned, path: LoadPath) -> Iterator[Finding]:
    """The bone begins to slide along wires that it grips."""
    grips = np.array([w.grip_N > 0.0 for w in pre.parts.construct.case.wire])
    if not grips.any():
        return
    state = path.first(lambda s: float(s.slid[grips].max()) - _MOVED_MM, kinked=True)
    if state is None:
        return
    names = np.array(pre.parts.wire_names)
    sliding = tuple(names[grips & (state.slid.max(axis=-1) > _MOVED_MM / 2.0)].tolist())
    yield Finding(
        "wire slides",
        f"The bone begins to slide along {_named(sliding)} from {_when(path, state)}: the grip of "
        "the bone is used up there, and the frame gives more.",
        sliding,
        **_begins(path, state),
    )


def _slipping(pre: Pretensioned, path: LoadPath) -> Iterator[Finding]:
    """Clamps let a wire slip."""
    if not any(np.isfinite(w.slip) for w in pre.parts.construct.case.wire):
        return
    state = path.first(lambda s: float(s.slipped.max()) - _MOVED_MM, kinked=True)
    if state is None:
        return
    names = np.array(pre.parts.wire_names)
    full = path.states[-1]
    slipping = tuple(names[full.slipped.max(axis=-1) > _MOVED_MM].tolist())
    first = str(names[int(np.argmax(state.slipped.max(axis=-1)))])
    yield Finding(
        "clamp slips",
        f"Clamps let their wire slip from {_when(path, state)}, first {first}; at "
        f"{_when(path, full)} {', '.join(slipping) or first}. Tension is lost for good: see what is "
        "left after a history of loads.",
        slipping or (first,),
        **_begins(path, state),
    )


def _closing(pre: Pretensioned, path: LoadPath, D: Array) -> Iterator[Finding]:
    closing = path.first(lambda s: -gap_opening(pre, D, s.u))
    if closing is not None:
        yield Finding(
            "gap closes",
            f"The bone ends meet from {_when(path, closing)}. The model keeps the gap open: beyond "
            "that it shows more movement and more wire load than a frame whose bone ends carry "
            "their share ([bone.contact] lets them).",
            (),
            **_begins(path, closing),
        )


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
                f"{limit[worst.name]:.0f} MPa is the limit; the elastic figures are too good there.",
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


def _named(names: tuple[str, ...]) -> str:
    return f"wire{'s' if len(names) > 1 else ''} {', '.join(names)}"


def _wires(names: tuple[str, ...]) -> str:
    many = len(names) > 1
    return f"Wire{'s' if many else ''} {', '.join(names)} {'are' if many else 'is'}"
