"""Designs of one topology as one system, each load case belonging to one of them.

Systems that differ in numbers only - places, sections, stiffnesses, lengths of arms - have freedoms
in the same order and parts at the same places among them. Their arrays then go side by side along
the leading axis of load cases, and all that works on load cases (``fem.system.respond``,
``fem.newton.solve_each``, ``fem.checks``) works on designs: one pass of array operations instead of
one for each design. What a case gives depends on its own design only.

Ideal wires, columns and the linear part go side by side; wires of the general law, joints with
play, contacts and late members do not (``can_stand_beside``).
"""

from collections.abc import Hashable, Sequence
from dataclasses import replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from fem.chord import Chords
from fem.condensation import Condensed
from fem.errors import ModelError
from fem.system import System
from fem.wire import Wires


def can_stand_beside(system: System) -> bool:
    """Whether a system has only parts that go side by side with those of others."""
    model = system.model
    grounded = bool((model.springs.ends[:, 1] < 0).any())
    rough = model.held_wires is not None or len(model.joints.names) or len(model.contacts.names)
    return not (rough or len(model.late.rows) or grounded)


def topology(system: System) -> Hashable:
    """Equal for systems that can go side by side."""
    model = system.model
    parts: list[NDArray[np.generic]] = [system.kept, system.free, model.chords.nodes]
    for wires in model.wires:
        parts += [wires.nodes, wires.free]
    return tuple((p.shape, p.tobytes()) for p in parts)


def side_by_side(systems: Sequence[System]) -> System:
    """One system of d designs and as many load cases, case i of design i; ``System.take`` gives
    each design as many cases as are wanted. Raises ``ModelError`` when they do not go together.
    """
    first = systems[0]
    if not all(can_stand_beside(s) for s in systems):
        raise ModelError("systems with parts that remember, touch or play cannot go side by side.")
    if len({topology(s) for s in systems}) > 1:
        raise ModelError("systems of different topology cannot go side by side.")
    models = [s.model for s in systems]
    wires = tuple(_led([m.wires[k] for m in models]) for k in range(len(first.model.wires)))
    chords = _led([m.chords for m in models])
    model = replace(
        first.model, points=np.array([m.points for m in models]), wires=wires, chords=chords
    )
    return replace(
        first,
        model=model,
        condensed=_stacked([s.condensed for s in systems]),
        extent=np.array([s.extent for s in systems]),
        designs=np.arange(len(systems)),
    )


_Parts = TypeVar("_Parts", Wires, Chords)


def _led(parts: Sequence[_Parts]) -> _Parts:
    """Wires or columns of all designs, their arrays with a leading axis of them."""
    arrays: dict[str, Any] = {
        name: np.array([getattr(p, name) for p in parts]) for name in parts[0].BY_DESIGN
    }
    return replace(parts[0], **arrays)


def _stacked(parts: Sequence[Condensed]) -> Condensed:
    return replace(
        parts[0],
        stiffness=np.array([c.stiffness for c in parts]),
        recover=np.array([c.recover for c in parts]),
        diagonal=np.array([c.diagonal for c in parts]),
    )
