"""Weeks after the operation: how callus stiffens, what is asked of its movement, use of the leg."""

from typing import Annotated, ClassVar

from pydantic import Field

from frames.casefile.fields import SOURCE, Name, OneOf, Part, Real, Rule, Text, between

Time = Annotated[Real, Field(ge=0.0, le=260.0)]
Number = Annotated[Real, Field(ge=0.0, le=1e5)]

_CURVE = (
    "own choice; its scale brings common bones to 15 N·m/deg after the published mean time in a "
    "frame of 25.5 weeks (BMC Musculoskelet Disord 2024;25:353)"
)


class Healing(Part):
    """The curve that callus follows, and what is asked of its movement.

    week, E_MPa : points of the curve of its modulus, in the order of time; between them its
    logarithm runs straight. every_weeks : how far apart the answers are. movement_at_most_mm :
    across the fracture plane at any point of the cortex; strain_at_most_percent : the same over the
    width of the gap. strain_by_week_percent : in its place, a limit for each of week, between them
    straight in its logarithm. steps_per_day : of this leg.
    """

    rules: ClassVar[tuple[Rule, ...]] = (
        OneOf((("strain_at_most_percent",), ("strain_by_week_percent",)), required=False),
    )

    week: tuple[Time, ...] = Field(
        default=(0.0, 4.0, 8.0, 12.0, 16.0, 20.0, 24.0, 28.0),
        min_length=2,
        max_length=200,
        json_schema_extra={SOURCE: _CURVE},
    )
    E_MPa: tuple[Number, ...] = Field(
        default=(0.1, 0.4, 1.5, 6.0, 20.0, 45.0, 75.0, 110.0),
        min_length=2,
        max_length=200,
        json_schema_extra={SOURCE: _CURVE},
    )
    every_weeks: Real = between(0.5, 52.0, 2.0, "own choice, no source")
    movement_at_most_mm: Real = between(
        0.01, 100.0, 1.0, "upper end of useful movement, Goodship and Kenwright; Claes, from memory"
    )
    strain_at_most_percent: Real = between(
        0.01, 1000.0, 100.0, "limit of granulation tissue, Perren 1978 and 1979, from memory"
    )
    strain_by_week_percent: tuple[Number, ...] | None = Field(
        default=None, min_length=2, max_length=200
    )
    steps_per_day: Real = between(0.0, 50_000.0, 2000.0, "own choice, no source")


class Activity(Part):
    """Something a leg does, and the peak force along the shin it brings.

    times_body_weight : that force over body weight. source : who measured it.
    """

    name: Name
    times_body_weight: Real = between(0.01, 20.0)
    source: Text | None = None
