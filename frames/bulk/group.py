"""Designs of one topology solved side by side: pretension, stiffness at the gap, loads.

The same steps as ``frames.pretension`` and ``frames.checking`` take for one ideal frame, by the
same functions of the kernel, with the designs along the axis of load cases
(``fem.side_by_side``). A design that fails on the way is left out, and its place says so.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem import Law, System, lock, respond
from fem.algebra import Array
from fem.errors import FemError
from fem.newton import Solution, compliance_by, solve_each, tangent_factor
from fem.side_by_side import can_stand_beside, side_by_side, topology
from fem.system import Response
from frames.casefile import Load
from frames.discretise import POINTS, Discretised
from frames.gap import gap_directions, named_stiffnesses
from frames.load_results import secants
from frames.loading import LoadVector, load_vector
from frames.outputs import Output
from frames.pin_forces import pin_results
from frames.quantities import STIFFNESSES
from frames.supports import held_at_ankle
from frames.wire_answers import largest_stress, leg_tensions, wire_diameters

Numbers = NDArray[np.intp]


@dataclass(frozen=True)
class Design:
    """A design ready to be solved: its model, and the system made of it."""

    parts: Discretised
    system: System


def goes_in_groups(design: Design) -> bool:
    """Whether a frame is ideal: final tensions, smooth wires, an open gap, no nuts turned."""
    case = design.parts.construct.case
    return can_stand_beside(design.system) and not case.nut_turn


def group_key(design: Design) -> Hashable:
    """Equal for designs that can be solved together."""
    case = design.parts.construct.case
    places = tuple(design.parts.model.node(design.parts.point_node[p]) for p in POINTS)
    return topology(design.system), places, tuple(load.name for load in case.load)


Values = dict[Output, float | None]


def solve_group(designs: Sequence[Design], outputs: Sequence[Output]) -> list[Values | None]:
    """Values of each design, None for one that cannot be solved."""
    numbers = np.arange(len(designs))
    whole = side_by_side([d.system for d in designs])
    held = held_at_ankle(designs[0].parts, designs[0].system)
    tension = np.array([[w.wire.tension for w in d.parts.construct.wires] for d in designs])
    zero = np.zeros((len(designs), whole.size))
    law = Law(tension=tension)
    words = ["pretension"] * len(designs)
    found, errors = solve_each(whole, zero, law, zero, words, held=held)
    alive = _alive(numbers, errors)
    found_values: list[Values | None] = [None] * len(designs)
    if not len(alive):
        return found_values
    natural = lock(whole, found.response).natural
    assert natural is not None
    natural, rest = natural[alive], found.u[alive]
    whole = whole.take(alive)
    at_rest = _stiffness_before_load(designs, alive, whole, Law(natural=natural), rest, outputs)
    loaded = _loads(designs, alive, whole, natural, rest, outputs)
    for i, number in enumerate(alive.tolist()):
        before, under = at_rest[i], loaded[i]
        if before is not None and under is not None:
            found_values[number] = before | under
    return found_values


def _alive(numbers: Numbers, errors: Sequence[FemError | None]) -> Numbers:
    return numbers[[e is None for e in errors]]


def _stiffness_before_load(
    designs: Sequence[Design],
    alive: Numbers,
    whole: System,
    law: Law,
    rest: Array,
    outputs: Sequence[Output],
) -> list[Values | None]:
    """Outputs without a load."""
    wanted = [o for o in outputs if o.load is None]
    if not wanted:
        return [{} for _ in alive]
    tangent = respond(whole, rest, law).tangent
    held = held_at_ankle(designs[0].parts, designs[0].system)
    out: list[Values | None] = []
    for i, number in enumerate(alive.tolist()):
        d = designs[number]
        D = gap_directions(d.parts, d.system)
        try:
            factor = tangent_factor(whole, tangent[i], held, case=i)
            C = compliance_by(whole, factor, D, "pretension", held)
        except FemError:
            out.append(None)
            continue
        named = named_stiffnesses(C)
        out.append({o: named[o.quantity] for o in wanted})
    return out


def _loads(
    designs: Sequence[Design],
    alive: Numbers,
    whole: System,
    natural: Array,
    rest: Array,
    outputs: Sequence[Output],
) -> list[Values | None]:
    """Outputs under loads."""
    under = [o for o in outputs if o.load is not None]
    if not under:
        return [{} for _ in alive]
    vectors = [
        [load_vector(load, designs[n].parts, designs[n].system) for load in _case_loads(designs[n])]
        for n in alive.tolist()
    ]
    each = len(vectors[0])
    of = np.repeat(np.arange(len(alive)), each)
    flat = [v for row in vectors for v in row]
    cases = whole.take(of)
    force, held = np.array([v.force for v in flat]), np.array([v.held for v in flat])
    words = [f"load {v.name!r}" for v in flat]
    found, errors = solve_each(cases, force, Law(natural=natural[of]), rest[of], words, held=held)
    diameters = np.array([wire_diameters(designs[n].parts) for n in alive.tolist()])[of]
    state = _Loaded(designs, alive, of, flat, cases, found, rest[of], diameters)
    out: list[Values | None] = []
    for i in range(len(alive)):
        rows = range(i * each, (i + 1) * each)
        if any(errors[r] is not None for r in rows):
            out.append(None)
            continue
        try:
            out.append(
                {o: state.value(o, r) for o in under for r in rows if flat[r].name == o.load}
            )
        except FemError:
            out.append(None)
    return out


def _case_loads(design: Design) -> tuple[Load, ...]:
    return design.parts.construct.case.load


class _Loaded:
    """Solved rows of loads, and what they say."""

    def __init__(
        self,
        designs: Sequence[Design],
        alive: Numbers,
        of: Numbers,
        vectors: Sequence[LoadVector],
        cases: System,
        found: Solution,
        rest: Array,
        diameters: Array,
    ) -> None:
        self.designs = [designs[alive[i]] for i in of]
        self.vectors, self.cases, self.found = vectors, cases, found
        response: Response = found.response
        self.legs = leg_tensions(response)
        self.tension = response.tension
        self.stress = largest_stress(cases.model, response, diameters)
        self.moves = np.array(
            [
                gap_directions(d.parts, d.system).T @ (u - u0)
                for d, u, u0 in zip(self.designs, found.u, rest, strict=True)
            ]
        )

    def value(self, output: Output, row: int) -> float | None:
        """A quantity of ``frames.quantities`` under the load of a row."""
        name, move = output.quantity, self.moves[row]
        if name in STIFFNESSES:
            return self._tangent(row)[name]
        if name == "secant_axial_N_per_mm":
            return secants(self.vectors[row].wrench, move).get("axial_N_per_mm")
        if name == "closing_mm":
            return float(-move[2]) + 0.0
        if name == "shear_mm":
            return float(np.hypot(move[0], move[1]))
        if name == "pin_peak_stress_MPa":
            d = self.designs[row]
            pins = pin_results(d.parts, d.system, self.found.u[row])
            return max((p.peak_stress_MPa for p in pins), default=None)
        if not self.tension.shape[-1] or name == "bone_share_percent":
            return None
        of_wires = {
            "wire_tension_min_N": self.legs[row].min(),
            "wire_tension_max_N": self.tension[row].max(),
            "wire_peak_stress_MPa": self.stress[row].max(),
        }
        return float(of_wires[name]) + 0.0

    def _tangent(self, row: int) -> dict[str, float]:
        design, vector = self.designs[row], self.vectors[row]
        factor = self.found.factors[row]
        assert factor is not None  # of every row without an error
        D = gap_directions(design.parts, design.system)
        C = compliance_by(self.cases, factor, D, f"load {vector.name!r}", vector.held)
        return named_stiffnesses(C)
