"""Designs of one topology solved side by side: pretension, stiffness at the gap, loads.

The same steps as ``frames.pretension`` and ``frames.checking`` take for one ideal frame, by the
same functions of the kernel, with the designs along the axis of load cases
(``fem.side_by_side``). A design that fails on the way is left out, and its place says so.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fem import Law, System, lock, respond
from fem.algebra import Array
from fem.compliance import compliance_by, tangent_factor
from fem.errors import FemError
from fem.newton import Solution, solve_each
from fem.side_by_side import can_stand_beside, side_by_side, topology
from fem.system import Response, respond_added, tangent_of
from frames.bone_points import BonePoints
from frames.casefile import Case
from frames.construct import construct
from frames.discretise import POINTS, LaidOut, lay_out
from frames.gap import gap_motion, named_stiffnesses
from frames.holding import is_ideal
from frames.joined import leans_on_callus, refuse_loose_parts
from frames.load_results import secants
from frames.loading import LoadVector, load_on
from frames.outputs import Output
from frames.quantities import STIFFNESSES
from frames.supports import AT_ANKLE, held_at
from frames.wire_answers import largest_stress, leg_tensions

Numbers = NDArray[np.intp]
Values = dict[Output, float | None]

BY_ITSELF = ("pin_peak_stress_MPa", "bone_share_percent")
"""Quantities that need what a group does not keep."""


def ready(case: Case) -> LaidOut | None:
    """A case laid out for a group, None when it goes in none: wires that grip, slip or yield, bone
    ends that touch, nuts turned, frames that lean on callus: their past differs from design to
    design.  Raises ``FemError`` when it cannot stand."""
    place = construct(case)
    refuse_loose_parts(place)
    if not is_ideal(case) or case.bone.contact or case.nut_turn or leans_on_callus(place):
        return None
    laid = lay_out(place)
    return laid if can_stand_beside(laid.build.collected()) else None


def group_key(laid: LaidOut) -> Hashable:
    """Equal for designs that can be solved together."""
    keep = [laid.point_node[p] for p in POINTS]
    loads = tuple(load.name for load in laid.construct.case.load)
    return topology(laid.build.collected(), keep), loads


@dataclass(frozen=True)
class _Alive:
    """Designs that could be solved so far: their numbers in the group, one system of all, case i
    that of design i, their points, supports (n,), and wires' diameters (a, w)."""

    numbers: Numbers
    system: System
    bones: tuple[BonePoints, ...]
    held: NDArray[np.bool_]
    diameters: Array

    def take(self, alive: Numbers) -> "_Alive":
        bones = tuple(self.bones[i] for i in alive)
        system, diameters = self.system.take(alive), self.diameters[alive]
        return _Alive(self.numbers[alive], system, bones, self.held, diameters)


def solve_group(group: Sequence[LaidOut], outputs: Sequence[Output]) -> list[Values | None]:
    """Values of each design, None for one that cannot be solved.  Raises ``FemError`` when the
    designs cannot be put together at all."""
    found: list[Values | None] = [None] * len(group)
    designs, tension = _put_together(group)
    zero = np.zeros((len(tension), designs.system.size))
    words = ["pretension"] * len(tension)
    solution, errors = solve_each(
        designs.system, zero, Law(tension=tension), zero, words, held=designs.held
    )
    natural = lock(designs.system, solution.response).natural
    assert natural is not None
    alive = _alive(errors)
    designs, natural, rest = designs.take(alive), natural[alive], solution.u[alive]
    if not len(alive):
        return found
    law = Law(natural=natural)
    if designs.system.late_dofs.size:  # callus grows in the frame as it is tensioned
        law = replace(law, late=rest[:, designs.system.late_dofs])
    at_rest = respond_added(designs.system, rest, law)
    before = _before_load(designs, at_rest[1], [o for o in outputs if o.load is None])
    under = _under_loads(designs, law, rest, at_rest, [o for o in outputs if o.load is not None])
    for number, b, u in zip(designs.numbers.tolist(), before, under, strict=True):
        found[number] = None if b is None or u is None else b | u
    return found


def _put_together(group: Sequence[LaidOut]) -> tuple[_Alive, Array]:
    """Designs whose linear part holds, and the tension (a, w) of their wires."""
    first = group[0]
    keep = [first.point_node[p] for p in POINTS]
    system, errors = side_by_side([laid.build.collected() for laid in group], keep)
    dofs = {p: system.dofs(node) for p, node in zip(POINTS, keep, strict=True)}
    node = {p: system.model.node(name) for p, name in zip(POINTS, keep, strict=True)}
    bones = tuple(
        BonePoints(
            laid.construct.case,
            laid.construct.sign,
            system.size,
            dofs,
            {p: system.model.points[i, node[p]] for p in POINTS},
        )
        for i, laid in enumerate(group)
    )
    wires = [[w.wire for w in laid.construct.wires] for laid in group]
    diameters = np.array([[w.diameter_mm for w in own] for own in wires])
    tension = np.array([[w.tension for w in own] for own in wires])
    every = _Alive(np.arange(len(group)), system, bones, held_at(bones[0], AT_ANKLE), diameters)
    alive = _alive(errors)
    return every.take(alive), tension[alive]


