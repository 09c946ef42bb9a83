"""A study in chunks of neighbouring designs."""

from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True)
class Span:
    """Chunk ``number``: designs start … stop − 1, counted from 0."""

    number: int
    start: int
    stop: int

    @property
    def rows(self) -> int:
        return self.stop - self.start


def usual_chunk(total: int) -> int:
    """Designs in a chunk: many enough to be solved side by side and to keep files few, few enough
    that all workers have some and that little is lost when one dies."""
    return min(max(total // 32, 16), 256)


def count(total: int, chunk: int) -> int:
    """How many chunks."""
    return -(-total // chunk)


def span(number: int, total: int, chunk: int) -> Span:
    start = number * chunk
    return Span(number, start, min(start + chunk, total))


def spans(total: int, chunk: int) -> Iterator[Span]:
    """All of them, in order."""
    return (span(number, total, chunk) for number in range(count(total, chunk)))
