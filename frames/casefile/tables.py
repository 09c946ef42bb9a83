"""All tables of a case file together, each checked by itself but not yet against the others."""

from collections.abc import Mapping
from typing import ClassVar, Literal

from pydantic import Field

from frames.casefile.fields import Part, Real, Text, between
from frames.casefile.loads import Load, Target
from frames.casefile.parts import BoneHold, Ring, Rod, Wire


class CaseInfo(Part):
    """Title, side of the leg, and the body's mass (kg; needed for loads by body weight)."""

    title: Text
    side: Literal["left", "right"]
    body_mass_kg: Real | None = between(1.0, 500.0, None)


class Bone(Part):
    """The bone: a tube on the axis with an open gap of gap_mm centred at level 0."""

    not_yet: ClassVar[frozenset[str]] = frozenset({"contact", "callus"})

    proximal_end_mm: Real = between(-1000.0, 1000.0)
    distal_end_mm: Real = between(-1000.0, 1000.0)
    outer_mm: Real = between(1.0, 200.0)
    inner_mm: Real = between(0.0, 200.0)
    E_MPa: Real = between(10.0, 1e6, 17_000.0)
    nu: Real = between(0.0, 0.49, 0.3)
    gap_mm: Real = between(0.01, 300.0)


class ModelOptions(Part):
    """bone_hold : whether the bone turns a wire ("built in") or lets it bend on ("pivot").

    pretension : "final", the tensions of the wires are those of the finished frame.
    """

    words_not_yet: ClassVar[Mapping[str, str]] = {"pretension": "dialled"}

    bone_hold: BoneHold = "pivot"
    pretension: Literal["final"] = "final"


class Tables(Part):
    """The tables of a case file."""

    case: CaseInfo
    bone: Bone
    ring: tuple[Ring, ...] = Field(min_length=1, max_length=100)
    rod: tuple[Rod, ...] = Field(default=(), max_length=1000)
    wire: tuple[Wire, ...] = Field(min_length=1, max_length=500)
    model: ModelOptions = ModelOptions()
    load: tuple[Load, ...] = Field(default=(), max_length=500)
    target: tuple[Target, ...] = Field(default=(), max_length=500)


SINGLE: dict[str, type[Part]] = {"case": CaseInfo, "bone": Bone, "model": ModelOptions}
"""Tables that occur once, ``[bone]``."""

REPEATED: dict[str, type[Part]] = {
    "ring": Ring,
    "rod": Rod,
    "wire": Wire,
    "load": Load,
    "target": Target,
}
"""Tables that may occur many times, ``[[ring]]``."""
