"""How many rows have numbers, and why the others have none."""

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

_NUMBER = re.compile(r"(?<![\w.])[-+−]?\d+(?:\.\d+)?(?:e[-+]?\d+)?(?!\w)")
MOST = 1000
OTHER = "other reasons"


@dataclass
class Tally:
    """Reasons that differ in their numbers alone are counted together under the first of them;
    beyond `MOST` of them the rest is one."""

    solved: int = 0
    _counts: Counter[str] = field(default_factory=Counter)
    _first: dict[str, str] = field(default_factory=dict)
    _varied: set[str] = field(default_factory=set)

    def add(self, reasons: Iterable[str | None]) -> None:
        for reason in reasons:
            if reason is None:
                self.solved += 1
                continue
            kind = _NUMBER.sub("#", reason)
            if kind not in self._counts and len(self._counts) >= MOST:
                kind = reason = OTHER
            if self._first.setdefault(kind, reason) != reason:
                self._varied.add(kind)
            self._counts[kind] += 1

    def reasons(self) -> tuple[tuple[str, int], ...]:
        """The reasons and how many rows have each, most frequent first."""
        ordered = sorted(self._counts.items(), key=lambda item: (-item[1], item[0]))
        return tuple((self._words(kind), number) for kind, number in ordered)

    def _words(self, kind: str) -> str:
        return self._first[kind] + (" (and with other numbers)" if kind in self._varied else "")
