"""What does not fit, in words, with a key that stays the same when numbers change a little."""

from dataclasses import dataclass


@dataclass(frozen=True)
class FitProblem:
    """kind of problem, the parts it is about, the sentence for a reader. unknown: nothing is known
    to be wrong, but what is needed to judge is missing from the case."""

    kind: str
    parts: tuple[str, ...]
    message: str
    unknown: bool = False

    @property
    def key(self) -> tuple[str, ...]:
        """Kind and parts: to tell whether a change of the frame brings a new problem."""
        return (self.kind, *self.parts)
