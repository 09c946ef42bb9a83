"""Warnings that belong to a load: what is passed on the way to it, and from which load on."""

from collections.abc import Iterator
from typing import Any

import numpy as np

from fem.algebra import Array
from frames.findings import Finding, wires_are
from frames.load_states import State
from frames.onset import LoadPath
from frames.pretension import Pretensioned
from frames.wire_answers import wire_yield

_MOVED_MM = 1e-3


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
    taut = path.states[0].slackest_leg > 0.5  # a leg that is never pulled goes slack no more
    if not taut.any():
        return
    slack = path.first(lambda s: 0.5 - float(s.slackest_leg[taut].min()))
    if slack is not None:
        tension, names = slack.slackest_leg[taut], np.array(pre.parts.wire_names)[taut]
        loose = tuple(names[tension <= float(tension.min()) + 1.0].tolist())
        yield Finding(
            "slack wire",
            f"{wires_are(loose)} slack from {_when(path, slack)}: no tension is left, and the bone "
            "is held by bending only.",
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
        f"{_when(path, full)} {', '.join(slipping) or first}. Tension is lost for good: see what "
        "is left after a history of loads.",
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


def _named(names: tuple[str, ...]) -> str:
    return f"wire{'s' if len(names) > 1 else ''} {', '.join(names)}"
