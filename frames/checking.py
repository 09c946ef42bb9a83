"""Check a case: pretension, stiffness at the gap, load cases, targets, warnings.  One function, for
everyone."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from fem import MechanismError, solve
from fem.algebra import Array
from fem.newton import Solution
from frames.casefile import Case, load_case
from frames.construct import construct
from frames.discretise import Discretised, discretise
from frames.findings import (
    Finding,
    layout_findings,
    path_findings,
    rest_findings,
    slope_finding,
)
from frames.freedom import explained
from frames.gap import AXIS_OF, NM_PER_DEG, gap_compliance, gap_directions, named_stiffnesses
from frames.joined import refuse_loose_parts
from frames.loading import LoadVector, load_vector
from frames.onset import LoadPath, State, group_parallel
from frames.pretension import Pretensioned, pretension
from frames.result import (
    MOVEMENTS,
    LoadResult,
    PretensionedWire,
    Result,
    TargetResult,
    WireResult,
    plain,
    quantity,
)
from frames.strength import wire_peak_stress, wire_yield
from frames.supports import held_at_ankle
from frames.tones import leg_tones


@dataclass(frozen=True)
class Checked:
    """A result together with the solved states behind it, for pictures and further work.

    pre : the pretensioned frame.  solution : the load cases in the order of the case (None without
    loads).
    """

    result: Result
    pre: Pretensioned
    solution: Solution | None


def check(case: Case) -> Result:
    """All answers for a case.  Raises ``FemError`` when the frame cannot be solved (mechanism, no
    equilibrium)."""
    return check_with_states(case).result


def check_file(path: str | Path) -> Result:
    """Load a case file and check it; the result carries the file's name and hash."""
    return named_after(check(load_case(path)), Path(path))


def named_after(result: Result, path: Path) -> Result:
    """The result with name and SHA-256 of the file it came from."""
    return replace(result, file=path.name, sha256=hashlib.sha256(path.read_bytes()).hexdigest())


def check_with_states(case: Case) -> Checked:
    """``check`` with the solved states."""
    place = construct(case)
    refuse_loose_parts(place)
    parts = discretise(place)
    try:
        return _solve(case, parts)
    except MechanismError as error:
        raise explained(error, parts) from error


def _solve(case: Case, parts: Discretised) -> Checked:
    pre = pretension(parts)
    held = held_at_ankle(parts, pre.system)
    C = gap_compliance(parts, pre.system, pre.response.tangent, "pretension", held)
    peak = wire_peak_stress(parts)
    rest_peak = peak(pre.response)
    tones = leg_tones(parts.construct, pre.response.tension)
    wires = tuple(
        PretensionedWire(
            name=w.wire.name,
            ring=w.wire.ring,
            tension_N=plain(pre.response.tension[i]),
            tone_Hz=(plain(tones[i, 0]), plain(tones[i, 1])),
            peak_stress_MPa=plain(rest_peak[i]),
        )
        for i, w in enumerate(parts.construct.wires)
    )
    vectors = [load_vector(load, parts, pre.system) for load in case.load]
    loads: tuple[LoadResult, ...] = ()
    solution = None
    findings = [
        *layout_findings(parts.construct),
        *rest_findings(pre, rest_peak, wire_yield(parts)),
    ]
    if vectors:
        solution = solve(
            pre.system,
            np.array([v.force for v in vectors]),
            pre.law,
            np.repeat(pre.u[None], len(vectors), axis=0),
            [f"load {v.name!r}" for v in vectors],
            held=np.array([v.held for v in vectors]),
        )
        stress = peak(solution.response)
        loads = tuple(_load_result(pre, v, solution, stress, i) for i, v in enumerate(vectors))
        findings += _loaded_findings(pre, vectors, solution, stress, rest_peak)
    result = Result(
        title=case.case.title,
        side=case.case.side,
        verdict="no targets",
        stiffness={k: plain(v) for k, v in named_stiffnesses(C).items()},
        matrix=_symmetric_inverse(C),
        loads=loads,
        wires=wires,
        targets=(),
        warnings=tuple(findings),
    )
    return Checked(_judged(result, case), pre, solution)


