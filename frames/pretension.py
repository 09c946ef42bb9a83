"""The frame as it stands before any load: wires tensioned, nuts turned; rings giving way.

Three steps, each an equilibrium:

1. Nuts turned before tensioning lengthen their rods; the wires are still loose.
2. Wires. With ideal wires (``frames.holding``) and final tensions: equilibrium under the wires' pull
   alone, then each is locked at the natural length that goes with its tension and place. With the
   general law they are laid, pulled and locked (``frames.staging``), at once when final tensions are
   given, in turn when they are dialled.
3. Nuts turned after tensioning, one table after the other. The fracture faces may meet from here on.

The gap of the case is the gap of the tensioned frame (of the frame as built when nuts are turned
before tensioning, which changes it).

From there on everything follows from the load.
"""

from dataclasses import dataclass, replace

import numpy as np

from fem import Law, Solution, System, lock, make_system, respond, solve
from fem.algebra import Array
from fem.contact import contact_state, fresh_history, next_contact_history
from fem.stepping import carried
from fem.system import Response
from fem.wire_holds import start as unlaid
from frames.discretise import POINTS, Discretised
from frames.nut_turns import Turned, done, misfit, turn_nuts
from frames.staging import Stage, tension_at_once, tension_in_turn
from frames.supports import Mask, held_at_ankle

STATE = "pretension"


@dataclass(frozen=True)
class Pretensioned:
    """system; u (n,) before load; law there; response there (tangent of locked wires); solution:
    how the tensions were found; gap_from (n,): u at which the gap is that of the case: the tensioned
    frame, or the built one when nuts were turned before tensioning; stages of tensioning (none with
    ideal wires); nut turns done."""

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
    before = misfit(parts, early) if turns else None
    ideal = parts.model.held is None
    found = _ideal(parts, system, before, held) if ideal else _general(parts, system, before, held)
    if early:  # the gap of the case is that of the frame as built
        turned = tuple(done(parts, t, found.u, found.law) for t in early)
        found = replace(found, gap_from=np.zeros(system.size), turned=turned)
    if len(parts.model.contacts.names):
        found = _with_faces(found)
    after = [t for t in turns if t.when == "after tensioning"]
    for turn in after:
        turned = turn_nuts(parts, found.system, turn, found.law, found.u, held)
        found = replace(found, u=turned.u, law=turned.law, turned=(*found.turned, turned))
    if after:
        found = replace(found, response=respond(found.system, found.u, found.law))
    return found


def _ideal(parts: Discretised, system: System, longer: Array | None, held: Mask) -> Pretensioned:
    tension = np.array([w.wire.tension for w in parts.construct.wires])
    zero = np.zeros((1, system.size))
    law, start = Law(tension=tension, misfit=longer), zero
    if longer is not None:
        start = carried(system, zero, replace(law, misfit=None), law, held)
    found = solve(system, zero, law, start, [STATE], held=held)
    u = found.u[0]
    natural = lock(system, found.response).natural
    assert natural is not None
    law = Law(natural=natural[0] if natural.ndim > 1 else natural, misfit=longer)
    return Pretensioned(parts, system, u, law, respond(system, u, law), found, u)


def _general(
    parts: Discretised, system: System, longer: Array | None, held: Mask
) -> Pretensioned:
    wires = parts.model.held
    assert wires is not None
    law = Law(held=unlaid(wires.wires, wires.holds), misfit=longer)
    start = np.zeros((1, system.size))
    if longer is not None:
        start = carried(system, start, replace(law, misfit=None), law, held)
    in_turn = parts.construct.case.model.pretension == "dialled"
    tensioned = (tension_in_turn if in_turn else tension_at_once)(parts, system, law, start)
    found, law = tensioned.step.solution, tensioned.law
    u = found.u[0]
    response = respond(system, u, law)
    return Pretensioned(parts, system, u, law, response, found, u, tensioned.stages)


def _with_faces(pre: Pretensioned) -> Pretensioned:
    """Contacts in action, their gaps counted from where the case gives them."""
    contacts, system = pre.system.model.contacts, pre.system
    there = pre.gap_from[system.contact_dofs]
    shift = contact_state(contacts, there, fresh_history(contacts), with_tangent=False)
    contacts = replace(contacts, gap=2.0 * contacts.gap - shift.gap)
    system = replace(system, model=replace(system.model, contacts=contacts))
    fresh = fresh_history(contacts)
    q = pre.u[system.contact_dofs]
    past = next_contact_history(contacts, fresh, contact_state(contacts, q, fresh))
    law = replace(pre.law, contact=past)
    response = respond(system, pre.u, law)
    return replace(pre, system=system, law=law, response=response)
