"""Following a way of loading step by step, where slip, friction and yield make the way matter.

Within a step every part answers from a fixed past by an incremental potential (``fem.held_wire``,
``fem.contact``), so that a step is an ordinary equilibrium (``fem.newton``). Then the past is
brought up to date. The limits of friction at contacts, μ times the pressure, are not known before a
step is solved; they are found from outside (``fem.friction``).

A structure without such parts is elastic: one step or many give the same answer.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.contact import ContactHistory, ContactState, approach, next_contact_history
from fem.contact import dissipated as contact_dissipated
from fem.errors import ConvergenceError
from fem.friction import settle
from fem.law import Law
from fem.newton import Solution, solve
from fem.system import System, respond
from fem.wire_holds import next_history as next_wire_history


@dataclass(frozen=True)
class Step:
    """One step of c load cases: solution with the law it was found with; law: the past brought up
    to date, for the next step; dissipated (c,) N·mm in the step.
    """

    solution: Solution
    law: Law
    dissipated: Array


def advance(
    system: System,
    loads: Array,
    law: Law,
    start: Array,
    states: Sequence[str],
    *,
    start_loads: Array | None = None,
    held: NDArray[np.bool_] | None = None,
) -> Step:
    """One step to ``loads`` (c, n), from ``start`` (c, n) in equilibrium under ``start_loads``.

    Arguments as of ``fem.newton.solve``; the past in ``law`` is that at ``start``.
    """
    law = law.spread(len(loads))
    contacts = system.model.contacts
    rubs = law.contact is not None and bool((contacts.friction > 0.0).any())
    if rubs:
        law = _with_limits(system, loads, law, start, states, start_loads, held)
    solution = solve(system, loads, law, start, states, start_loads=start_loads, held=held)
    spent = np.zeros(len(loads))
    after = law
    response, model = solution.response, system.model
    if (
        model.held_wires is not None
        and response.held_wires is not None
        and law.held_wires is not None
    ):
        past = next_wire_history(model.held_wires.wires, response.held_wires, law.held_wires)
        after = replace(after, held_wires=past)
        spent += response.held_wires.dissipation.sum(axis=-1)
    if response.contacts is not None and law.contact is not None:
        touch = next_contact_history(contacts, law.contact, response.contacts)
        after = replace(after, contact=touch)
        spent += contact_dissipated(contacts, law.contact, response.contacts).sum(axis=-1)
    return Step(solution, after, spent)


def _with_limits(
    system: System,
    loads: Array,
    law: Law,
    start: Array,
    states: Sequence[str],
    start_loads: Array | None,
    held: NDArray[np.bool_] | None,
) -> Law:
    """The law with the limits of friction that belong to the step's end."""
    assert law.contact is not None
    contacts = system.model.contacts
    free = np.broadcast_to(system.free if held is None else system.free & ~held, loads.shape)
    before = np.zeros_like(loads) if start_loads is None else start_loads
    last, at = start.copy(), before.copy()
    foreseen = _by_tangent(respond(system, start, law).tangent, loads - before, free)
    history = approach(contacts, law.contact, foreseen[..., system.contact_dofs])

    def solve_once(now: ContactHistory, cases: NDArray[np.intp]) -> ContactState:
        one, frame = replace(law.take(cases), contact=now), system.take(cases)
        words = [states[i] for i in cases.tolist()]
        to, from_, keep = loads[cases], last[cases], free[cases]
        off = system.free & ~keep
        try:
            found = solve(
                frame, to, one, from_, words, start_loads=at[cases], held=off, judged=False
            )
        except ConvergenceError:  # the last round was no good place to start from
            found = solve(
                frame,
                to,
                one,
                start[cases],
                words,
                start_loads=before[cases],
                held=off,
                judged=False,
            )
        last[cases], at[cases] = found.u, to
        assert found.response.contacts is not None
        return found.response.contacts

    return replace(law, contact=settle(solve_once, contacts, history, states).history)


def carried(
    system: System, u: Array, was: Law, law: Law, held: NDArray[np.bool_] | None = None
) -> Array:
    """(c, n) place to start from when columns are made longer or shorter: u (c, n), in equilibrium
    with the law that ``was``, moved by the tangent there under what the change presses or pulls.

    Without it the columns would start with the whole change as a force, and rods pressed like that
    are unstable.
    """
    free = np.broadcast_to(system.free if held is None else system.free & ~held, u.shape)
    before = respond(system, u, was)
    after = respond(system, u, law, with_tangent=False)
    return u + _by_tangent(before.tangent, before.force - after.force, free)


def _by_tangent(tangent: Array, more: Array, free: NDArray[np.bool_]) -> Array:
    """(c, n) motion under more load (c, n), zero where held (least squares where it is free)."""
    step = np.zeros_like(more)
    for case, open_ in enumerate(free):
        H = tangent[case][np.ix_(open_, open_)]
        try:
            step[case, open_] = np.linalg.solve(H, more[case, open_])
        except np.linalg.LinAlgError:
            step[case, open_] = np.linalg.lstsq(H, more[case, open_], rcond=1e-12)[0]
    return step


def follow(
    system: System,
    ways: Array,
    law: Law,
    start: Array,
    states: Sequence[str],
    *,
    start_loads: Array | None = None,
    held: NDArray[np.bool_] | None = None,
) -> list[Step]:
    """Steps of c load cases through ``ways`` (k, c, n), one after the other from ``start``."""
    steps: list[Step] = []
    u, before = start, start_loads
    for number, loads in enumerate(ways, start=1):
        words = [f"{state}, step {number} of {len(ways)}" for state in states]
        step = advance(system, loads, law, u, words, start_loads=before, held=held)
        steps.append(step)
        u, law, before = step.solution.u, step.law, loads
    return steps
