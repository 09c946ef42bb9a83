"""Rings, and the rods between them."""

import math
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field

from frames.casefile.elastic import Elastic
from frames.casefile.fields import (
    UNDECIDED,
    Name,
    Needs,
    OneOf,
    Real,
    Rule,
    Shift,
    between,
    one_of,
)
from frames.sizes import (
    COARSE_PITCH_MM,
    CONICAL_WASHERS_NM_PER_DEG,
    DEFAULT_MATERIAL,
    MATERIALS,
    THREADS,
)

Bearing = Annotated[Real, Field(ge=-360.0, le=360.0)]
NMM_PER_RAD = 1000.0 * 180.0 / math.pi
"""Turning stiffness: 1 N·m/deg in N·mm/rad."""


def _default_hole_circle(given: dict[str, Any]) -> Any:
    if not {"inner_diameter_mm", "width_mm"} <= given.keys():
        return UNDECIDED
    return given["inner_diameter_mm"] + given["width_mm"]


class Ring(Elastic):
    """A ring, full, open or in two halves, flat in its own plane.

    level_mm : level of its centre, in its mid-plane. inner_diameter_mm, width_mm (radial),
    thickness_mm (across its plane). hole_circle_mm : diameter on which wires and rods attach; the
    middle of the width unless given. centre_mm : (anterior, medial) from the bone axis.
    arc_deg : 360 for a full ring; opening_bearing_deg : bearing, about the ring's centre, of the
    middle of the opening. section_factor : share of the section's stiffness that the holes leave.

    tilt_deg : its plane is turned about its centre by this angle out of the transverse plane, so
    that its side at tilt_bearing_deg is raised (proximal) when positive.

    halves : None for a ring of one piece; two halves "bolted" together, or "hinged" at the first
    joint and bolted at the second. split_bearing_deg : bearing of the first joint about the
    ring's centre; the second is opposite. joint_Nm_per_deg : turning stiffness of a bolted joint;
    None stands for that of 20 mm of the ring's own section. joint_play_deg : a joint turns freely
    by this much to either side, about the ring's axis and about the radial direction.

    yield_MPa : yield stress; that of its material unless given.
    """

    rules: ClassVar[tuple[Rule, ...]] = (
        *Elastic.rules,
        Needs("opening_bearing_deg", ("arc_deg",)),
        Needs("tilt_bearing_deg", ("tilt_deg",)),
        Needs("split_bearing_deg", ("halves",)),
        Needs("joint_Nm_per_deg", ("halves",)),
        Needs("joint_play_deg", ("halves",)),
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
    opening_bearing_deg: Bearing = 180.0
    section_factor: Real = between(0.2, 1.0, 1.0, "the loss by holes is left out")
    tilt_deg: Real = between(-45.0, 45.0, 0.0)
    tilt_bearing_deg: Bearing = 0.0
    halves: Literal["bolted", "hinged"] | None = None
    split_bearing_deg: Bearing = 90.0
    joint_Nm_per_deg: Real | None = between(0.001, 1e6, None)
    joint_play_deg: Real = between(0.0, 10.0, 0.0)
    yield_MPa: Real | None = between(10.0, 5000.0, None)

    @property
    def density_kg_per_m3(self) -> float:
        """Density of its material; that of stainless steel when E_MPa and nu are given."""
        return MATERIALS[self.material or DEFAULT_MATERIAL].density_kg_per_m3


class Rod(Elastic):
    """A rod through two or more rings: at one bearing about the centre of each, or at a bearing
    of its own in each (an oblique strut).

    bearing_deg, or bearings_deg : one for each of `rings`. diameter_mm : effective diameter, or
    thread : a coarse metric thread ("M6"). axial_N_per_mm : axial stiffness of each piece between
    neighbouring rings, where it is not that of a plain rod (telescopic rods). ends : how the rod
    meets its outermost rings: "fixed", "hinged", or by "conical washers" that turn with
    end_Nm_per_deg. yield_MPa : yield stress; that of its material unless given.
    """

    rules: ClassVar[tuple[Rule, ...]] = (
        *Elastic.rules,
        OneOf((("bearing_deg",), ("bearings_deg",))),
        OneOf((("diameter_mm",), ("thread",))),
        Needs("end_Nm_per_deg", ("ends",)),
    )

    name: Name | None = None
    rings: tuple[Name, ...] = Field(min_length=2, max_length=50)
    bearing_deg: Real | None = between(-360.0, 360.0, None)
    bearings_deg: tuple[Bearing, ...] | None = Field(default=None, min_length=2, max_length=50)
    diameter_mm: Real | None = between(1.0, 40.0, None)
    thread: Annotated[str, Field(strict=True), one_of(THREADS)] | None = None
    axial_N_per_mm: Real | None = between(1.0, 1e7, None)
    ends: Literal["fixed", "conical washers", "hinged"] = "fixed"
    end_Nm_per_deg: Real | None = between(0.001, 1e5, None)
    yield_MPa: Real | None = between(10.0, 5000.0, None)

    @property
    def label(self) -> str:
        """Its name, or what it joins and where: ``rod R1-R2 at 45°``, ``strut R1-R2 at 45-75°``."""
        rings = "-".join(self.rings)
        if self.bearings_deg is None:
            return self.name or f"rod {rings} at {self.bearing_deg:g}°"
        return self.name or f"strut {rings} at {'-'.join(f'{b:g}' for b in self.bearings_deg)}°"

    def bearing_in(self, ring: str) -> float:
        """Bearing (degrees, about the ring's centre) of its hole in a ring that it goes through."""
        if self.bearings_deg is not None:
            return self.bearings_deg[self.rings.index(ring)]
        assert self.bearing_deg is not None  # one of the two is there: see rules
        return self.bearing_deg

    @property
    def effective_diameter_mm(self) -> float:
        """Diameter of the circle that carries, mm."""
        if self.thread is not None:
            return THREADS[self.thread]
        assert self.diameter_mm is not None  # one of the two is there: see rules
        return self.diameter_mm

    @property
    def pitch_mm(self) -> float | None:
        """Pitch of its thread, mm; None for a rod given by its diameter."""
        return None if self.thread is None else COARSE_PITCH_MM[self.thread]

    @property
    def end_stiffness(self) -> float:
        """Turning stiffness of its ends, N·mm/rad: infinite when fixed, 0 when hinged."""
        if self.ends == "fixed":
            return math.inf
        if self.ends == "hinged":
            return 0.0
        given = self.end_Nm_per_deg
        return (CONICAL_WASHERS_NM_PER_DEG if given is None else given) * NMM_PER_RAD
