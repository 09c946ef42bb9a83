"""Weeks after the operation: how callus stiffens, how much the leg is used."""

from typing import Annotated

from pydantic import Field

from frames.casefile.fields import Part, Real, between

Number = Annotated[Real, Field(ge=0.0, le=1e6)]


class Healing(Part):
    """The curve that callus follows, and what is asked of its strain.

    week, E_MPa : points of the curve of its modulus, in the order of time; between them its
    logarithm runs straight. strain_at_most_percent : of the callus at any point of the cortex.
    steps_per_day : of this leg.
    """

    week: tuple[Number, ...] = Field(
        default=(0.0, 4.0, 8.0, 12.0, 16.0, 24.0), min_length=2, max_length=200
    )
    E_MPa: tuple[Number, ...] = Field(
        default=(0.1, 1.0, 10.0, 50.0, 130.0, 500.0), min_length=2, max_length=200
    )
    strain_at_most_percent: Real = between(0.01, 1000.0, 10.0, "Perren 1978, from memory")
    steps_per_day: Real = between(0.0, 50_000.0, 2000.0, "own choice, no source")
