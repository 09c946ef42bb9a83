"""From a parameter's table to its levels or its distribution, and what is wrong with them."""

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from frames.casefile.problems import Problem, plain_number
from frames.distributions import Normal, Triangular, Uniform
from frames.studyfile.distributions import Draw, Drawn, Levels
from frames.studyfile.tables import SAMPLED, ParameterTable

_NEEDED = {
    "uniform": ("low", "high"),
    "triangular": ("low", "mode", "high"),
    "normal": ("mean", "sd"),
}
_TAKEN = {
    "uniform": ("low", "high"),
    "triangular": ("low", "mode", "high"),
    "normal": ("mean", "sd", "low", "high"),
}
LEAST_KEPT = 1e-3
"""Smallest share of a normal distribution that its limits may leave."""


def draw_problems(table: ParameterTable, method: str, place: str) -> Iterator[Problem]:
    """What is wrong with the values of a parameter."""
    if table.distribution is not None:
        yield from _distribution_problems(table, method, place)
    elif table.steps is not None:
        if table.low is None or table.high is None:
            missing = "low" if table.low is None else "high"
            yield Problem(f"{place}, steps", f"goes with low and high, and {missing} is not given")
        elif table.low >= table.high:
            yield _not_above(table, place, "low", "high")
    elif table.values is None and table.sizes is None:
        yield Problem(
            place,
            "does not say which values it takes: write values = [...], or low, high and "
            + ("distribution" if method in SAMPLED else "steps"),
        )
    else:
        for key in ("low", "high"):
            if getattr(table, key) is not None:
                yield Problem(f"{place}, {key}", "goes with steps or distribution: take it out")
        yield from _list_problems(table, place)


def _list_problems(table: ParameterTable, place: str) -> Iterator[Problem]:
    if table.values is not None:
        if len({_sort(value) for value in table.values}) > 1:
            said = "must be all numbers, all words, or all true or false"
            yield Problem(f"{place}, values", said, table.values)
        yield from _repeated(table.values, f"{place}, values")
    elif table.sizes is not None:
        yield from _repeated([s.inner_diameter_mm for s in table.sizes], f"{place}, sizes")


def _sort(value: Any) -> str:
    if isinstance(value, bool):
        return "yes or no"
    return "word" if isinstance(value, str) else "number"


def _repeated(values: Sequence[Any], where: str) -> Iterator[Problem]:
    seen = set()
    for value in values:
        key = (_sort(value), value)
        if key in seen:
            yield Problem(where, "stands there twice", value)
            return
        seen.add(key)


def _not_above(table: ParameterTable, place: str, low: str, high: str) -> Problem:
    limit = getattr(table, low)
    said = f"must be more than {low} ({plain_number(limit)})"
    return Problem(f"{place}, {high}", said, getattr(table, high))


def _distribution_problems(table: ParameterTable, method: str, place: str) -> Iterator[Problem]:
    kind = table.distribution
    assert kind is not None
    if method not in SAMPLED:
        yield Problem(
            f"{place}, distribution",
            f'method "{method}" takes values = [...] or low, high and steps; to draw from a '
            'distribution choose method = "latin hypercube", "sobol sequence", "random" or '
            '"saltelli"',
        )
    missing = [key for key in _NEEDED[kind] if getattr(table, key) is None]
    if missing:
        yield Problem(place, f'distribution "{kind}" needs {" and ".join(missing)}')
        return
    for key in ("low", "high", "mean", "sd", "mode"):
        if key not in _TAKEN[kind] and getattr(table, key) is not None:
            yield Problem(f"{place}, {key}", f'distribution "{kind}" has no {key}: take it out')
    if table.low is not None and table.high is not None and table.low >= table.high:
        yield _not_above(table, place, "low", "high")
        return
    if kind == "normal" and table.sd is not None:
        if table.sd <= 0.0:
            yield Problem(f"{place}, sd", "must be more than 0", table.sd)
        elif _kept(table) < LEAST_KEPT:
            yield Problem(
                place,
                "low and high leave less than a thousandth of the normal distribution: move them "
                "nearer to its mean",
            )
    if kind == "triangular" and table.mode is not None:
        low, high = table.low or 0.0, table.high or 0.0
        if not low <= table.mode <= high:
            yield Problem(f"{place}, mode", "must lie between low and high", table.mode)


def _normal(table: ParameterTable) -> Normal:
    assert table.mean is not None and table.sd is not None
    return Normal(table.mean, table.sd, table.low, table.high)


def _kept(table: ParameterTable) -> float:
    """Share of the whole bell between low and high."""
    try:
        return _normal(table).share_inside
    except ValueError:  # nothing of it
        return 0.0


def draw_of(table: ParameterTable) -> Draw:
    """Levels or distribution of a table without problems."""
    if table.values is not None:
        # one kind of number in a column
        floats = any(isinstance(value, float) for value in table.values)
        return Levels(tuple(map(float, table.values)) if floats else table.values)
    if table.sizes is not None:
        return Levels(tuple(size.inner_diameter_mm for size in table.sizes))
    if table.distribution == "normal":
        return Drawn(_normal(table))
    low, high = table.low, table.high
    assert low is not None and high is not None
    if table.steps is not None:
        return Levels(_even(low, high, table.steps))
    if table.distribution == "triangular":
        assert table.mode is not None
        return Drawn(Triangular(low, table.mode, high))
    return Drawn(Uniform(low, high))


def _even(low: float, high: float, steps: int) -> tuple[float | int, ...]:
    """steps numbers from low to high, whole ones where low, high and the step are whole."""
    step = (high - low) / (steps - 1)
    if all(float(x).is_integer() for x in (low, high, step)):
        return tuple(int(low) + int(step) * k for k in range(steps))
    return tuple(np.linspace(low, high, steps).tolist())
