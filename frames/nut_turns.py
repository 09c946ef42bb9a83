"""Rods made longer or shorter by turning their nuts.

A rod between two rings that is to be longer by δ carries that as a misfit of its column
(``fem.chord``): free of force at the length L + δ, it pushes the rings apart against everything
that holds them together (wires and bone, the other rods, closed fracture faces). A metric thread
moves its nut by one pitch per turn.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

import numpy as np

from fem import ConvergenceError, System
from fem.algebra import Array
from fem.law import Law
from fem.stepping import advance, carried
from frames.casefile.adjusting import NutTurn, turned_rods
from frames.construct import rod_name
from frames.discretise import Discretised
from frames.supports import Mask

LARGEST_PIECE_MM = 0.5


@dataclass(frozen=True)
class Turned:
    """One nut turn done: name, rods whose nuts were turned, and lengthening (mm) of each; u (n,)
    afterwards, for turns before tensioning in the tensioned frame, and the law that holds then.
    """

    name: str
    rods: tuple[str, ...]
    lengthen_mm: tuple[float, ...]
    u: Array
    law: Law


def early_misfit(parts: Discretised) -> Array | None:
    """``misfit`` of the nuts turned before tensioning; None for a case that turns none at all."""
    turns = parts.construct.case.nut_turn
    return misfit(parts, [t for t in turns if t.when == "before tensioning"]) if turns else None


def misfit(parts: Discretised, turns: Iterable[NutTurn]) -> Array:
    """(c,) mm by which the columns of the model are made longer by some nut turns together."""
    place = parts.construct
    columns = {name: i for i, name in enumerate(parts.model.chords.names)}
    levels = {r.ring.name: r.ring.level_mm for r in place.rings}
    rods = [r.rod for r in place.rods]
    out = np.zeros(len(columns))
    for turn in turns:
        for number in turned_rods(turn, rods, levels):
            rod = place.rods[number]
            pieces = parts.members["rod", rod_name(number, rod)]
            for piece, joined in zip(pieces, pairwise(rod.rings), strict=True):
                if set(joined) == set(turn.rings):
                    out[columns[piece]] += turn.lengthen(rod.rod)
    return out


def turn_nuts(
    parts: Discretised,
    system: System,
    turn: NutTurn,
    law: Law,
    u: Array,
    held: Mask,
) -> Turned:
    """Turn the nuts in pieces of half a millimetre from the state u (n,) with its law."""
    assert law.misfit is not None
    more = misfit(parts, [turn])
    pieces = max(1, ceil(float(np.abs(more).max(initial=0.0)) / LARGEST_PIECE_MM))
    start, before = u[None], law.misfit
    none = np.zeros((1, system.size))
    for k in range(1, pieces + 1):
        now = law.with_misfit(before + more * k / pieces)
        state = f"nut turn {turn.name!r}"
        start = carried(system, start, law, now, held)
        try:
            step = advance(system, none, now, start, [state], held=held)
        except ConvergenceError as error:
            reached = 100.0 * (k - 1) / pieces
            raise ConvergenceError(
                f"{state}: the frame finds no equilibrium beyond {reached:.0f} % of it "
                f"({np.abs(more).max() * (k - 1) / pieces:.3g} mm). Turn the nuts less far.",
                state=state,
            ) from error
        start, law = step.solution.u, step.law.one(0)
    return done(parts, turn, start[0], law)


def done(parts: Discretised, turn: NutTurn, u: Array, law: Law) -> Turned:
    """A nut turn that led to the state u (n,) with its law."""
    levels = {r.ring.name: r.ring.level_mm for r in parts.construct.rings}
    places = parts.construct.rods
    numbers = turned_rods(turn, [r.rod for r in places], levels)
    return Turned(
        turn.name,
        tuple(rod_name(i, places[i]) for i in numbers),
        tuple(turn.lengthen(places[i].rod) for i in numbers),
        u,
        law,
    )
