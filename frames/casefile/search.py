"""What ``tautring search`` may choose from."""

from typing import Annotated, Literal

from pydantic import Field

from frames.casefile.fields import Part, Real, Whole, between, sourced

_Kgf = Annotated[Real, Field(ge=5.0, le=500.0)]
_Diameter = Annotated[Real, Field(ge=0.5, le=4.0)]


class Search(Part):
    """Limits of the search for the frame with the fewest wires.

    least_wires_per_fragment : of a fragment that no half-pin holds. most_wires : of the whole
    frame; None for two on every ring. tension_kgf : lowest and highest tension. tensions :
    "alike" for all wires, or "each" its own. bearing_step_deg : of the coarse grid. crossing_deg :
    least angle at which the wires of a ring, and some two of a fragment, cross; None for that of
    [room]. diameters_mm : to choose one from for all wires; None for that of the case's first
    wire.
    """

    least_wires_per_fragment: Whole = between(
        2, 20, 2, "two crossing wires hold a fragment; own choice, no source"
    )
    most_wires: Whole | None = between(1, 200, None)
    tension_kgf: tuple[_Kgf, _Kgf] = sourced((90.0, 130.0), "common practice, no source")
    tensions: Literal["alike", "each"] = "alike"
    bearing_step_deg: Whole = between(1, 45, 10, "own choice, no source")
    crossing_deg: Real | None = between(0.0, 90.0, None)
    diameters_mm: Annotated[tuple[_Diameter, ...], Field(min_length=1, max_length=10)] | None = None
