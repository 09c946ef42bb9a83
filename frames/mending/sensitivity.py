"""How much every quantity asked for changes with every number of the case."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from fem.algebra import Array
from frames.casefile import Case
from frames.mending.adjoint import derivatives, multipliers
from frames.mending.answers import Asked, asked_of
from frames.mending.functionals import functional
from frames.mending.parameters import Parameter, parameters
from frames.mending.resolving import resolved
from frames.mending.states import is_smooth, solved_states
from frames.quantities import STIFFNESSES

ADJOINT, RESOLVED = "adjoint", "re-solved"


@dataclass(frozen=True)
class Sensitivity:
    """by: derivative of each quantity asked for, its unit over the parameter's; method: ``ADJOINT``
    (exact, linear equations at the solved states) or ``RESOLVED`` (whole checks on both sides)."""

    parameter: Parameter
    by: tuple[float, ...]
    method: str


def asked_for(case: Case) -> tuple[Asked, ...]:
    """Quantity and load of every target, each once; the six stiffnesses without targets."""
    return asked_of(case.target) or tuple((name, None) for name in STIFFNESSES)


def _quiet(_words: str) -> None:
    pass


def sensitivities(
    case: Case,
    asked: Sequence[Asked] | None = None,
    wanted: Sequence[Parameter] | None = None,
    say: Callable[[str], None] = _quiet,
) -> tuple[Sensitivity, ...]:
    """Derivatives of the quantities ``asked`` for (those of the targets, ``asked_for``) by every
    number of the case, or by those ``wanted``.

    A number that may not be moved to both sides (a limit of the case file, an order of parts that
    would change) is left out. Raises ``FemError`` when the frame cannot be solved.
    """
    asked = asked_for(case) if asked is None else asked
    wanted = parameters(case) if wanted is None else wanted
    if not is_smooth(case):
        return _again(case, asked, wanted, say)
    states = solved_states(case)
    all_j = [functional(states, *a) for a in asked]
    all_m = [multipliers(states, j) for j in all_j]
    found = []
    for i, p in enumerate(wanted):
        if i % 10 == 0:
            say(f"derivatives: {i} of {len(wanted)}")
        by = derivatives(states, p, all_j, all_m)
        if by is not None:
            found.append(Sensitivity(p, _floats(by), ADJOINT))
        else:
            found += _again(case, asked, [p], say)
    return tuple(found)


def _again(
    case: Case, asked: Sequence[Asked], wanted: Sequence[Parameter], say: Callable[[str], None]
) -> tuple[Sensitivity, ...]:
    found = []
    for i, p in enumerate(wanted):
        say(f"derivatives, each by two checks: {i} of {len(wanted)}")
        by = resolved(case, {p: 1.0}, asked)
        if by is not None:
            found.append(Sensitivity(p, _floats(by), RESOLVED))
    return tuple(found)


def _floats(values: Array) -> tuple[float, ...]:
    return tuple(float(v) for v in values)
