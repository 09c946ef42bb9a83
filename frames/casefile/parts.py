"""Rings, rods and wires of a case file.

Keys carry their unit. Levels run along the bone from the centre of the fracture gap, proximal
positive; bearings turn from anterior (0) towards medial (90).
"""

from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field

from frames.casefile.fields import (
    UNDECIDED,
    Name,
    Needs,
    OneOf,
    Part,
    Real,
    Rule,
    Shift,
    between,
    one_of,
)
from frames.sizes import DEFAULT_MATERIAL, MATERIALS, STANDARD_GRAVITY, THREADS

BoneHold = Literal["pivot", "built in"]
MaterialName = Annotated[str, Field(strict=True), one_of(MATERIALS)]
OWN_VALUES: tuple[Rule, ...] = (Needs("E_MPa", ("nu",)), Needs("nu", ("E_MPa",)))


# A default made from other fields is given those read so far; older versions of pydantic ask for
# it even when one of them is wrong and therefore absent.


def _default_material(given: dict[str, Any]) -> Any:
    if not {"E_MPa", "nu"} <= given.keys():
        return UNDECIDED
    own = given["E_MPa"] is not None or given["nu"] is not None
    return None if own else DEFAULT_MATERIAL


def _default_hole_circle(given: dict[str, Any]) -> Any:
    if not {"inner_diameter_mm", "width_mm"} <= given.keys():
        return UNDECIDED
    return given["inner_diameter_mm"] + given["width_mm"]


def _default_density(given: dict[str, Any]) -> Any:
    if given.get("material", UNDECIDED) is UNDECIDED:
        return UNDECIDED
    return MATERIALS[given["material"] or DEFAULT_MATERIAL].density_kg_per_m3


class Elastic(Part):
    """A part of a named material (stainless steel when nothing is said) or with E_MPa and nu."""

    rules: ClassVar[tuple[Rule, ...]] = (
        OneOf((("material",), ("E_MPa", "nu")), required=False),
        *OWN_VALUES,
    )

    E_MPa: Real | None = between(10.0, 1e6, None)
    nu: Real | None = between(0.0, 0.49, None)
    material: MaterialName | None = Field(default_factory=_default_material)

    @property
    def elastic(self) -> tuple[float, float]:
        """Young's modulus (MPa) and Poisson's ratio."""
        if self.E_MPa is not None and self.nu is not None:
            return self.E_MPa, self.nu
        named = MATERIALS[self.material or DEFAULT_MATERIAL]
        return named.E_MPa, named.nu


class Ring(Elastic):
    """A ring, full or open, flat in a transverse plane.

    level_mm : level of its mid-plane. inner_diameter_mm, width_mm (radial), thickness_mm (along
    the bone). hole_circle_mm : diameter on which wires and rods attach; the middle of the width
    unless given. centre_mm : (anterior, medial) from the bone axis. arc_deg : 360 for a full
    ring; opening_bearing_deg : bearing, about the ring's centre, of the middle of the opening.
    section_factor : share of the section's stiffness that the holes leave.
    """

    rules: ClassVar[tuple[Rule, ...]] = (
        *Elastic.rules,
        Needs("opening_bearing_deg", ("arc_deg",)),
    )

    name: Name
    level_mm: Real = between(-1000.0, 1000.0)
    inner_diameter_mm: Real = between(10.0, 500.0)
    width_mm: Real = between(1.0, 100.0)
    thickness_mm: Real = between(0.5, 50.0)
    hole_circle_mm: Real = Field(
        default_factory=_default_hole_circle,
        ge=10.0,
        le=700.0,
    )
    centre_mm: tuple[Shift, Shift] = (0.0, 0.0)
    arc_deg: Real = between(90.0, 360.0, 360.0)
    opening_bearing_deg: Real = between(-360.0, 360.0, 180.0)
    section_factor: Real = between(0.2, 1.0, 1.0)

    @property
    def density_kg_per_m3(self) -> float:
        """Density of its material; that of stainless steel when E_MPa and nu are given."""
        return MATERIALS[self.material or DEFAULT_MATERIAL].density_kg_per_m3