def _alive(errors: Sequence[FemError | None]) -> Numbers:
    return np.flatnonzero([e is None for e in errors])


def _before_load(designs: _Alive, added: Array, outputs: Sequence[Output]) -> list[Values | None]:
    """Outputs without a load; added (a, e) to the tangents at rest."""
    if not outputs:
        return [{} for _ in designs.bones]
    out: list[Values | None] = []
    for i, bone in enumerate(designs.bones):
        try:
            factor = tangent_factor(
                designs.system, tangent_of(designs.system, i, added[i]), designs.held, case=i
            )
            C = compliance_by(designs.system, factor, gap_motion(bone), "pretension", designs.held)
        except FemError:
            out.append(None)
            continue
        named = named_stiffnesses(C)
        out.append({o: named[o.quantity] for o in outputs})
    return out


def _under_loads(
    designs: _Alive,
    law: Law,
    rest: Array,
    at_rest: tuple[Response, Array],
    outputs: Sequence[Output],
) -> list[Values | None]:
    """Outputs under loads, from rest (a, n)."""
    if not outputs:
        return [{} for _ in designs.bones]
    vectors = [[load_on(load, bone) for load in bone.case.load] for bone in designs.bones]
    each = len(vectors[0])
    flat = [v for own in vectors for v in own]
    of = np.repeat(np.arange(len(designs.bones)), each)
    cases = designs.take(of)
    force, held = np.array([v.force for v in flat]), np.array([v.held for v in flat])
    words = [f"load {v.name!r}" for v in flat]
    solution, errors = solve_each(
        cases.system, force, law.take(of), rest[of], words, held=held, begun=at_rest
    )
    loaded = _Loaded(cases, flat, law.take(of), solution, rest[of])
    out: list[Values | None] = []
    for i in range(len(designs.bones)):
        rows = range(i * each, (i + 1) * each)
        if any(errors[r] is not None for r in rows):
            out.append(None)
            continue
        row_of = {flat[r].name: r for r in rows}
        try:
            out.append({o: loaded.value(o.quantity, row_of[str(o.load)]) for o in outputs})
        except FemError:
            out.append(None)
    return out


class _Loaded:
    """Solved cases of loads, and what they say."""

    def __init__(
        self,
        cases: _Alive,
        vectors: Sequence[LoadVector],
        law: Law,
        found: Solution,
        rest: Array,
    ) -> None:
        self.cases, self.vectors, self.found = cases, vectors, found
        response, model = found.response, cases.system.model
        self.legs, self.tension = leg_tensions(response), response.tension
        self.stress = largest_stress(model, response, cases.diameters)
        self.motions = [gap_motion(bone) for bone in cases.bones]
        self.moves = [D.T @ u for D, u in zip(self.motions, found.u - rest, strict=True)]
        self.law = law
        self._stiffness: dict[int, dict[str, float]] = {}

    def value(self, name: str, row: int) -> float | None:
        """A quantity of ``frames.quantities`` under the load of a row."""
        move = self.moves[row]
        if name in STIFFNESSES:
            return self._tangent(row)[name]
        if name == "secant_axial_N_per_mm":
            return secants(self.vectors[row].wrench, move).get("axial_N_per_mm")
        if name == "closing_mm":
            return float(-move[2]) + 0.0
        if name == "shear_mm":
            return float(np.hypot(move[0], move[1]))
        if not self.tension.shape[-1]:
            return None
        of_wires = {
            "wire_tension_min_N": self.legs[row].min(),
            "wire_tension_max_N": self.tension[row].max(),
            "wire_peak_stress_MPa": self.stress[row].max(),
        }
        return float(of_wires[name]) + 0.0

    def _tangent(self, row: int) -> dict[str, float]:
        vector = self.vectors[row]
        if row not in self._stiffness:
            one = np.array([row])
            system, law = self.cases.system.take(one), self.law.take(one)
            tangent = respond(system, self.found.u[one], law).tangent[0]
            factor = tangent_factor(system, tangent, vector.held)
            state = f"load {vector.name!r}"
            C = compliance_by(system, factor, self.motions[row], state, vector.held)
            self._stiffness[row] = named_stiffnesses(C)
        return self._stiffness[row]
