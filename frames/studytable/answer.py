"""What the table of a study says: effects, interactions, indices, the front, maps."""

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from frames.caution import CAUTION
from frames.lines import Line
from frames.studytable.choosing import aims_named, map_named, outputs_named
from frames.studytable.columns import Columns, columns_of
from frames.studytable.effects_of import output_effects
from frames.studytable.front import Front, front_of
from frames.studytable.mapping import Map, map_of
from frames.studytable.notes import notes_of
from frames.studytable.parts import OutputEffects


@dataclass(frozen=True)
class Effects:
    """columns : the table it comes from. outputs : those asked for. front : None when fewer than
    two outputs to compare are there. map : the one asked for. notes : what the way the designs were
    chosen allows to say, in sentences."""

    columns: Columns
    outputs: tuple[OutputEffects, ...]
    front: Front | None
    map: Map | None
    notes: tuple[str, ...]

    @property
    def designs(self) -> int:
        return len(self.columns.y)

    @property
    def without(self) -> int:
        """Designs that have a reason instead of values."""
        return sum(count for _, count in self.columns.reasons())

    def values(self, design: int) -> dict[str, Any]:
        """Parameters of a design by name."""
        pairs = zip(self.columns.parameters, self.columns.x, strict=True)
        return {p.name: _plain(x[design]) for p, x in pairs}

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file."""
        columns = self.columns
        return {
            "format": "tautring effects",
            "version": 1,
            "title": columns.title,
            "method": columns.method,
            "designs": self.designs,
            "without_values": self.without,
            "reasons": [{"reason": r, "designs": n} for r, n in columns.reasons()],
            "notes": list(self.notes),
            "parameters": [
                {"name": p.name, "label": p.label, "unit": p.unit} for p in columns.parameters
            ],
            "outputs": [_without_empty(asdict(o)) for o in self.outputs],
            "front": None if self.front is None else self._front(self.front),
            "map": None if self.map is None else _map(self.map),
            "caution": CAUTION,
        }

    def _front(self, front: Front) -> dict[str, Any]:
        y = self.columns.y
        return {
            "aims": [{"name": a.name, "unit": a.unit, "more": a.more} for a in front.aims],
            "compared": front.compared,
            "designs": [
                {
                    "design": d,
                    "parameters": self.values(d),
                    "outputs": {a.name: float(y[d, a.column]) for a in front.aims},
                }
                for d in front.designs
            ],
        }

    def lines(self) -> Iterator[Line]:
        """As text."""
        from frames.studytable.text import effects_lines

        return effects_lines(self)


def effects(
    study: Any,
    table: Any,
    *,
    outputs: Sequence[str] = (),
    more: Sequence[str] = (),
    less: Sequence[str] = (),
    over: Sequence[str] | None = None,
) -> Effects:
    """Answers from the table of a study.

    study : as ``frames.studyrun.open_study`` gives it; table : its DataFrame
    (``frames.studyrun.study_table``). outputs : names of those to answer for, all when empty.
    more, less : outputs that should be large, small, for the front. over : two parameters and an
    output of a map. Raises ``AskingError`` for names that the study does not have.
    """
    columns = columns_of(study, table)
    chosen = outputs_named(columns, outputs)
    aims = aims_named(columns, more, less)
    found = tuple(output_effects(columns, j) for j in chosen)
    return Effects(
        columns,
        found,
        front_of(aims, columns.y) if len(aims) > 1 else None,
        None if over is None else map_of(columns, *map_named(columns, over)),
        tuple(notes_of(columns, found)),
    )


def _plain(value: Any) -> Any:
    return value.item() if isinstance(value, np.generic) else value


def _without_empty(output: dict[str, Any]) -> dict[str, Any]:
    return {k: v for k, v in output.items() if v not in ("", (), 0) or k in ("designs", "missing")}


def _map(found: Map) -> dict[str, Any]:
    rows = [[None if np.isnan(v) else float(v) for v in row] for row in found.mean]
    return {
        "across": found.across.name,
        "up": found.up.name,
        "output": found.output.name,
        "across_levels": list(found.x.labels),
        "up_levels": list(found.y.labels),
        "mean": rows,
        "designs": found.designs.tolist(),
        "missing": found.missing.tolist(),
    }
