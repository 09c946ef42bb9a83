"""What parts are made of: a material by name, or elastic constants of their own."""

from typing import Annotated, Any, ClassVar

from pydantic import Field

from frames.casefile.fields import (
    SOURCE,
    UNDECIDED,
    Needs,
    OneOf,
    Part,
    Real,
    Rule,
    between,
    one_of,
)
from frames.sizes import DEFAULT_MATERIAL, MATERIALS

MaterialName = Annotated[str, Field(strict=True), one_of(MATERIALS)]
OWN_VALUES: tuple[Rule, ...] = (Needs("E_MPa", ("nu",)), Needs("nu", ("E_MPa",)))


# A default made from other fields is given those read so far; older versions of pydantic ask for
# it even when one of them is wrong and therefore absent.


def _default_material(given: dict[str, Any]) -> Any:
    if not {"E_MPa", "nu"} <= given.keys():
        return UNDECIDED
    own = given["E_MPa"] is not None or given["nu"] is not None
    return None if own else DEFAULT_MATERIAL


class Elastic(Part):
    """A part of a named material (stainless steel when nothing is said) or with E_MPa and nu."""

    rules: ClassVar[tuple[Rule, ...]] = (
        OneOf((("material",), ("E_MPa", "nu")), required=False),
        *OWN_VALUES,
    )

    E_MPa: Real | None = between(10.0, 1e6, None)
    nu: Real | None = between(0.0, 0.49, None)
    material: MaterialName | None = Field(
        default_factory=_default_material,
        json_schema_extra={SOURCE: "common practice; its figures are handbook values, from memory"},
    )

    @property
    def elastic(self) -> tuple[float, float]:
        """Young's modulus (MPa) and Poisson's ratio."""
        if self.E_MPa is not None and self.nu is not None:
            return self.E_MPa, self.nu
        named = MATERIALS[self.material or DEFAULT_MATERIAL]
        return named.E_MPa, named.nu
