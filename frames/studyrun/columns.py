"""Columns of a study's table, and its rows as Parquet.

The type of a column follows from the study, never from the rows at hand: whatever is in them, all
parts of a table agree.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from io import BytesIO
from itertools import chain
from typing import TYPE_CHECKING, Any

from frames.studyfile.study import Value
from frames.studyrun.problems import StudyRunError
from frames.studyrun.solving import Solved

if TYPE_CHECKING:
    import pyarrow as pa

    from frames.studyfile import Study

LOOKED_AT = 64  # designs whose values tell whether a parameter counts or measures


@dataclass(frozen=True)
class Column:
    """type: "int64", "double", "bool" or "string"."""

    name: str
    type: str


def columns(study: "Study") -> tuple[Column, ...]:
    """design, the parameters, the outputs, reason."""
    first = study.values(0, min(study.total, LOOKED_AT))
    found = [Column("design", "int64")]
    for i, parameter in enumerate(study.parameters):
        known = chain(parameter.levels or (), (row[i] for row in first))
        found.append(Column(parameter.name, _type(known)))
    found += [Column(output.name, "double") for output in study.outputs]
    found.append(Column("reason", "string"))
    names = [c.name for c in found]
    if twice := sorted({n for n in names if names.count(n) > 1}):
        raise StudyRunError(f'two columns would be called "{twice[0]}"; name the parameter anew.')
    return tuple(found)


def _type(values: Iterable[Value]) -> str:
    kinds = {type(_plain(v)) for v in values}
    if kinds == {bool}:
        return "bool"
    if kinds == {int}:
        return "int64"
    return "double" if kinds <= {int, float} else "string"


def _plain(value: Any) -> Value:
    """Numbers of numpy as Python's."""
    plain: Value = value.item() if hasattr(value, "item") else value
    return plain


_OF_TYPE = {"int64": int, "double": float, "bool": bool, "string": str}


def schema(found: Sequence[Column]) -> "pa.Schema":
    import pyarrow as pa

    types = {"int64": pa.int64(), "double": pa.float64(), "bool": pa.bool_(), "string": pa.string()}
    return pa.schema([pa.field(c.name, types[c.type]) for c in found])


def part_bytes(
    found: Sequence[Column], first: int, rows: Sequence[Solved], about: Mapping[str, str]
) -> bytes:
    """The rows of designs ``first`` … as a Parquet file that carries the words of ``about``."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    parameters = len(rows[0].values)
    by_row = [(first + i, *r.values, *r.outputs, r.reason) for i, r in enumerate(rows)]
    assert len(by_row[0]) == len(found) == parameters + len(rows[0].outputs) + 2
    arrays = [
        pa.array([_converted(v, c.type) for v in column], type=field.type)
        for column, c, field in zip(zip(*by_row, strict=True), found, schema(found), strict=True)
    ]
    table = pa.table(arrays, schema=schema(found).with_metadata(about))
    out = BytesIO()
    pq.write_table(table, out, write_page_checksum=True)
    return out.getvalue()


def _converted(value: Value | None, kind: str) -> Value | None:
    return None if value is None else _OF_TYPE[kind](_plain(value))


def part_table(content: bytes) -> "pa.Table":
    """A part read back, its checksums checked.  Raises ``pyarrow.ArrowException`` or OSError."""
    import pyarrow.parquet as pq

    # without threads: those of pyarrow can bring a process down at its end
    file = pq.ParquetFile(BytesIO(content), page_checksum_verification=True, pre_buffer=False)
    return file.read(use_threads=False)
