"""Answers from a study as charts: which there are, and what each shows."""

import re
from collections.abc import Iterator

import numpy as np

from frames.picture.charts import (
    Axis,
    EffectPanel,
    EffectSheet,
    FrontSheet,
    IndexBar,
    IndexSheet,
    MapSheet,
    ScatterSheet,
    Sheet,
    TornadoBar,
    TornadoSheet,
)
from frames.studytable.answer import Effects
from frames.studytable.columns import Column, Columns
from frames.studytable.grouping import Grouping, by_level
from frames.studytable.mapping import Map, map_of
from frames.studytable.parts import MainEffect, OutputEffects

_MOST_COLUMNS, _MOST_ROWS = 8, 6
_MOST_POINTS = 1500
_SMOOTH = 5
"""So many levels of numbers, evenly near each other, are drawn as contours."""


def sheets_of(answer: Effects) -> Iterator[tuple[str, Sheet]]:
    """Name of the file without its ending, and what is on it."""
    labels = {p.name: p.text for p in answer.columns.parameters}
    for output in answer.outputs:
        file = file_name(output.name)
        if output.main:
            yield f"effects_{file}", _effects(output, labels)
            if not all(m.chance for m in output.main):
                yield f"tornado_{file}", _tornado(output, labels)
        if output.indices:
            yield f"indices_{file}", _indices(output, labels)
        if answer.map is None and len(output.main) > 1:
            yield f"map_{file}", _map(answer, _telling(answer, output))
    if answer.map is not None:
        found = answer.map
        parts = (found.output.name, found.across.name, found.up.name)
        yield "map_" + "_".join(file_name(n) for n in parts), _map(answer, found)
    if answer.front is not None and answer.front.compared:
        yield "front", _front(answer)
    yield from _scatters(answer)


def file_name(name: str) -> str:
    """A column's name as part of the name of a file."""
    return re.sub(r"[^\w.-]+", "_", name).strip("_.")[:60] or "output"


def _left_out(designs: int, missing: int) -> str:
    left = f"; {missing} without a value left out" if missing else ""
    return f"{designs} designs{left}."


def _effects(output: OutputEffects, labels: dict[str, str]) -> EffectSheet:
    how = "bins with equally many designs" if output.kind == "bins" else "each level"
    note = (
        f"Means over all other parameters at {how}, with one standard error; dashed: mean of all. "
        f"Share: of the variance. {_left_out(output.designs, output.missing)}"
    )
    panels = tuple(
        EffectPanel(
            _levels_axis(m, labels[m.name]),
            np.array([np.nan if v.mean is None else v.mean for v in m.levels]),
            np.array([np.nan if v.error is None else v.error for v in m.levels]),
            f"share {100.0 * m.share:.1f} %{', chance' if m.chance else ''}",
        )
        for m in output.main
    )
    title = f"Main effects on {output.label}"
    return EffectSheet(title, output.text, output.mean or 0.0, panels, note)


def _levels_axis(effect: MainEffect, label: str) -> Axis:
    values = [v.value for v in effect.levels]
    numbers = [v for v in values if v is not None]
    if len(numbers) < len(values):
        words = tuple(v.label for v in effect.levels)
        return Axis(label, np.arange(len(words), dtype=float), words)
    return Axis(label, np.array(numbers))


def _tornado(output: OutputEffects, labels: dict[str, str]) -> TornadoSheet:
    bars = []
    chance = [labels[m.name] for m in output.main if m.chance]
    for m in sorted(output.main, key=lambda m: -abs(m.effect)):
        if m.chance:
            continue
        low, high = m.levels[m.low], m.levels[m.high]
        rises = None if low.value is None else m.effect >= 0.0
        ends = (low.mean or 0.0, high.mean or 0.0, low.label, high.label)
        bars.append(TornadoBar(labels[m.name], *ends, rises))
    note = (
        "From the lowest to the highest mean over all other parameters; beside each end the value "
        f"of the parameter; dashed: mean of all. {_left_out(output.designs, output.missing)}"
    )
    if chance:
        note += f" Left out, no more than chance: {', '.join(chance)}."
    title = f"What moves {output.label} most"
    return TornadoSheet(title, output.text, output.mean or 0.0, tuple(bars), note)


def _indices(output: OutputEffects, labels: dict[str, str]) -> IndexSheet:
    bars = tuple(
        IndexBar(
            labels[i.name],
            (i.first, i.first_low, i.first_high),
            (i.total, i.total_low, i.total_high),
        )
        for i in output.indices
    )
    note = f"Bounds: 95 %, bootstrap over {output.samples} base samples"
    note += f"; {output.dropped} dropped for missing values." if output.dropped else "."
    return IndexSheet(f"Sobol indices of {output.label}", bars, note)