def _symmetric_inverse(C: Array) -> Array:
    K = np.linalg.inv(C)
    return np.asarray((K + K.T) / 2.0)


def _load_result(
    pre: Pretensioned, vector: LoadVector, solution: Solution, stress: Array, i: int
) -> LoadResult:
    parts, system = pre.parts, pre.system
    move = gap_directions(parts, system).T @ (solution.u[i] - pre.u)
    shown = move * np.array([1.0, 1.0, 1.0, *[180.0 / np.pi] * 3])
    state = f"load {vector.name!r}"
    C = gap_compliance(parts, system, solution.response.tangent[i], state, vector.held)
    tension = solution.response.tension[i]
    return LoadResult(
        name=vector.name,
        axial_N=vector.axial_N,
        gap_movement={n: plain(v) for n, v in zip(MOVEMENTS, shown, strict=True)},
        closing_mm=plain(-move[2]),
        shear_mm=plain(np.hypot(move[0], move[1])),
        secant=_secants(vector, move),
        tangent={k: plain(v) for k, v in named_stiffnesses(C).items()},
        wires=tuple(
            WireResult(name, plain(t), plain(s), slack=bool(t <= 0.0))
            for name, t, s in zip(parts.wire_names, tension, stress[i], strict=True)
        ),
        iterations=int(solution.iterations[i]),
        equilibrium_error=plain(solution.equilibrium_error[i]),
        energy_error=plain(solution.energy_error[i]),
    )


def _secants(vector: LoadVector, move: Array) -> dict[str, float]:
    """Load over movement for every component of the load that is not zero."""
    size = np.abs(vector.wrench).max()
    out = {}
    for name, axis in AXIS_OF.items():
        force = float(vector.wrench[axis])
        if abs(force) > 1e-9 * size and abs(move[axis]) > 1e-12:
            out[name] = plain(force / move[axis] * (NM_PER_DEG if axis > 2 else 1.0))
    return out


def _loaded_findings(
    pre: Pretensioned,
    vectors: list[LoadVector],
    solution: Solution,
    stress: Array,
    rest_peak: Array,
) -> Iterator[Finding]:
    D = gap_directions(pre.parts, pre.system)
    limit = wire_yield(pre.parts)
    for largest, members in group_parallel(vectors):
        top = vectors[largest]
        path = LoadPath(pre, top.force, top.held, top.name, wire_peak_stress(pre.parts))
        path.add(State(0.0, pre.u, pre.response.tension, rest_peak))
        for i, level in members:
            path.add(State(level, solution.u[i], solution.response.tension[i], stress[i]))
        yield from path_findings(pre, path, top.axial_N, D, limit)
        slopes = solution.response.wires[0].bending.slopes[largest]
        spans = pre.parts.model.wires[0].spans.shape[1]
        yield from slope_finding(float(np.abs(slopes[..., :spans]).max()), top.name)


def _judged(result: Result, case: Case) -> Result:
    targets = []
    for t in case.target:
        value = quantity(result, t.quantity, t.load)
        margins = []
        if t.at_least is not None:
            margins.append(value - t.at_least)
        if t.at_most is not None:
            margins.append(t.at_most - value)
        margin = min(margins)
        targets.append(
            TargetResult(
                quantity=t.quantity,
                load=t.load,
                label=t.label,
                value=value,
                at_least=t.at_least,
                at_most=t.at_most,
                meets=margin >= 0.0,
                margin=plain(margin),
            )
        )
    verdict = "no targets"
    if targets:
        verdict = "meets targets" if all(t.meets for t in targets) else "falls short"
    return replace(result, targets=tuple(targets), verdict=verdict)
