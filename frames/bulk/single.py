"""One design by ``check``: for frames that are not solved side by side with others."""

from collections.abc import Sequence

from frames.casefile import Case
from frames.checking import check
from frames.construct import construct
from frames.outputs import OF_DESIGN, OF_TARGETS, Output, of_design, of_targets
from frames.result import Result, quantity


def single_row(case: Case, outputs: Sequence[Output]) -> tuple[float | None, ...]:
    """Values of the outputs.  Raises ``FemError`` when the frame cannot be solved."""
    result = check(case)
    return tuple(_value(case, result, o) for o in outputs)


def _value(case: Case, result: Result, output: Output) -> float | None:
    if output.quantity in OF_DESIGN:
        return of_design(output.quantity, construct(case))
    if output.quantity in OF_TARGETS:
        return of_targets(output.quantity, result.targets)
    try:
        return quantity(result, output.quantity, output.load)
    except KeyError:
        return None
