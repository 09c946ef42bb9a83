"""Correlation of parameters by a Gaussian copula.

z = L e with independent standard normal e and L Lᵀ the matrix of coefficients; each parameter is
its own quantile function at u = Φ(z). The coefficients are Pearson's of the z; those of the values
are a little nearer to 0 where a distribution is not normal.
"""

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from frames.casefile.naming import suggestion
from frames.casefile.problems import Problem, plain_number
from frames.studyfile.distributions import Levels
from frames.studyfile.parameters import Parameter
from frames.studyfile.sampling import Rows
from frames.studyfile.tables import CorrelationTable

LEAST_EIGENVALUE = 1e-9
COPULA_METHODS = ("latin hypercube", "sobol sequence", "random")


def mix_of(
    tables: Sequence[CorrelationTable],
    parameters: Sequence[Parameter],
    groups: dict[str, list[str]],
    method: str,
    problems: list[Problem],
) -> Rows | None:
    """Lower Cholesky factor L (k, k), None without correlations. groups: columns of each parameter
    of the file, whose name stands for all of them."""
    if not tables:
        return None
    before = len(problems)
    if method not in COPULA_METHODS:
        why = (
            "Sobol indices are of parameters that vary independently"
            if method == "saltelli"
            else "its values are not drawn"
        )
        said = f'is not for method "{method}": {why}'
        problems.append(Problem("correlation", said))
    number = {p.name: i for i, p in enumerate(parameters)}
    matrix = np.eye(len(parameters))
    given: set[tuple[int, int]] = set()
    for count, table in enumerate(tables, start=1):
        where = f"correlation {count}"
        columns = [c for name in table.parameters for c in groups.get(name, [name])]
        for name in columns:
            if name not in number:
                known = dict.fromkeys([*groups, *number])
                said = f'there is no parameter "{name}"{suggestion(name, known)}'
                problems.append(Problem(f"{where}, parameters", said))
            elif isinstance(parameters[number[name]].draw, Levels):
                said = f'parameter "{name}" has a list of values: give it a distribution'
                problems.append(Problem(f"{where}, parameters", said))
        rows = [number[name] for name in columns if name in number]
        if len(set(rows)) < len(rows):
            problems.append(Problem(f"{where}, parameters", "a parameter stands there twice"))
            continue
        if len(columns) < 2:
            problems.append(Problem(f"{where}, parameters", "must name two parameters at least"))
        for i, j in combinations(sorted(rows), 2):
            if (i, j) in given:
                pair = f'"{parameters[i].name}" and "{parameters[j].name}"'
                problems.append(Problem(where, f"{pair} have a coefficient already"))
            given.add((i, j))
            matrix[i, j] = matrix[j, i] = table.coefficient
    if len(problems) > before:
        return None
    least = float(np.linalg.eigvalsh(matrix)[0])
    if least < LEAST_EIGENVALUE:
        problems.append(
            Problem(
                "correlation",
                "the coefficients contradict each other: their matrix must be positive definite, "
                f"and its smallest eigenvalue is {plain_number(least)}; bring some of them nearer "
                "to 0",
            )
        )
        return None
    return tuple(tuple(row) for row in np.linalg.cholesky(matrix).tolist())
