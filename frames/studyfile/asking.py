"""What a study asks of its designs: from [[output]] tables to outputs."""

from collections.abc import Sequence

from frames.casefile import Case
from frames.casefile.problems import Problem, one_line
from frames.outputs import STIFFNESSES, Output, output_problem
from frames.studyfile.tables import OutputTable

EVERY_LOAD = "*"
DEFAULT_MARGIN = "worst_margin_percent"


def outputs_of(
    tables: Sequence[OutputTable], case: Case, problems: list[Problem]
) -> tuple[Output, ...]:
    """The outputs asked for; with none, the six stiffnesses and the smallest margin."""
    if not tables:
        found = [Output(name) for name in STIFFNESSES]
        return (*found, Output(DEFAULT_MARGIN)) if case.target else tuple(found)
    outputs: list[Output] = []
    for number, table in enumerate(tables, start=1):
        where = f'output {number}, quantity "{one_line(table.quantity)}"'
        if table.load == EVERY_LOAD:
            asked = [Output(table.quantity, load.name) for load in case.load]
            if not asked:
                problems.append(Problem(where, 'load = "*" finds no load in the case'))
        else:
            asked = [Output(table.quantity, table.load)]
        for output in asked:
            said = output_problem(output, case)
            if said is None and output in outputs:
                said = "is asked for twice"
            if said is not None:
                problems.append(Problem(where, said))
                break
            outputs.append(output)
    return tuple(outputs)
