"""The tables of a study file."""

import math
from typing import Annotated, Any, ClassVar, Literal

from pydantic import AfterValidator, BeforeValidator, Field
from pydantic_core import PydanticCustomError

from frames.casefile.fields import (
    TEXT,
    Flag,
    Name,
    Needs,
    OneOf,
    Part,
    Real,
    Rule,
    Text,
    Whole,
    between,
)

Method = Literal["grid", "list", "latin hypercube", "sobol sequence", "random", "saltelli"]
SAMPLED = ("latin hypercube", "sobol sequence", "random", "saltelli")
"""Methods that draw their values."""

TARGETS = ("path", "paths", "crossing_deg_of", "wires_per_ring_of", "ring_size_of")
"""Keys that say what a parameter changes."""


def _level(value: Any) -> Any:
    if isinstance(value, bool):
        return value
    if isinstance(value, str):
        if value and len(value) <= 200 and value.isprintable():
            return value
        raise PydanticCustomError(TEXT, "must be a word or a line of at most 200 characters")
    if isinstance(value, (int, float)) and abs(value) < 1e300 and not math.isnan(value):
        return value
    raise PydanticCustomError(TEXT, "must be a finite number, a word in quotes, true or false")


Level = Annotated[Any, AfterValidator(_level)]
"""A value that a parameter takes."""

Rings = Annotated[
    tuple[Name, ...],
    BeforeValidator(lambda given: (given,) if isinstance(given, str) else given),
]
"""Names of rings; "all" for every one that can be meant."""


class StudyInfo(Part):
    """title. case : the case file, from the folder of the study file. method : "grid", every
    combination of all values; "list", row by row; or one that draws: "latin hypercube", "sobol
    sequence", "random", "saltelli" (for Sobol indices). designs : how many are drawn; with
    "saltelli" the number of rows of its two base samples, of (parameters + 2) times as many
    designs. seed : another one draws other values. collisions : "refuse" designs in which a wire or
    half-pin runs through another part (in the case itself none may), or "ignore" it."""

    title: Text
    case: Text
    method: Method = "grid"
    designs: Whole | None = between(1, 10_000_000, None)
    seed: Whole = between(0, 2**32 - 1, 0)
    collisions: Literal["refuse", "ignore"] = "refuse"


class RingSize(Part):
    """A ring's inner diameter with its section; hole_circle_mm: the middle of the width unless
    given."""

    inner_diameter_mm: Real = between(10.0, 1000.0)
    width_mm: Real = between(1.0, 100.0)
    thickness_mm: Real = between(0.5, 100.0)
    hole_circle_mm: Real | None = between(10.0, 1200.0, None)


class ParameterTable(Part):
    """What varies, and how.

    path or paths : keys of the case that take the value together. crossing_deg_of : the angle
    between the two wires of these rings, about their present middle bearing. wires_per_ring_of :
    how many wires these rings carry. ring_size_of with sizes : rings by inner diameter.
    each : every part that * stands for varies by itself. relative : the value multiplies the
    number of the case.

    values : these; low, high and steps : so many from low to high; distribution : drawn from it.
    """

    rules: ClassVar[tuple[Rule, ...]] = (
        OneOf(tuple((key,) for key in TARGETS)),
        OneOf((("values",), ("steps",), ("distribution",), ("sizes",)), required=False),
        Needs("mean", ("distribution",)),
        Needs("sd", ("distribution",)),
        Needs("mode", ("distribution",)),
        Needs("sizes", ("ring_size_of",)),
        Needs("ring_size_of", ("sizes",)),
        Needs("each", ("path", "paths")),
        Needs("relative", ("path", "paths")),
    )

    name: Name
    label: Text | None = None
    path: Text | None = None
    paths: tuple[Text, ...] | None = Field(default=None, min_length=1, max_length=1000)
    crossing_deg_of: Rings | None = Field(default=None, min_length=1, max_length=100)
    wires_per_ring_of: Rings | None = Field(default=None, min_length=1, max_length=100)
    ring_size_of: Rings | None = Field(default=None, min_length=1, max_length=100)
    each: Flag = False
    relative: Flag = False
    values: tuple[Level, ...] | None = Field(default=None, min_length=1, max_length=10_000)
    low: Real | None = None
    high: Real | None = None
    steps: Whole | None = between(2, 10_000, None)
    distribution: Literal["uniform", "normal", "triangular"] | None = None
    mean: Real | None = None
    sd: Real | None = None
    mode: Real | None = None
    sizes: tuple[RingSize, ...] | None = Field(default=None, min_length=1, max_length=100)


class CorrelationTable(Part):
    """Parameters of which every two go together. coefficient : Pearson's, of the underlying normal
    variables."""

    parameters: tuple[Name, ...] = Field(min_length=1, max_length=1000)
    coefficient: Real = between(-0.999, 0.999)


class OutputTable(Part):
    """quantity : of a target, or "wires", "mass_g" and so on. load : under which, "*" for all."""

    quantity: Name
    load: Text | None = None


class StudyTables(Part):
    """A whole study file."""

    study: StudyInfo
    parameter: tuple[ParameterTable, ...] = Field(min_length=1, max_length=1000)
    correlation: tuple[CorrelationTable, ...] = Field(default=(), max_length=1000)
    output: tuple[OutputTable, ...] = Field(default=(), max_length=1000)


REPEATED: dict[str, type[Part]] = {
    "parameter": ParameterTable,
    "correlation": CorrelationTable,
    "output": OutputTable,
}
"""Tables that may occur many times."""
