"""Buckling: every piece of rod as a column, and the whole frame.

A piece of rod between two rings, of length L, buckles at Euler's P = π² E I / (K L)². Rings hold
its ends against turning but may sway: K = 1, for a fixed column that sways buckles like a pinned
one. Ends on hinges are nearer to K = 2 unless the other rods hold the rings; the whole frame tells.

The whole frame: the factor on a load at which the frame would tilt away, by linear extrapolation
from the tensioned frame through the loaded one (``fem.buckling``); an estimate, the better the
nearer it lies to 1. Where fracture faces touch, or wires grip, slip or yield, stiffness changes by
leaps and nothing can be extrapolated.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import isfinite, pi

from fem.buckling import buckling
from fem.uncondensed import stressed
from frames.construct import rod_name
from frames.load_states import way_matters
from frames.stressing.sections import MemberStress
from frames.stressing.solving import Solved


@dataclass(frozen=True)
class RodColumn:
    """A piece of rod: largest compression, Euler load, their ratio in percent."""

    piece: str
    load: str
    compression_N: float
    buckling_N: float
    share_percent: float


@dataclass(frozen=True)
class FrameBuckling:
    """factor on a load that buckles the whole frame, None where it only stiffens."""

    load: str
    factor: float | None


def rod_columns(frame: Solved, members: MemberStress) -> Iterator[RodColumn]:
    """Every piece of rod that is pressed, the nearest to buckling first."""
    parts, loads = frame.parts, frame.states
    row = {name: i for i, name in enumerate(parts.model.members.names)}
    shapes = parts.model.members.shapes
    axial = members.forces[..., 0, 0]  # (c + 1, m)
    found = []
    for number, rod in enumerate(parts.construct.rods):
        for piece in parts.members["rod", rod_name(number, rod)]:
            i = row[piece]
            P = -axial[:, i]
            c = int(P.argmax())
            if P[c] <= 0.0:
                continue
            length = float(shapes.length[i])
            euler = pi**2 * rod.rod.elastic[0] * shapes.sections[i].I_y / length**2
            share = 100.0 * float(P[c]) / euler
            found.append(RodColumn(piece, loads[c], float(P[c]), euler, share))
    yield from sorted(found, key=lambda r: -r.share_percent)


def frame_buckling(frame: Solved) -> Iterator[FrameBuckling]:
    """The whole frame under every load, in the order of the case; none where stiffness leaps."""
    pre, solution, case = frame.pre, frame.solution, frame.place.case
    if solution is None or case.bone.contact is not None or way_matters(case):
        return
    system = pre.system
    rest = stressed(system, pre.u, pre.response.tangent, pre.law.misfit)
    for i, load in enumerate(frame.vectors):
        under = stressed(system, solution.u[i], solution.response.tangent[i], pre.law.misfit)
        least = buckling(system, rest, under, 1, f"load {load.name!r}", held=load.held).smallest
        yield FrameBuckling(load.name, least if isfinite(least) else None)
