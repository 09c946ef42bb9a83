"""Newton's method with line search and step cutting on the condensed system, over load cases.

Equilibrium f(u) = p is the stationary point of Π(u) - p·u. Each case takes Newton steps H Δu = p -
f, shortened as need be (``fem.iteration``). A case that does not converge at the full load is taken
there in smaller steps from its start, halved again as needed.

Residuals are scaled: forces by the reference force F (largest of 1 N, wire tensions, loads),
moments by F times the length of the system. Converged means below ``TOLERANCE``, or a step at the
level of rounding with a residual below ``ROUNDING``. Every factored tangent is watched for
mechanisms (``fem.mechanisms``).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.checks import (
    ENERGY_LIMIT,
    EQUILIBRIUM_LIMIT,
    Ends,
    energy_balance,
    equilibrium_error,
)
from fem.compliance import factor_of_case, stiffened
from fem.errors import ConvergenceError, FemError, MechanismError, ModelError
from fem.iteration import Iteration
from fem.law import Law
from fem.mechanisms import Factor, refuse_mechanism
from fem.system import Response, System, respond

TOLERANCE = 1e-10
ROUNDING = 1e-7
MOST_ITERATIONS = 30
SMALLEST_STEP = 1.0 / 64.0
LARGEST_TURN = 0.5  # rad; second-order rotations are then wrong by several percent


@dataclass(frozen=True)
class Solution:
    """u (c, n) of c load cases with their response; ``residuals``: scaled norms of each case's last
    step; ``iterations`` (c,); equilibrium_error, energy_error (c,), see ``fem.checks``.
    """

    u: Array
    response: Response
    law: Law
    iterations: NDArray[np.intp]
    residuals: tuple[tuple[float, ...], ...]
    equilibrium_error: Array
    energy_error: Array
    factors: tuple[Factor | None, ...] = ()


@dataclass(frozen=True)
class _Step:
    """Where one case stands after Newton's iteration; unstable: given up because the tangent there
    is not positive definite; worst: freedom with the largest residual; factor: of the tangent, when
    converged. Cases apart are left without tangent, and without factor where it need not be looked
    at.
    """

    u: Array
    tangent: Array | None
    converged: bool
    unstable: bool
    residuals: tuple[float, ...]
    worst: int
    factor: Factor | None


def solve(
    system: System,
    loads: Array,
    law: Law,
    start: Array,
    states: Sequence[str],
    *,
    start_loads: Array | None = None,
    held: NDArray[np.bool_] | None = None,
    judged: bool = True,
) -> Solution:
    """Equilibrium of c load cases, all of them or none.

    loads : (c, n) N, N·mm on the kept freedoms. start : (c, n) an equilibrium under ``start_loads``
    (c, n; none when not given), or zero. law : one for all cases, or with a leading axis of them
    (``fem.law``). states : (c,) a word for each case, used in errors.
    held : (c, n) or (n,) freedoms supported besides those fixed in the model; they stay where
    ``start`` has them. judged : False for a solution on the way to another one, without the checks
    on its balance and energy. Raises ``MechanismError`` and ``ConvergenceError``.
    """
    failed = _Failures(len(loads), apart=False)
    return _solve(system, loads, law, start, states, start_loads, held, judged, failed)


def solve_each(
    system: System,
    loads: Array,
    law: Law,
    start: Array,
    states: Sequence[str],
    *,
    held: NDArray[np.bool_] | None = None,
    begun: tuple[Response, Array] | None = None,
) -> tuple[Solution, tuple[FemError | None, ...]]:
    """``solve`` of cases that have nothing to do with each other: those that fail leave their error
    and a row without meaning. Tangents and their factors are left out of the solution
    (``tangent_factor`` makes those that are wanted).

    begun : ``fem.system.respond_added`` of the starts, where it has been found before; one for all
    cases that start alike (in design, law and place).
    """
    failed = _Failures(len(loads), apart=True)
    found = _solve(system, loads, law, start, states, None, held, True, failed, begun)
    return found, tuple(failed.errors)


class _Failures:
    """Errors of cases; the first one is raised unless they stand and fall apart."""

    def __init__(self, cases: int, *, apart: bool) -> None:
        self.apart = apart
        self.errors: list[FemError | None] = [None] * cases

    def note(self, case: int, error: FemError) -> None:
        if not self.apart:
            raise error
        if self.errors[case] is None:
            self.errors[case] = error

    def one(self) -> "_Failures":
        """For a case that is solved by itself: its error is raised."""
        return _Failures(1, apart=False)


def _solve(
    system: System,
    loads: Array,
    law: Law,
    start: Array,
    states: Sequence[str],
    start_loads: Array | None,
    held: NDArray[np.bool_] | None,
    judged: bool,
    failed: _Failures,
    begun: tuple[Response, Array] | None = None,
) -> Solution:
    if loads.ndim != 2 or start.shape != loads.shape or len(states) != len(loads):
        raise ModelError(f"loads and start must both be (cases, {system.size}).")
    before = np.zeros_like(loads) if start_loads is None else start_loads
    free = np.broadcast_to(system.free if held is None else system.free & ~held, loads.shape)
    run = Iteration(system, loads, law, start, free, begun)
    last = _newton(run, states, failed)
    spent = [len(step.residuals) for step in last]
    for case, step in enumerate(last):
        if not step.converged and failed.errors[case] is None:
            one = np.array([case])
            try:
                last[case], more = _walk(
                    system.take(one),
                    before[case],
                    loads[case],
                    law.take(one),
                    start[case],
                    states[case],
                    free[case],
                    failed.one(),
                )
            except FemError as error:
                failed.note(case, error)
                continue
            spent[case] += more
    u = np.array([step.u for step in last]).reshape(loads.shape)
    response = respond(system, u, law, with_tangent=False)
    if not failed.apart:
        response = replace(response, tangent=np.array([step.tangent for step in last]))
    balance, energy = np.zeros(len(loads)), np.zeros(len(loads))
    if judged:
        balance, energy = _judge(run, start, u, response, states, failed)
    _refuse_absurd(system, u, states, failed)
    residuals = tuple(step.residuals for step in last)
    iterations = np.array(spent, dtype=np.intp)
    factors = tuple(step.factor for step in last)
    return Solution(u, response, law, iterations, residuals, balance, energy, factors)


def _walk(
    system: System,
    p0: Array,
    p1: Array,
    law: Law,
    u0: Array,
    state: str,
    free: NDArray[np.bool_],
    failed: _Failures,
) -> tuple[_Step, int]:
    """From (p0, u0) to load p1 in steps, after the full step has failed."""
    reached, size, spent, u = 0.0, 0.5, 0, u0
    while True:
        target = min(reached + size, 1.0)
        load = p0 + target * (p1 - p0)
        run = Iteration(system, load[None], law, u[None], free[None])
        step = _newton(run, [state], failed)[0]
        spent += len(step.residuals)
        if step.converged:
            reached, u = target, step.u
            if reached >= 1.0:
                return step, spent
            continue
        size /= 2.0
        if size < SMALLEST_STEP:
            node = system.model.names[system.kept[step.worst] // 6]
            why = (
                "there the structure is not stable any more: it would tilt or snap away"
                if step.unstable
                else f"after {len(step.residuals)} iterations the residual is "
                f"{step.residuals[-1]:.2g} of the largest force, worst at {node!r}"
            )
            full, before = float(np.linalg.norm(p1)), float(np.linalg.norm(p0))
            level = reached + (1.0 - reached) * before / full if 0.0 < before <= full else reached
            raise ConvergenceError(
                f"{state}: no equilibrium found beyond {100 * level:.0f} % of the load; {why}. "
                "Lower the load, raise tensions or add members.",
                load_level=level,
                iterations=len(step.residuals),
                residuals=step.residuals,
                worst_node=node,
                state=state,
            )


def _newton(run: Iteration, states: Sequence[str], failed: _Failures) -> list[_Step]:
    system, loads, law, free = run.system, run.loads, run.law, run.free
    names = system.model.names
    history: list[list[float]] = [[] for _ in states]
    worst = [0] * len(states)
    converged = [False] * len(states)
    unstable = [False] * len(states)
    factors: list[Factor | None] = [None] * len(states)
    pivot = [0.0] * len(states)
    at_start: dict[tuple[int, bytes], Factor] = {}
    active = list(range(len(states)))
    for iteration in range(MOST_ITERATIONS):
        going, steps = [], []
        scaled = run.residual(np.array(active), run.force[active])
        for case, out in zip(active, scaled, strict=True):
            norm = float(out.max(initial=0.0)) / run.reference[case]
            history[case].append(norm)
            worst[case] = int(np.argmax(out))
            if not np.isfinite(norm):
                continue
            done = norm < TOLERANCE and iteration > 0
            if iteration == 0:  # cases of one start share its factor
                key = (int(run.start_of[case]), free[case].tobytes())
                if key not in at_start:
                    at_start[key] = factor_of_case(
                        system, case, run.tangent(case), free[case], mine=True
                    )
                factor = at_start[key]
            elif done and failed.apart and _surely_stable(pivot[case], history[case]):
                converged[case] = True
                continue
            else:
                factor = factor_of_case(system, case, run.tangent(case), free[case], mine=True)
            pivot[case] = factor.smallest_pivot
            if done or iteration == 0:  # between them a mechanism may come and go: a slack wire
                try:
                    refuse_mechanism(factor, names, system.kept[free[case]], states[case])
                except MechanismError as error:
                    failed.note(case, error)
                    continue
            if not factor.definite and law.has_past and not done:
                factor = stiffened(system, case, run.tangent(case), free[case])
            if not factor.definite:
                unstable[case] = True
                continue
            if done:
                converged[case], factors[case] = True, factor
                run.u[case] += factor.solve(loads[case] - run.force[case])  # the last digits, free
                continue
            step = factor.solve(loads[case] - run.force[case])
            at_rounding = np.abs(step).max() <= 1e-12 * max(float(np.abs(run.u[case]).max()), 1e-3)
            if at_rounding and norm < ROUNDING:
                converged[case], factors[case] = True, factor
                continue
            going.append(case)
            steps.append(step)
        active = going
        if not active:
            break
        run.advance(np.array(active), np.array(steps))
    for case in active:  # out of iterations
        converged[case] = history[case][-1] < ROUNDING
    return [
        _Step(
            run.u[i],
            None if failed.apart else run.tangent(i),
            converged[i],
            unstable[i],
            tuple(history[i]),
            worst[i],
            factors[i],
        )
        for i in range(len(states))
    ]


_FAR_FROM_FREE = 1e-8
_LITTLE_MOVED = 1e-5


def _surely_stable(pivot: float, residuals: Sequence[float]) -> bool:
    """Whether a converged state needs no factor of its own to be known as stable: that of the step
    before was far from losing its smallest pivot, and the last step, from a residual of
    ``_LITTLE_MOVED`` or less of the largest force, has changed stiffnesses by about as little.
    """
    return pivot > _FAR_FROM_FREE and residuals[-2] < _LITTLE_MOVED


def _judge(
    run: Iteration,
    start: Array,
    u: Array,
    response: Response,
    states: Sequence[str],
    failed: _Failures,
) -> tuple[Array, Array]:
    """Errors of balance and of energy (c,), none above its limit."""
    system, law, model = run.system, run.law, run.system.model
    balance = equilibrium_error(system, u, response, law)
    ends = None
    if not (law.has_past or len(model.joints.names)):
        taut_there = np.asarray((response.tension > 0.0).all(axis=-1))
        ends = Ends(run.start_energy, response.energy, run.start_taut & taut_there)
    energy, taut = energy_balance(system, start, u, law, ends=ends)
    for case in np.flatnonzero(taut & ~(energy < ENERGY_LIMIT)).tolist():  # a long way: in pieces
        one = np.array([case])
        again = energy_balance(system.take(one), start[one], u[one], law.take(one), pieces=32)
        energy[case], taut[case] = again[0][0], again[1][0]
    for case, state in enumerate(states):
        if not balance[case] < EQUILIBRIUM_LIMIT:
            error = ConvergenceError(
                f"{state}: internal forces are out of balance by {balance[case]:.2g} of the "
                "largest; the answer cannot be trusted. Look for members of very different "
                "stiffness or very short members.",
                load_level=1.0,
                state=state,
            )
            failed.note(case, error)
        if taut[case] and not energy[case] < ENERGY_LIMIT:
            error = ConvergenceError(
                f"{state}: stored energy and work differ by {energy[case]:.2g}; "
                "the answer cannot be trusted.",
                load_level=1.0,
                state=state,
            )
            failed.note(case, error)
    return balance, energy


def _refuse_absurd(system: System, u: Array, states: Sequence[str], failed: _Failures) -> None:
    """Movement beyond the reach of the second-order kinematics of wires and columns is no answer.

    A model without them is linear, and its loads may be of any size.
    """
    if not (system.model.wires or len(system.model.chords.names)):
        return
    turns, extents = system.kept % 6 >= 3, np.broadcast_to(system.extent, len(u))
    for case, state in enumerate(states):
        turn = float(np.abs(u[case, turns]).max(initial=0.0))
        shift = float(np.abs(u[case, ~turns]).max(initial=0.0))
        extent = extents[case]
        if turn > LARGEST_TURN or shift > extent:
            error = ConvergenceError(
                f"{state}: parts would move by {shift:.3g} mm and turn by "
                f"{np.degrees(turn):.3g}°, beyond the reach of the model ({extent:.3g} mm, "
                f"{np.degrees(LARGEST_TURN):.3g}°). Lower the load, raise tensions or add members.",
                load_level=1.0,
                worst_node=system.model.names[system.kept[int(np.argmax(np.abs(u[case])))] // 6],
                state=state,
            )
            failed.note(case, error)
