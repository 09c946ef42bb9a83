"""How the clamps, the bone and a tensioner hold each wire along its axis, from case to kernel.

A frame whose wires are all smooth, elastic, held fast by their clamps and stated by their final
tensions is solved with the ideal law (``fem.wire``); any other with the general law
(``fem.wire_holds``), all wires alike, so that every wire has its place in one set.

A tensioner pulls at one end or both. A wire that slides freely in the bone takes the same tension
from either end: pulled at both, it is drawn out at its start.
"""

from math import inf, isinf, nan, pi

import numpy as np

from fem.algebra import Array
from fem.hold import Hold
from fem.plastic_hinge import hinges
from fem.wire_holds import Hinges
from frames.casefile import Case
from frames.casefile.wires import ENDS, Wire


def is_ideal(case: Case) -> bool:
    """Whether all wires keep to the ideal law."""
    return (
        case.model.pretension == "final"
        and case.model.wire_steel == "elastic"
        and all(_is_smooth(w) and isinf(w.slip) for w in case.wire)
    )


def _is_smooth(wire: Wire) -> bool:
    return wire.grip_N == 0.0 and not wire.threaded and wire.olive is None


def hold_of(wire: Wire, case: Case) -> Hold | None:
    """Hold of a wire over its four stations, None with the ideal law.

    The bead of an olive at the start sits outside the cortex there and stops the wire on its way to
    the end; one at the end, on its way to the start.
    """
    if is_ideal(case):
        return None
    grip = inf if wire.threaded else wire.grip_N
    start = (0.0 if wire.olive == "start" else inf, inf)
    end = (inf, 0.0 if wire.olive == "end" else inf)
    return Hold(
        grip=(grip, grip),
        slip=(wire.slip, wire.slip),
        travel=(start, end),
        hinges=_hinges(wire) if case.model.wire_steel == "elastic-plastic" else None,
    )


def _hinges(wire: Wire) -> Hinges:
    d, E = wire.diameter_mm, wire.elastic[0]
    EI, area = E * pi * d**4 / 64.0, pi * d**2 / 4.0
    # a wire as good as slack, or all but at yield, is given the layer of one just inside
    tension = min(max(wire.tension, 1.0), 0.99 * wire.yield_MPa * area)
    one = np.ones(1)
    return hinges(d * one, wire.yield_MPa * one, EI * one, tension * one)


def pulls(wire: Wire) -> tuple[float, float]:
    """Tension (N) at which tensioners pull at start and end; nan where there is none."""
    pulled = wire.pulled[:1] if _is_smooth(wire) else wire.pulled
    tensions = (wire.tension, wire.end_tension)
    start, end = (t if e in pulled else nan for e, t in zip(ENDS, tensions, strict=True))
    return start, end


def wire_pulls(case: Case) -> Array:
    """(w, 2) of all wires."""
    return np.array([pulls(w) for w in case.wire]).reshape(-1, 2)


def drops(case: Case) -> Array:
    """(w,) share of the dialled tension that is lost when the tensioner comes off."""
    default = case.model.tensioner_drop_percent
    own = [w.tensioner_drop_percent for w in case.wire]
    return np.array([(default if d is None else d) / 100.0 for d in own])


def tensioning_order(case: Case) -> list[tuple[int, ...]]:
    """Numbers of the wires tensioned in each stage: by ``order``, equal ones at once, then those
    without, one by one as the file lists them.
    """
    numbered: dict[int, list[int]] = {}
    for i, w in enumerate(case.wire):
        if w.order is not None:
            numbered.setdefault(w.order, []).append(i)
    last = [(i,) for i, w in enumerate(case.wire) if w.order is None]
    return [*(tuple(numbered[k]) for k in sorted(numbered)), *last]
