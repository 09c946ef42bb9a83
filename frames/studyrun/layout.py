"""Where things lie in a study folder, and reading them.

study.toml case.toml   the study and its case: the folder can be run again from itself
index.json             settings, and which parts are there with the SHA-256 of each
parts/part-000012.parquet   the rows of chunk 12
lock                   held by the run at work
"""

import json
from pathlib import Path
from typing import TYPE_CHECKING

from frames.studyrun import index
from frames.studyrun.columns import part_table
from frames.studyrun.index import Index, Part, UnreadableIndex, index_from_text, sha256
from frames.studyrun.problems import FolderError

if TYPE_CHECKING:
    import pyarrow as pa

STUDY, CASE, PARTS = "study.toml", "case.toml", "parts"
ABOUT = "tautring study part"
"""Key in a part's own words: which study and chunk it belongs to."""


class DamagedPart(Exception):
    """A part that is lost or not what it was; the text says which of the two."""


def part_path(folder: Path, number: int) -> Path:
    return folder / PARTS / f"part-{number:06d}.parquet"


def part_number(path: Path) -> int | None:
    digits = path.stem.removeprefix("part-")
    return int(digits) if digits.isdecimal() else None


def own_words(settings: Index, number: int) -> dict[str, object]:
    """What a part says of itself."""
    return {
        "study": settings.study_sha256,
        "case": settings.case_sha256,
        "software": settings.software,
        "chunk": settings.chunk,
        "number": number,
    }


def said_of(table: "pa.Table") -> dict[str, object]:
    """The own words of a part that was read; empty when it has none."""
    metadata = table.schema.metadata or {}
    words: dict[str, object] = json.loads(metadata.get(ABOUT.encode(), b"{}"))
    return words


def read_index(folder: Path) -> Index:
    """Raises `UnreadableIndex`, OSError."""
    try:
        text = (folder / index.NAME).read_text(encoding="utf-8")
    except FileNotFoundError as error:
        raise UnreadableIndex("it is not there") from error
    except UnicodeDecodeError as error:
        raise UnreadableIndex("it is no text") from error
    return index_from_text(text)


def existing_index(folder: Path) -> Index:
    """Index of a folder that is to be read.  Raises `FolderError`."""
    try:
        return read_index(folder)
    except UnreadableIndex as error:
        known = (folder / STUDY).exists()
        then = f"make it anew with: tautring study {folder}" if known else "is it a study folder?"
        raise FolderError(f"{folder / index.NAME}: {error}; {then}") from error
    except OSError as error:
        raise FolderError(f"cannot read {folder / index.NAME}: {error.strerror}.") from error


def read_part(folder: Path, number: int, known: Part | None) -> "tuple[pa.Table, Part]":
    """A part's rows, checked against the index, or without one against its own checksums.

    Raises `DamagedPart`, OSError other than for a file that is not there.
    """
    import pyarrow as pa

    try:
        content = part_path(folder, number).read_bytes()
    except FileNotFoundError as error:
        raise DamagedPart("was lost") from error
    digest = sha256(content)
    if known is not None and digest != known.sha256:
        raise DamagedPart("was damaged")
    try:
        table = part_table(content)
    except (pa.ArrowException, OSError, ValueError) as error:
        raise DamagedPart("was damaged") from error
    return table, Part(table.num_rows, digest)
