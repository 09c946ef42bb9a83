"""What the materials bear: yield, and how many times a stress may come and go."""

from typing import Annotated

from pydantic import Field

from frames.casefile.fields import Part, Real, Text, between, one_of
from frames.sizes import MATERIALS

CORTICAL_BONE = "cortical bone"

Positive = Annotated[Real, Field(ge=0.1, le=1e12)]
WornName = Annotated[str, Field(strict=True), one_of((*MATERIALS, CORTICAL_BONE))]


class Endurance(Part):
    """Limits of one material, in place of the built-in ones.

    material : as for rings and rods, or "cortical bone". yield_MPa, ultimate_MPa. cycles,
    amplitude_MPa : points of its line of stress amplitude (fully reversed) against cycles to
    failure, from few to many; straight between them when both are drawn as logarithms. Figures left
    out are the built-in ones, in proportion to yield_MPa. source : who says so.
    """

    material: WornName
    yield_MPa: Real | None = between(10.0, 5000.0, None)
    ultimate_MPa: Real | None = between(10.0, 5000.0, None)
    cycles: tuple[Positive, ...] | None = Field(default=None, min_length=2, max_length=50)
    amplitude_MPa: tuple[Positive, ...] | None = Field(default=None, min_length=2, max_length=50)
    source: Text | None = None
