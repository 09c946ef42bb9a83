"""Numbers of many designs: one row each."""

from collections.abc import Sequence
from dataclasses import dataclass

from fem import FemError
from frames.bulk.single import single_row
from frames.casefile import Case
from frames.outputs import Output


@dataclass(frozen=True)
class Row:
    """values in the order of the outputs, None where a design has none; reason: why it has none,
    in one sentence, None for a design with all its values."""

    values: tuple[float | None, ...]
    reason: str | None = None


def evaluate(cases: Sequence[Case], outputs: Sequence[Output]) -> list[Row]:
    """The outputs of every case, in order. A frame that cannot be solved has its reason in place of
    values."""
    rows = []
    for case in cases:
        try:
            rows.append(Row(single_row(case, outputs)))
        except FemError as error:
            rows.append(Row((None,) * len(outputs), " ".join(str(error).split())))
    return rows
