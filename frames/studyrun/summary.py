"""What a run has come to."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from frames.caution import CAUTION
from frames.lines import Line, number, wrapped

SHOWN = 5


@dataclass(frozen=True)
class Summary:
    """total: designs of the study; rows: those in the folder; solved: those with numbers; reasons:
    why the others have none and how many they are, most frequent first; made: rows that this run
    added, in so many seconds; notes: what was found wrong in the folder."""

    title: str
    folder: Path
    total: int
    rows: int
    solved: int
    reasons: tuple[tuple[str, int], ...]
    made: int
    seconds: float
    where: str
    notes: tuple[str, ...] = ()

    @property
    def complete(self) -> bool:
        return self.rows == self.total

    @property
    def rate(self) -> float:
        """Designs per second of this run; 0 when it had nothing to do."""
        return self.made / self.seconds if self.made else 0.0

    def to_dict(self) -> dict[str, Any]:
        return {
            "title": self.title,
            "folder": str(self.folder),
            "total": self.total,
            "rows": self.rows,
            "solved": self.solved,
            "reasons": [{"reason": r, "rows": n} for r, n in self.reasons],
            "made": self.made,
            "seconds": self.seconds,
            "rate_per_s": self.rate,
            "notes": list(self.notes),
        }

    def lines(self) -> Iterator[Line]:
        yield Line(self.title, "heading")
        for note in self.notes:
            yield from wrapped(note, "  ", "warning", "  ")
        without = self.rows - self.solved
        of = "" if self.complete else f" of {self.total:,}"
        yield Line(f"  {self.rows:,}{of} designs in the table, {self.solved:,} of them solved")
        if without:
            yield Line(f"  {without:,} without numbers, with the reason in their row:", "warning")
            wide = len(f"{self.reasons[0][1]:,}")
            for reason, rows in self.reasons[:SHOWN]:
                yield from wrapped(reason, " " * (wide + 6), "", f"    {rows:>{wide},}  ")
            if more := self.reasons[SHOWN:]:
                rest = sum(rows for _, rows in more)
                yield Line(f"    {rest:>{wide},}  for {len(more)} other reasons")
        if self.made:
            yield Line(
                f"  {self.made:,} computed now in {duration(self.seconds)}, "
                f"{number(self.rate)} per second, {self.where}"
            )
        else:
            yield Line("  all were there already")
        if self.solved:
            yield Line(f"  What they say: tautring effects {self.folder}")
        yield Line("")
        yield from wrapped(CAUTION, "", "faint")


def duration(seconds: float) -> str:
    """In words, to two places at most: 41 s, 3 min 20 s, 2 h 05 min."""
    if seconds < 10:
        return f"{seconds:.1f} s"
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60:02d} s"
    minutes = round(seconds / 60)
    return f"{minutes // 60} h {minutes % 60:02d} min"
