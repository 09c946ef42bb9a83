"""The table of a study as plain columns: what the answers are computed from."""

from collections import Counter
from dataclasses import dataclass
from typing import Any

import numpy as np

from frames.outputs import OUTPUTS

GRID, LIST, SALTELLI = "grid", "list", "saltelli"


@dataclass(frozen=True)
class Column:
    """A parameter or an output. name: heading in the table; label: plain words; unit: "" for none;
    levels: of a parameter that takes listed values, in their order, else None."""

    name: str
    label: str
    unit: str
    levels: tuple[Any, ...] | None = None

    @property
    def text(self) -> str:
        """Label and unit."""
        return f"{self.label} ({self.unit})" if self.unit else self.label


@dataclass(frozen=True)
class Columns:
    """All designs of a study, in their order.

    x : (n,) array for each parameter: float, or object where it holds words. y : (n, n_outputs),
    NaN where a design has no value. reason : (n,) text or None, why a design has no values.
    """

    title: str
    method: str
    seed: int
    parameters: tuple[Column, ...]
    outputs: tuple[Column, ...]
    x: tuple[np.ndarray, ...]
    y: np.ndarray
    reason: np.ndarray

    def reasons(self) -> tuple[tuple[str, int], ...]:
        """Why designs have no values and how many, most frequent first."""
        said = Counter(str(r) for r in self.reason if r is not None)
        return tuple(said.most_common())


def columns_of(study: Any, table: Any) -> Columns:
    """From a study (``frames.studyfile.Study`` or its like) and its table (DataFrame: "design", a
    column for each parameter and output, "reason"). Raises ValueError when rows are missing."""
    if len(table) != study.total:
        raise ValueError(f"the study has {study.total} designs and its table {len(table)} rows")
    table = table.sort_values("design", kind="stable")
    parameters = tuple(Column(p.name, p.label, p.unit, p.levels) for p in study.parameters)
    outputs = tuple(Column(o.name, _words(o), OUTPUTS[o.quantity].unit) for o in study.outputs)
    y = np.full((len(table), len(outputs)), np.nan)
    for j, output in enumerate(outputs):
        y[:, j] = table[output.name].to_numpy(dtype=float, na_value=np.nan)
    y[~np.isfinite(y)] = np.nan
    reason = np.array(
        [r if isinstance(r, str) and r else None for r in table["reason"].tolist()], dtype=object
    )
    y[np.array([r is not None for r in reason], dtype=bool)] = np.nan
    x = tuple(_values(table[p.name].tolist()) for p in parameters)
    return Columns(study.title, study.method, study.seed, parameters, outputs, x, y, reason)


def _words(output: Any) -> str:
    label = OUTPUTS[output.quantity].label
    return label if output.load is None else f'{label} under "{output.load}"'


def _values(values: list[Any]) -> np.ndarray:
    """Numbers as float; anything with a word or a yes or no among it as it is."""
    if all(isinstance(v, int | float) and not isinstance(v, bool) for v in values):
        return np.array(values, dtype=float)
    found = np.empty(len(values), dtype=object)
    found[:] = values
    return found
