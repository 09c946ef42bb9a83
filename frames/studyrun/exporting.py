"""A study's table as one file, row by row in the order of the designs, whole or not at all."""

from pathlib import Path

from frames.atomic import whole
from frames.studyrun.columns import schema
from frames.studyrun.layout import existing_index
from frames.studyrun.reading import batches


def write_csv(folder: str | Path, path: str | Path) -> None:
    """The table as CSV: one heading row, an empty field where there is no number.  Raises OSError
    when ``path`` cannot be written, `FolderError`."""
    from pyarrow import csv

    columns = schema(existing_index(Path(folder)).columns)
    with whole(path) as beside, csv.CSVWriter(str(beside), columns) as file:
        for batch in batches(folder):
            file.write_batch(batch)


def write_parquet(folder: str | Path, path: str | Path) -> None:
    """The table as one Parquet file.  Raises OSError when ``path`` cannot be written,
    `FolderError`."""
    from pyarrow import parquet

    columns = schema(existing_index(Path(folder)).columns)
    with whole(path) as beside, parquet.ParquetWriter(str(beside), columns) as file:
        for batch in batches(folder):
            file.write_batch(batch)
