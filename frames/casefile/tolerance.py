"""How far the frame that is built may be from the one that was planned."""

from typing import ClassVar, Literal

from pydantic import Field

from frames.casefile.fields import Flag, OneOf, Part, Real, Rule, Text, between, sourced


class Tolerance(Part):
    """How far numbers of the case may lie from what the file says.

    path, or paths : the numbers, as "bone.gap_mm", "wire.W1.tension_N", "ring.*.level_mm" (* stands
    for all). plus_minus : to either side, in the unit of the key; or plus_minus_percent : of each
    value. distribution : "normal", where plus_minus is two standard deviations (95 % of all lie
    within it); "uniform", each value within it as likely as any other; "triangular", most likely
    in the middle and never beyond it. together : all these numbers are off alike (one instrument
    that reads wrong); else each by itself. source : who says so.
    """

    rules: ClassVar[tuple[Rule, ...]] = (
        OneOf((("path",), ("paths",))),
        OneOf((("plus_minus",), ("plus_minus_percent",))),
    )

    path: Text | None = None
    paths: tuple[Text, ...] | None = Field(default=None, min_length=1, max_length=100)
    plus_minus: Real | None = between(1e-9, 1e6, None)
    plus_minus_percent: Real | None = between(1e-6, 200.0, None)
    distribution: Literal["normal", "uniform", "triangular"] = sourced(
        "normal", "own choice, no source"
    )
    together: Flag = False
    source: Text | None = None

    @property
    def all_paths(self) -> tuple[str, ...]:
        """Of path or paths."""
        return self.paths or (self.path or "",)