class Rod(Elastic):
    """A rod through two or more rings, at one bearing about the centre of each.

    diameter_mm : effective diameter, or thread : a coarse metric thread ("M6").
    """

    rules: ClassVar[tuple[Rule, ...]] = (*Elastic.rules, OneOf((("diameter_mm",), ("thread",))))

    name: Name | None = None
    rings: tuple[Name, ...] = Field(min_length=2, max_length=50)
    bearing_deg: Real = between(-360.0, 360.0)
    diameter_mm: Real | None = between(1.0, 40.0, None)
    thread: Annotated[str, Field(strict=True), one_of(THREADS)] | None = None

    @property
    def label(self) -> str:
        """Its name, or what it joins and where: ``rod R1-R2 at 45°``."""
        return self.name or f"rod {'-'.join(self.rings)} at {self.bearing_deg:g}°"

    @property
    def effective_diameter_mm(self) -> float:
        """Diameter of the circle that carries, mm."""
        if self.thread is not None:
            return THREADS[self.thread]
        assert self.diameter_mm is not None  # one of the two is there: see rules
        return self.diameter_mm


class Wire(Elastic):
    """A tensioned wire from clamp to clamp through the bone.

    bearing_deg : bearing of its start; its end is opposite. offset_mm : sideways shift of its
    line from the bone axis, positive towards the bearing + 90 degrees. face : side of the ring
    it lies on, or height_mm : its axis above the ring's mid-plane, proximal positive.
    tension_N, or tension_kgf (1 kgf = 9.80665 N). bone_hold : None for the default in [model].
    yield_MPa : 900 stands for cold-drawn stainless fixation wire (from memory; the published
    onset of yield at 50 to 55 N across a wire agrees). density_kg_per_m3 : goes with E_MPa and
    nu; stainless steel's unless given.
    """

    rules: ClassVar[tuple[Rule, ...]] = (
        OneOf((("material",), ("E_MPa", "nu", "density_kg_per_m3")), required=False),
        *OWN_VALUES,
        Needs("density_kg_per_m3", ("E_MPa",)),
        OneOf((("face",), ("height_mm",))),
        OneOf((("tension_N",), ("tension_kgf",))),
    )
    not_yet: ClassVar[frozenset[str]] = frozenset(
        {"tilt_deg", "olive", "grip_N", "slip_N", "order"}
    )

    name: Name
    ring: Name
    bearing_deg: Real = between(-360.0, 360.0)
    face: Literal["proximal", "distal"] | None = None
    height_mm: Real | None = between(-200.0, 200.0, None)
    diameter_mm: Real = between(0.5, 4.0)
    tension_N: Real | None = between(0.0, 5000.0, None)
    tension_kgf: Real | None = between(0.0, 509.8, None)
    offset_mm: Real = between(-100.0, 100.0, 0.0)
    bone_hold: BoneHold | None = None
    yield_MPa: Real = between(10.0, 5000.0, 900.0)
    density_kg_per_m3: Real = Field(default_factory=_default_density, ge=100.0, le=25_000.0)

    @property
    def tension(self) -> float:
        """Final tension, N."""
        if self.tension_N is not None:
            return self.tension_N
        return (self.tension_kgf or 0.0) * STANDARD_GRAVITY


def wire_height(wire: Wire, ring: Ring) -> float:
    """Height (mm, proximal positive) of a wire's axis above its ring's mid-plane.

    On a face the wire touches the ring: half the ring's thickness plus half the wire's diameter.
    """
    if wire.height_mm is not None:
        return wire.height_mm
    clear = ring.thickness_mm / 2 + wire.diameter_mm / 2
    return clear if wire.face == "proximal" else -clear