def _telling(answer: Effects, output: OutputEffects) -> Map:
    """Over the two parameters that move it most."""
    names = [p.name for p in answer.columns.parameters]
    across, up = (names.index(m.name) for m in output.main[:2])
    place = [o.name for o in answer.columns.outputs].index(output.name)
    return map_of(answer.columns, across, up, place)


def _map(answer: Effects, found: Map) -> MapSheet:
    smooth = _is_smooth(found.x) and _is_smooth(found.y)
    said = "Mean over all other parameters" if len(answer.columns.parameters) > 2 else "One design"
    said += " at each dot; lines join equal values." if smooth else " in each cell."
    if found.x.binned or found.y.binned:
        said = "Mean in each cell; designs are sampled, and the other parameters vary within it."
    if np.isnan(found.mean[found.designs > 0]).any():
        said += " Hatched: no design there has a value."
    if missing := int(found.missing.sum()):
        said += f" {missing} of {int(found.designs.sum())} designs have no value."
    title = f"{_capital(found.output.label)} over {found.across.label} and {found.up.label}"
    return MapSheet(
        title, _group_axis(found.across, found.x, smooth), _group_axis(found.up, found.y, smooth),
        found.output.text, found.mean, found.designs, found.missing, smooth, said,
    )  # fmt: skip


def _is_smooth(grouping: Grouping) -> bool:
    return grouping.middles is not None and not grouping.binned and grouping.size >= _SMOOTH


def _group_axis(column: Column, grouping: Grouping, smooth: bool) -> Axis:
    if smooth and grouping.middles is not None:
        return Axis(column.text, grouping.middles)
    return Axis(column.text, np.arange(grouping.size, dtype=float), grouping.labels)


def _front(answer: Effects) -> FrontSheet:
    assert answer.front is not None
    aims = answer.front.aims
    values = answer.columns.y[:, [a.column for a in aims]]
    on = np.zeros(len(values), dtype=bool)
    on[list(answer.front.designs)] = True
    known = np.isfinite(values).all(axis=1)
    note = (
        f"Coloured: the {len(answer.front.designs)} of {answer.front.compared} designs that no "
        "other beats in all aims; grey: the others."
    )
    if left := int((~known).sum()):
        note += f" {left} without a value left out."
    return FrontSheet(
        "Pareto front", tuple(a.text for a in aims), tuple(a.more for a in aims), values[known],
        on[known], note,
    )  # fmt: skip


def _scatters(answer: Effects) -> Iterator[tuple[str, ScatterSheet]]:
    columns = answer.columns
    names = [o.name for o in columns.outputs]
    outputs = [names.index(o.name) for o in answer.outputs if o.lowest is not None]
    known = np.flatnonzero(np.isfinite(columns.y[:, outputs]).any(axis=1))
    if len(known) < 2:
        return
    rows = known
    if len(known) > _MOST_POINTS:  # at random: regular steps would fall in with those of a grid
        rng = np.random.default_rng(columns.seed)
        rows = np.sort(rng.choice(known, _MOST_POINTS, replace=False))
    x = [_scatter_axis(columns, i, rows) for i in range(len(columns.parameters))]
    y = [Axis(columns.outputs[j].text, columns.y[rows, j]) for j in outputs]
    counted = _left_out(answer.designs - answer.without, answer.without)
    note = f"Every dot is a design; r: correlation. {counted}"
    if len(rows) < len(known):
        note += f" {len(rows)} are drawn, taken at random."
    sheets = [
        (x[a : a + _MOST_COLUMNS], y[b : b + _MOST_ROWS])
        for a in range(0, len(x), _MOST_COLUMNS)
        for b in range(0, len(y), _MOST_ROWS)
    ]
    for number, (across, up) in enumerate(sheets, start=1):
        file = "scatter" if len(sheets) == 1 else f"scatter_{number}"
        yield file, ScatterSheet("Outputs over parameters", tuple(across), tuple(up), note)


def _scatter_axis(columns: Columns, i: int, rows: np.ndarray) -> Axis:
    column, values = columns.parameters[i], columns.x[i][rows]
    if values.dtype == float:
        return Axis(column.text, values)
    grouping = by_level(column, values)
    return Axis(column.text, grouping.codes.astype(float), grouping.labels)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
