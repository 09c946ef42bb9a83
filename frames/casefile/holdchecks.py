"""Checks on what holds a wire along its own axis: bone, olive, clamps.

The legs of a wire pull at the bone with their two tensions. What is left of these,
``end_tension - tension``, has to be held by the bone: by friction up to the grip at each of its
two cortices; by an olive, of either size but one way only (a bead on the start side leans on the
bone when the end pulls harder); by a thread, both ways.
"""

import math
from collections.abc import Iterator

from frames.casefile.parts import Wire
from frames.casefile.problems import Problem, plain_number
from frames.casefile.tables import Tables


def _thread_alone(tables: Tables, wire: Wire, place: str) -> Iterator[Problem]:
    for key, given in (("grip_N", wire.grip_N > 0), ("olive", wire.olive is not None)):
        if wire.threaded and given:
            yield Problem(
                f"{place}, threaded",
                f"threaded = true and {key} exclude each other: a threaded wire does not slide",
            )


def _other_tension(tables: Tables, wire: Wire, place: str) -> Iterator[Problem]:
    if wire.end_tension_N is None:
        return
    if len(wire.pulled) < 2:
        yield Problem(
            f"{place}, end_tension_N",
            f"the wire is pulled from its {wire.pulled[0]} only: a tension of its own at the end "
            'needs tension_from = "both"',
            wire.end_tension_N,
        )
        return
    more = wire.end_tension - wire.tension
    grip = math.inf if wire.threaded else 2 * wire.grip_N
    leans = wire.olive is not None and (wire.olive == "start") == (more > 0)
    if abs(more) <= grip or leans:
        return
    held = f"only {plain_number(grip)} N (grip_N at both cortices)" if grip else "nothing"
    bead = ", its olive lies on the wrong side" if wire.olive is not None else ""
    yield Problem(
        f"{place}, end_tension_N",
        f"differs from the tension at the start ({plain_number(wire.tension)} N) by "
        f"{plain_number(abs(more))} N, and {held} holds the wire along its axis{bead}: it would "
        "slide until both are equal",
        wire.end_tension_N,
    )


def _clamps_hold(tables: Tables, wire: Wire, place: str) -> Iterator[Problem]:
    """A tension of the finished frame cannot be more than the clamps hold."""
    if tables.model.pretension != "final":
        return
    tension = max(wire.tension, wire.end_tension)
    if tension > wire.slip:
        key = "slip_N" if wire.bolt_torque_Nm is None else "bolt_torque_Nm"
        yield Problem(
            f"{place}, {key}",
            f"its clamps let the wire slip at {plain_number(wire.slip)} N, less than its tension "
            f'of {plain_number(tension)} N in the finished frame (pretension = "final" in [model])',
            wire.slip_N if wire.bolt_torque_Nm is None else wire.bolt_torque_Nm,
        )


HOLD_CHECKS = (_thread_alone, _other_tension, _clamps_hold)
