"""What has to be solved for the outputs that are asked for.

A load that no output needs is not solved: a design that cannot bear it keeps its other numbers.
Outputs of all targets need the loads of all targets.
"""

from collections.abc import Sequence

from frames.casefile import Case
from frames.outputs import OF_DESIGN, OF_TARGETS, Output


def needs_solving(outputs: Sequence[Output]) -> bool:
    """Whether any output is more than what the parts list tells."""
    return any(o.quantity not in OF_DESIGN for o in outputs)


def pared(case: Case, outputs: Sequence[Output]) -> Case:
    """The case with those loads and targets only that the outputs need, and no histories."""
    judged = any(o.quantity in OF_TARGETS for o in outputs)
    targets = case.target if judged else ()
    wanted = {o.load for o in outputs} | {t.load for t in targets}
    loads = tuple(load for load in case.load if load.name in wanted)
    return case.model_copy(update={"load": loads, "target": targets, "history": ()})


def solved_outputs(case: Case, outputs: Sequence[Output]) -> list[Output]:
    """What solving must give: quantities of the outputs and of the targets they need."""
    judged = any(o.quantity in OF_TARGETS for o in outputs)
    own = [o for o in outputs if o.quantity not in OF_DESIGN | OF_TARGETS]
    if judged:
        own += [Output(t.quantity, t.load) for t in case.target]
    return list(dict.fromkeys(own))
