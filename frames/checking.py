"""Check a case: pretension, stiffness at the gap, load cases, targets, warnings.  One function, for
everyone."""

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from fem import MechanismError, respond
from fem.algebra import Array
from fem.newton import Solution
from fem.system import Response
from frames.assumptions import assumed
from frames.built import built
from frames.casefile import Case, load_case
from frames.discretise import Discretised
from frames.findings import (
    Finding,
    layout_findings,
    pin_findings,
    rest_findings,
    slope_finding,
)
from frames.fracture import bone_compression
from frames.freedom import explained
from frames.gap import gap_compliance, gap_directions, named_stiffnesses
from frames.histories import follow_histories
from frames.judging import judge
from frames.load_results import load_result, named_movement, wire_results
from frames.load_states import solve_loads
from frames.loading import load_vector
from frames.nut_turns import Turned
from frames.onset import LoadPath, load_paths
from frames.path_findings import path_findings
from frames.pretension import Pretensioned, pretension
from frames.result import Result, plain, quantity
from frames.result_parts import (
    LoadResult,
    NutTurnResult,
    PretensionedWire,
    Touch,
)
from frames.stage_results import stage_results
from frames.supports import held_at_ankle
from frames.tones import leg_tones
from frames.touches import touches_on
from frames.wire_answers import span_tensions, steepest_slopes, wire_peak_stress, wire_yield


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


def check_with_states(case: Case, say: Callable[[str], None] | None = None) -> Checked:
    """``check`` with the solved states; ``say`` is told how far long work has come."""
    parts = built(case)
    try:
        return _solve(case, parts, say or _quiet)
    except MechanismError as error:
        raise explained(error, parts) from error


def _quiet(_words: str) -> None:
    pass


def _solve(case: Case, parts: Discretised, say: Callable[[str], None]) -> Checked:
    pre = pretension(parts)
    held = held_at_ankle(parts, pre.system)
    C = gap_compliance(parts, pre.system, pre.response.tangent, "pretension", held)
    peak = wire_peak_stress(parts)
    rest_peak = peak(pre.response)
    vectors = [load_vector(load, parts, pre.system) for load in case.load]
    loads: tuple[LoadResult, ...] = ()
    touches: tuple[Touch, ...] = ()
    solution = None
    findings = [
        *layout_findings(parts.construct),
        *rest_findings(pre, rest_peak, wire_yield(parts)),
    ]
    if vectors:
        say("loads")
        states = solve_loads(pre, vectors)
        solution = states.solution
        stress = peak(solution.response)
        loads = tuple(load_result(pre, v, states, stress, i) for i, v in enumerate(vectors))
        say("loads at which limits are passed")
        paths = load_paths(pre, vectors, states, rest_peak, peak)
        findings += _loaded_findings(pre, paths, solution, loads)
        touches = tuple(t for path in paths for t in touches_on(path, parts.construct.case))
    result = Result(
        title=case.case.title,
        side=case.case.side,
        verdict="no targets",
        stiffness={k: plain(v) for k, v in named_stiffnesses(C).items()},
        matrix=_symmetric_inverse(C),
        loads=loads,
        wires=_pretensioned(pre, rest_peak),
        targets=(),
        warnings=tuple(findings),
        touches=touches,
        tensioning=stage_results(parts.construct, pre.stages),
        nut_turns=tuple(_nut_turn(pre, t, peak) for t in pre.turned),
        sticking=_sticks(pre),
        assumptions=assumed(case, "bone", "ring", "rod", "wire", "pin", "model"),
        histories=follow_histories(pre, case.history, vectors, peak, say),
    )
    return Checked(_judged(result, case), pre, solution)


def _sticks(pre: Pretensioned) -> bool:
    """Whether friction holds at rest what a larger load makes slide."""
    faces, contacts = pre.response.contacts, pre.system.model.contacts
    rubs = faces is not None and bool(((faces.pressure > 0.0) & (contacts.friction > 0.0)).any())
    return rubs or any(w.grip_N > 0.0 for w in pre.parts.construct.case.wire)


def _pretensioned(pre: Pretensioned, peak: Array) -> tuple[PretensionedWire, ...]:
    tension, spans = pre.response.tension, span_tensions(pre.response)
    tones = leg_tones(pre.parts.construct, spans[:, [0, 2]], in_bone=spans[:, 1])
    return tuple(
        PretensionedWire(
            name=w.wire.name,
            ring=w.wire.ring,
            tension_N=plain(tension[i]),
            legs_N=(plain(spans[i, 0]), plain(spans[i, 2])),
            tone_Hz=(plain(tones[i, 0]), plain(tones[i, 1])),
            peak_stress_MPa=plain(peak[i]),
        )
        for i, w in enumerate(pre.parts.construct.wires)
    )


def _nut_turn(
    pre: Pretensioned, turned: Turned, peak: Callable[[Response], Array]
) -> NutTurnResult:
    parts = pre.parts
    response = respond(pre.system, turned.u[None], turned.law, with_tangent=False)
    move = gap_directions(parts, pre.system).T @ (turned.u - pre.gap_from)
    return NutTurnResult(
        name=turned.name,
        rods=turned.rods,
        lengthen_mm=turned.lengthen_mm,
        gap_movement=named_movement(move),
        wires=wire_results(parts, response, peak(response), 0),
        bone_N=bone_compression(response, 0),
    )


def _symmetric_inverse(C: Array) -> Array:
    K = np.linalg.inv(C)
    return np.asarray((K + K.T) / 2.0)


def _loaded_findings(
    pre: Pretensioned,
    paths: list[LoadPath],
    solution: Solution,
    loads: tuple[LoadResult, ...],
) -> Iterator[Finding]:
    D = gap_directions(pre.parts, pre.system)
    slopes = steepest_slopes(pre.parts.model, solution.response)
    for path in paths:
        yield from path_findings(pre, path, D)
        yield from slope_finding(float(slopes[path.largest]), path.name)
    yield from pin_findings(pre.parts.construct, loads)


def _judged(result: Result, case: Case) -> Result:
    targets = [judge(t, quantity(result, t.quantity, t.load)) for t in case.target]
    verdict = "no targets"
    if targets:
        verdict = "meets targets" if all(t.meets for t in targets) else "falls short"
    return replace(result, targets=tuple(targets), verdict=verdict)
