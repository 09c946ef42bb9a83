"""Loads on the leg and targets for the results."""

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from frames.casefile.fields import (
    AnyOf,
    Name,
    Needs,
    OneOf,
    Part,
    Real,
    Rule,
    Shift,
    between,
    one_of,
    within,
)
from frames.quantities import QUANTITIES
from frames.sizes import STANDARD_GRAVITY

Force = Annotated[Real, within(50_000.0)]
Moment = Annotated[Real, within(5_000.0)]


class Load(Part):
    """A load case, of one of three kinds.

    axial_N : compression along the bone, positive; or body_weight : the same as a share of body
    weight. Both act along a line offset_mm (anterior, medial) from the bone axis.
    force_N, moment_Nm : a force and a moment, (anterior, medial, proximal) each, on the point
    `at`: the proximal ("knee") or distal ("ankle") end of the bone, or the centre of a face of
    the gap.
    """

    rules: ClassVar[tuple[Rule, ...]] = (
        OneOf((("axial_N",), ("body_weight",), ("force_N", "moment_Nm"))),
        Needs("offset_mm", ("axial_N", "body_weight")),
        Needs("at", ("force_N", "moment_Nm")),
    )

    name: Name
    axial_N: Force | None = None
    body_weight: Real | None = between(-20.0, 20.0, None)
    offset_mm: tuple[Shift, Shift] = (0.0, 0.0)
    force_N: tuple[Force, Force, Force] | None = None
    moment_Nm: tuple[Moment, Moment, Moment] | None = None
    at: Literal["knee", "ankle", "proximal face", "distal face"] = "knee"

    @property
    def is_axial(self) -> bool:
        """A load along the bone, and not a wrench."""
        return self.axial_N is not None or self.body_weight is not None

    def axial_force_N(self, body_mass_kg: float | None = None) -> float:
        """Compression along the bone, N; a share of body weight needs the body's mass.

        Raises ValueError for a load given by force_N or moment_Nm, and without that mass.
        """
        if self.axial_N is not None:
            return self.axial_N
        if self.body_weight is None:
            raise ValueError(f'load "{self.name}" is a force or moment at a point, not axial')
        if body_mass_kg is None:
            raise ValueError(f'load "{self.name}" is a share of body weight: give the body mass')
        return self.body_weight * body_mass_kg * STANDARD_GRAVITY


class Target(Part):
    """Bounds for one quantity, under a load where the quantity belongs to one."""

    rules: ClassVar[tuple[Rule, ...]] = (AnyOf(("at_least", "at_most")),)

    quantity: Annotated[str, Field(strict=True), one_of(QUANTITIES)]
    load: Name | None = None
    at_least: Real | None = between(-1e9, 1e9, None)
    at_most: Real | None = between(-1e9, 1e9, None)

    @property
    def label(self) -> str:
        """Plain words: ``closing of the gap under "first steps"``."""
        words = QUANTITIES[self.quantity].label
        return words if self.load is None else f'{words} under "{self.load}"'
