"""Lines of wires and pins, and planes of rings, from the tables of a case file.

For checks as well as for the layout, so that both see the same points.
"""

from frames.casefile.bone import Bone
from frames.casefile.parts import ENDS, Pin, Ring, Wire, wire_height
from frames.ring_plane import RingPlane, Vector, ring_plane
from frames.space_line import LinePlaces, line_places


def plane_of(ring: Ring, sign: float) -> RingPlane:
    """Plane of a ring; sign +1 on a right leg, -1 on a left one."""
    return ring_plane(sign, ring.level_mm, ring.centre_mm, ring.tilt_deg, ring.tilt_bearing_deg)


def places_of(part: Wire | Pin, ring: Ring, sign: float, bone_mm: float) -> LinePlaces:
    """Line, clamps and cortices of a wire or pin on its ring.

    bone_mm : diameter of the cylinder about the bone axis on which the cortices are wanted.
    """
    return line_places(
        sign,
        plane_of(ring, sign),
        ring.hole_circle_mm,
        bone_mm,
        part.bearing_deg,
        part.offset_mm,
        wire_height(part, ring),
        part.tilt_deg,
    )


def wall_mm(bone: Bone) -> float:
    """Thickness of the cortex that holds a pin, mm.

    (outer - inner) / 2, but never counted thicker than a quarter of the outer diameter: in a solid
    bone, or a nearly solid one, a pin is held near where it enters (own simplification).
    """
    return min((bone.outer_mm - bone.inner_mm) / 2, bone.outer_mm / 4)


def named_cortices(
    part: Wire | Pin, ring: Ring, sign: float, bone_mm: float, *, is_pin: bool
) -> list[tuple[str, Vector]]:
    """Where a wire or pin goes through the surface of the bone that holds it, each point with what
    it is called; a pin ends in the near cortex or goes through the far one. None where it misses.

    is_pin : asked for because a stand-in for a part with wrong fields does not tell.
    """
    met = places_of(part, ring, sign, bone_mm).cortices
    if met is None:
        return []
    if is_pin:
        return list(zip(("near cortex", "far cortex"), met, strict=True))[: part.cortices]  # type: ignore[union-attr]
    return [(f"cortex at the {end}", at) for end, at in zip(ENDS, met, strict=True)]
