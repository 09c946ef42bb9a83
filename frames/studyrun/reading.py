"""A study folder read back."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from frames.casefile import CaseError, load_case
from frames.casefile.reading import read_text
from frames.studyrun.columns import schema
from frames.studyrun.index import Index
from frames.studyrun.layout import (
    CASE,
    STUDY,
    DamagedPart,
    existing_index,
    part_path,
    read_part,
)
from frames.studyrun.problems import FolderError
from frames.studyrun.spans import count

if TYPE_CHECKING:
    import pandas as pd
    import pyarrow as pa

    from frames.studyfile import Study


def open_study(folder: str | Path) -> "Study":
    """The study that a folder keeps.  Raises `FolderError`."""
    from frames.studyfile import study_from_text

    folder = Path(folder)
    path = folder / STUDY
    if not path.exists():
        raise FolderError(f"{folder}: this is no study folder: there is no {STUDY} in it.")
    try:
        text = read_text(path, "study file")
        return study_from_text(text, load_case(folder / CASE), STUDY)
    except CaseError as error:
        raise FolderError(f"{folder}: {error}") from error


def batches(folder: str | Path, *, unfinished: bool = False) -> "Iterator[pa.RecordBatch]":
    """Rows in the order of the designs, a part at a time: memory does not grow with the study.

    Every part is checked against the index.  Raises `FolderError` for a part that is damaged, and
    unless ``unfinished`` also before the first row when rows are missing.
    """
    folder = Path(folder)
    index = existing_index(folder)
    if not unfinished:
        _refuse_unfinished(folder, index)
    return _batches(folder, index)


def _batches(folder: Path, index: Index) -> "Iterator[pa.RecordBatch]":
    plain = schema(index.columns)
    for number, known in sorted(index.parts.items()):
        try:
            table, _ = read_part(folder, number, known)
        except DamagedPart as error:
            raise FolderError(
                f"{part_path(folder, number)} {error}; make its rows again with: "
                f"tautring study {folder}"
            ) from error
        except OSError as error:
            raise FolderError(f"cannot read {part_path(folder, number)}: {error}.") from error
        yield from table.cast(plain).to_batches()


def study_table(folder: str | Path, *, unfinished: bool = False) -> "pd.DataFrame":
    """All rows as a table, in the order of the designs.

    Columns: design (from 0), the parameters, the outputs (float, NaN where there is none), reason
    (text, None for a design with its numbers).  Raises `FolderError`; with ``unfinished`` a folder
    whose rows are not all there gives those it has.
    """
    import pyarrow as pa

    found = list(batches(folder, unfinished=unfinished))
    table = pa.Table.from_batches(found, schema(existing_index(Path(folder)).columns))
    frame = table.to_pandas(use_threads=False)
    reason = frame["reason"].astype(object)
    frame["reason"] = reason.where(reason.notna(), None)
    return frame


def _refuse_unfinished(folder: Path, index: Index) -> None:
    if len(index.parts) < count(index.total, index.chunk):
        raise FolderError(
            f"{folder}: {index.rows:,} of {index.total:,} designs are there; go on with: "
            f"tautring study {folder}"
        )
