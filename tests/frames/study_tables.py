"""Tables of studies made from functions, for tests of what is read from them."""

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from scipy.stats import qmc

from frames.outputs import Output
from frames.studytable import Columns, columns_of


@dataclass(frozen=True)
class Known:
    """A parameter."""

    name: str
    levels: tuple[Any, ...] | None = None
    label: str = ""
    unit: str = ""


@dataclass(frozen=True)
class Described:
    """What answers ask of a study."""

    method: str
    parameters: tuple[Known, ...]
    outputs: tuple[Output, ...]
    total: int
    title: str = "invented"
    seed: int = 0


Function = Callable[..., Any]
"""One parameter after the other, arrays (n,), to (n,) values."""


def table_of(
    method: str,
    parameters: Sequence[Known],
    rows: Sequence[Sequence[Any]],
    outputs: dict[str, np.ndarray],
    missing: Sequence[int] = (),
    reason: str = "it has no rest position",
) -> tuple[Described, pd.DataFrame]:
    """Study and table; outputs by column heading ("mass_g", "closing_mm under standing")."""
    named = tuple(Output(*name.split(" under ", 1)) for name in outputs)
    table = pd.DataFrame({"design": np.arange(len(rows))})
    for i, parameter in enumerate(parameters):
        table[parameter.name] = [row[i] for row in rows]
    for name, values in outputs.items():
        column = np.array(values, dtype=float)
        column[list(missing)] = np.nan
        table[name] = column
    said = np.full(len(rows), None, dtype=object)
    said[list(missing)] = reason
    table["reason"] = said
    return Described(method, tuple(parameters), named, len(rows)), table


def grid(
    levels: Sequence[Sequence[float]], function: Function, missing: Sequence[int] = ()
) -> tuple[Described, pd.DataFrame]:
    """A full grid of parameters a, b, ... with one output."""
    rows = list(itertools.product(*levels))
    known = [Known(chr(97 + i), tuple(values)) for i, values in enumerate(levels)]
    y = function(*np.array(rows, dtype=float).T)
    return table_of("grid", known, rows, {"axial_N_per_mm": y}, missing)


def sampled(
    points: np.ndarray, function: Function, method: str = "latin hypercube"
) -> tuple[Described, pd.DataFrame]:
    """Designs at points (n, k) with one output."""
    known = [Known(chr(97 + i)) for i in range(points.shape[1])]
    return table_of(method, known, points.tolist(), {"axial_N_per_mm": function(*points.T)})


def base_samples(n: int, k: int, seed: int, even: bool = True) -> np.ndarray:
    """(n (k + 2), k) points in [0, 1) in the order of a saltelli study; even: of a Sobol
    sequence."""
    if even:
        both = qmc.Sobol(2 * k, rng=seed).random(n)
    else:
        both = np.random.default_rng(seed).random((n, 2 * k))
    a, b = both[:, :k], both[:, k:]
    blocks = [a, b]
    for i in range(k):
        mixed = a.copy()
        mixed[:, i] = b[:, i]
        blocks.append(mixed)
    return np.concatenate(blocks)


def columns(study: Described, table: pd.DataFrame) -> Columns:
    """The table as answers take it."""
    return columns_of(study, table)
