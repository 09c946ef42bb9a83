"""A study folder while a run is at work in it.

Rows land as they are finished: each part is written whole, then the index.  The index of a large
study is long, so that it is written at most so often that writing it takes a twentieth of the time;
a run that is killed may leave parts that the index does not know.  They are taken over when their
checksums hold and they say that they belong to this study.
"""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from time import monotonic

from frames.atomic import write_whole
from frames.studyrun import index as index_file
from frames.studyrun.columns import part_bytes
from frames.studyrun.index import Index, Part, sha256
from frames.studyrun.layout import (
    ABOUT,
    DamagedPart,
    own_words,
    part_number,
    part_path,
    read_part,
    said_of,
)
from frames.studyrun.problems import not_written
from frames.studyrun.solving import Solved
from frames.studyrun.spans import Span, span, spans
from frames.studyrun.tally import Tally

SHARE = 20.0
"""Time between writings of the index, in times that writing it takes."""


@dataclass
class StudyFolder:
    """index: what is finished; notes: what was found wrong and is made again."""

    path: Path
    index: Index
    notes: list[str]
    tally: Tally = field(default_factory=Tally)
    _written: float = -1e9
    _took: float = 0.0

    def missing(self) -> Iterator[Span]:
        done = set(self.index.parts)
        found = spans(self.index.total, self.index.chunk)
        return (s for s in found if s.number not in done)

    def keep(self, at: Span, rows: Sequence[Solved]) -> None:
        """Write the rows of a chunk.  Raises `FolderError`."""
        words = {ABOUT: json.dumps(own_words(self.index, at.number))}
        content = part_bytes(self.index.columns, at.start, rows, words)
        path = part_path(self.path, at.number)
        try:
            write_whole(path, content)
        except OSError as error:
            raise not_written(path, error) from error
        self.index.parts[at.number] = Part(at.rows, sha256(content))
        self.tally.add(row.reason for row in rows)
        if monotonic() - self._written > SHARE * self._took:
            self.write_index()

    def write_index(self) -> None:
        """Raises `FolderError`."""
        began = monotonic()
        path = self.path / index_file.NAME
        try:
            write_whole(path, self.index.to_text())
        except OSError as error:
            raise not_written(path, error) from error
        self._written = monotonic()
        self._took = self._written - began

    def take_over(self) -> None:
        """Check the parts that are there; what is damaged is taken out with a note."""
        listed = dict(self.index.parts)
        self.index.parts.clear()
        there = {part_number(p): p for p in part_path(self.path, 0).parent.glob("part-*.parquet")}
        for number in sorted({*listed, *(n for n in there if n is not None)}):
            try:
                self.index.parts[number] = self._checked(number, listed.get(number))
            except DamagedPart as error:
                again = "its rows are made again"
                self.notes.append(f"{part_path(self.path, number).name} {error}: {again}.")
            except OSError as error:
                raise not_written(part_path(self.path, number), error) from error

    def _checked(self, number: int, known: Part | None) -> Part:
        table, part = read_part(self.path, number, known)
        own = span(number, self.index.total, self.index.chunk)
        mine = said_of(table) == own_words(self.index, number)
        if not mine or part.rows != own.rows or own.start >= self.index.total:
            raise DamagedPart("does not belong to this study")
        self.tally.add(table.column("reason").to_pylist())
        return part
