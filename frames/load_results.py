"""The answers under one load: movement and stiffness at the gap, wires, pins, bone ends."""

import numpy as np

from fem.algebra import Array
from fem.system import Response
from frames.discretise import Discretised
from frames.fracture import bone_compression, faces_result
from frames.gap import AXIS_OF, NM_PER_DEG, gap_compliance, gap_directions, named_stiffnesses
from frames.load_states import LoadStates
from frames.loading import LoadVector
from frames.pin_forces import pin_results
from frames.pretension import Pretensioned
from frames.result import plain
from frames.result_parts import MOVEMENTS, LoadResult, WireResult
from frames.wire_answers import bows, leg_tensions


def load_result(
    pre: Pretensioned, vector: LoadVector, states: LoadStates, stress: Array, i: int
) -> LoadResult:
    """Load case number i; stress (c, w) MPa of all."""
    parts, system, solution = pre.parts, pre.system, states.solution
    u, response = solution.u[i], solution.response
    move = gap_directions(parts, system).T @ (u - pre.u)
    state = f"load {vector.name!r}"
    factor = solution.factors[i]
    C = gap_compliance(parts, system, response.tangent[i], state, vector.held, factor)
    faces = response.contacts
    bone = bone_compression(response, i)
    return LoadResult(
        name=vector.name,
        axial_N=vector.axial_N,
        gap_movement=named_movement(move),
        closing_mm=plain(-move[2]),
        shear_mm=plain(np.hypot(move[0], move[1])),
        secant=secants(vector.wrench, move),
        tangent={k: plain(v) for k, v in named_stiffnesses(C).items()},
        wires=wire_results(parts, response, stress, i),
        pins=pin_results(parts, system, u),
        bone_N=bone,
        bone_share_percent=_share(pre, vector, bone),
        faces=None if faces is None else faces_result(faces, i, system.model.contacts.normal[0]),
        iterations=int(solution.iterations[i]),
        equilibrium_error=plain(solution.equilibrium_error[i]),
        energy_error=plain(solution.energy_error[i]),
    )


def named_movement(move: Array) -> dict[str, float]:
    """Movement (6,), mm and rad, by name; turns in degrees."""
    shown = move * np.array([1.0, 1.0, 1.0, *[180.0 / np.pi] * 3])
    return {n: plain(v) for n, v in zip(MOVEMENTS, shown, strict=True)}


def wire_results(
    parts: Discretised, response: Response, stress: Array, case: int
) -> tuple[WireResult, ...]:
    """All wires in one load case of a response; stress (c, w) MPa."""
    tension, legs = response.tension[case], leg_tensions(response)[case]
    bow = bows(parts.model, response)[case]
    return tuple(
        WireResult(
            name,
            plain(tension[k]),
            (plain(legs[k, 0]), plain(legs[k, 1])),
            plain(stress[case, k]),
            plain(bow[k]),
            slack=bool(legs[k].min() <= 0.0),
        )
        for k, name in enumerate(parts.wire_names)
    )


def _share(pre: Pretensioned, vector: LoadVector, bone: float | None) -> float | None:
    """Growth of the compression between the bone ends over the axial load."""
    if bone is None or vector.axial_N is None or abs(vector.axial_N) < 1e-9:
        return None
    at_rest = bone_compression(pre.response, None)
    assert at_rest is not None
    return plain(100.0 * (bone - at_rest) / vector.axial_N)


def secants(wrench: Array, move: Array) -> dict[str, float]:
    """Load over movement, both (6,), for every component of the load that is not zero."""
    size = np.abs(wrench).max()
    out = {}
    for name, axis in AXIS_OF.items():
        force = float(wrench[axis])
        if abs(force) > 1e-9 * size and abs(move[axis]) > 1e-12:
            out[name] = plain(force / move[axis] * (NM_PER_DEG if axis > 2 else 1.0))
    return out
