"""The frame as it stands before any load: wires tensioned, nuts turned; rings giving way.

Three steps, each an equilibrium:

1. Nuts turned before tensioning lengthen their rods; the wires are still loose.
2. Wires. With ideal wires (``frames.holding``) and final tensions: equilibrium under the pull
   of the wires alone, then each is locked at the natural length of its tension and place. With the
   general law they are laid, pulled and locked (``frames.staging``), at once when final tensions
   are given, in turn when they are dialled.
3. The fracture faces come into action: where nuts turned before have brought them together, they
   press from here on, and the wires give. Then nuts turned after tensioning, one table after the
   other.

Callus grows in the frame as it stands then and is free of force there; nuts turned "on callus"
press or draw it. A frame that would be loose without callus (rods or wires taken off again) has it
from the start.

The gap of the case is the gap of the tensioned frame (of the frame as built when nuts are turned
before tensioning, which changes it).

From there on everything follows from the load.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

import numpy as np

from fem import Law, Solution, System, lock, make_system, respond, solve
from fem.algebra import Array
from fem.contact import ContactHistory, contact_state, fresh_history
from fem.stepping import advance, carried
from fem.system import Response
from frames.casefile.adjusting import NutTurn
from frames.discretise import POINTS, Discretised
from frames.nut_turns import LARGEST_PIECE_MM, Turned, done, early_misfit, turn_nuts
from frames.resting import respond_at_rest
from frames.staging import Stage, callus_from_the_start, loose, tension_at_once, tension_in_turn
from frames.supports import Mask, held_at_ankle

STATE = "pretension"


@dataclass(frozen=True)
class Pretensioned:
    """system; u (n,) before load; law there; response there (tangent of locked wires); solution:
    how the tensions were found; gap_from (n,): u at which the gap is that of the case: the
    tensioned frame, or the built one when nuts were turned before tensioning; stages of tensioning
    (none with ideal wires); nut turns done."""

    parts: Discretised
    system: System
    u: Array
    law: Law
    response: Response
    solution: Solution
    gap_from: Array
    stages: tuple[Stage, ...] = ()
    turned: tuple[Turned, ...] = ()


def pretension(parts: Discretised) -> Pretensioned:
    """Tension, find equilibrium, lock, turn nuts."""
    system = make_system(parts.model, keep=[parts.point_node[p] for p in POINTS])
    held = held_at_ankle(parts, system)
    turns = parts.construct.case.nut_turn
    early = [t for t in turns if t.when == "before tensioning"]
    found = (
        _ideal(parts, system, held) if parts.model.held_wires is None else _general(parts, system)
    )
    if early:  # the gap of the case is that of the frame as built
        found = replace(found, gap_from=np.zeros(system.size))
    if len(parts.model.contacts.names):
        found = _with_faces(found, held)
    found = replace(found, turned=tuple(done(parts, t, found.u, found.law) for t in early))
    found = _turned(found, [t for t in turns if t.when == "after tensioning"], held)
    if len(parts.model.late.rows) and found.law.late is None:  # callus grows in the frame as it is
        found = replace(found, law=replace(found.law, late=found.u[found.system.late_dofs]))
    found = _turned(found, [t for t in turns if t.when == "on callus"], held)
    if turns or len(parts.model.late.rows):
        found = replace(found, response=respond_at_rest(found.system, found.u, found.law))
    return found


def _turned(pre: Pretensioned, turns: Sequence[NutTurn], held: Mask) -> Pretensioned:
    """The frame after some nut turns, one after the other."""
    for turn in turns:
        turned = turn_nuts(pre.parts, pre.system, turn, pre.law, pre.u, held)
        pre = replace(pre, u=turned.u, law=turned.law, turned=(*pre.turned, turned))
    return pre


def _ideal(parts: Discretised, system: System, held: Mask) -> Pretensioned:
    longer = early_misfit(parts)
    tension = np.array([w.wire.tension for w in parts.construct.wires])
    zero = np.zeros((1, system.size))
    late = callus_from_the_start(parts, system)
    law, start = Law(tension=tension, misfit=longer, late=late), zero
    if longer is not None:
        start = carried(system, zero, replace(law, misfit=None), law, held)
    found = solve(system, zero, law, start, [STATE], held=held)
    u = found.u[0]
    natural = lock(system, found.response).natural
    assert natural is not None
    natural = natural[0] if natural.ndim > 1 else natural
    law = Law(natural=natural, misfit=longer, late=late)
    return Pretensioned(parts, system, u, law, respond(system, u, law), found, u)


def _general(parts: Discretised, system: System) -> Pretensioned:
    law, start = loose(parts, system)
    in_turn = parts.construct.case.model.pretension == "dialled"
    tensioned = (tension_in_turn if in_turn else tension_at_once)(parts, system, law, start)
    found, law = tensioned.step.solution, tensioned.law
    u = found.u[0]
    response = respond_at_rest(system, u, law)
    return Pretensioned(parts, system, u, law, response, found, u, tensioned.stages)


def _with_faces(pre: Pretensioned, held: Mask) -> Pretensioned:
    """Contacts in action, their gaps counted from where the case gives them. Faces that nuts turned
    before have pushed into each other come together in pieces, from where they just touch.
    """
    contacts, system = pre.system.model.contacts, pre.system
    there = pre.gap_from[system.contact_dofs]
    shift = contact_state(contacts, there, fresh_history(contacts), with_tangent=False)
    contacts = replace(contacts, gap=2.0 * contacts.gap - shift.gap)
    fresh = fresh_history(contacts)
    now = contact_state(contacts, pre.u[system.contact_dofs], fresh, with_tangent=False)
    past = ContactHistory(now.gap, now.across, fresh.limit)  # nothing has rubbed yet
    u, law, deepest = pre.u, replace(pre.law, contact=past), -float(now.gap.min())
    pieces = ceil(max(deepest, 0.0) / LARGEST_PIECE_MM)
    for k in range(1, pieces + 1):
        apart = replace(contacts, gap=contacts.gap + deepest * (1.0 - k / pieces))
        system = replace(system, model=replace(system.model, contacts=apart))
        u, law = _brought_together(system, u, law, held)
    system = replace(system, model=replace(system.model, contacts=contacts))
    return replace(pre, system=system, u=u, law=law, response=respond_at_rest(system, u, law))


def _brought_together(system: System, u: Array, law: Law, held: Mask) -> tuple[Array, Law]:
    """Equilibrium (n,) of faces that were a little further apart, and its law."""
    assert law.contact is not None
    q = u[system.contact_dofs]
    gap = contact_state(system.model.contacts, q, law.contact, with_tangent=False).gap
    law = replace(law, contact=replace(law.contact, gap=gap))
    words = ["bone ends brought together"]
    step = advance(system, np.zeros((1, system.size)), law, u[None], words, held=held)
    return step.solution.u[0], step.law.one(0)
