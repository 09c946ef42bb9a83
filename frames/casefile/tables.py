"""All tables of a case file together, each checked by itself but not yet against the others."""

from typing import Literal

from pydantic import Field

from frames.casefile.adjusting import History, NutTurn
from frames.casefile.bone import Bone, Callus, Contact
from frames.casefile.correction import Correction
from frames.casefile.endurance import Endurance
from frames.casefile.fields import Part, Real, Text, Whole, between, sourced
from frames.casefile.gap_windows import Window
from frames.casefile.limb import Corridor, Limb, Room, Wound
from frames.casefile.loads import Load, Target
from frames.casefile.parts import BoneHold, Pin, Ring, Rod, Wire
from frames.casefile.recovery import Activity, Healing
from frames.casefile.search import Search
from frames.casefile.tolerance import Tolerance
from frames.casefile.winding import Winding


class CaseInfo(Part):
    """Title, side of the leg, and the body's mass (kg; needed for loads by body weight)."""

    title: Text
    side: Literal["left", "right"]
    body_mass_kg: Real | None = between(1.0, 500.0, None)


class ModelOptions(Part):
    """How the frame is reckoned.

    bone_hold : whether the bone turns a wire ("built in") or lets it bend on ("pivot").
    pretension : "final", the tensions of the wires are those of the finished frame; "dialled",
    those set at the tensioner, one wire after the other. wire_steel : "elastic", or
    "elastic-plastic" for wires that yield. tensioner_drop_percent : share of the dialled tension
    that is lost when a clamp is closed and the tensioner taken off. load_steps : number of steps
    in which loads are raised where friction, slip or yield make the way matter.
    """

    bone_hold: BoneHold = sourced(
        "pivot",
        "a hole holds a wire like a knife edge, the softer of the two; own choice, no source",
    )
    pretension: Literal["final", "dialled"] = "final"
    wire_steel: Literal["elastic", "elastic-plastic"] = "elastic"
    tensioner_drop_percent: Real = between(0.0, 90.0, 0.0)
    load_steps: Whole = between(1, 1000, 10)


class Tables(Part):
    """The tables of a case file."""

    case: CaseInfo
    bone: Bone
    ring: tuple[Ring, ...] = Field(min_length=1, max_length=100)
    rod: tuple[Rod, ...] = Field(default=(), max_length=1000)
    wire: tuple[Wire, ...] = Field(default=(), max_length=500)
    pin: tuple[Pin, ...] = Field(default=(), max_length=500)
    model: ModelOptions = ModelOptions()
    nut_turn: tuple[NutTurn, ...] = Field(default=(), max_length=500)
    load: tuple[Load, ...] = Field(default=(), max_length=500)
    history: tuple[History, ...] = Field(default=(), max_length=500)
    target: tuple[Target, ...] = Field(default=(), max_length=500)
    limb: tuple[Limb, ...] = Field(default=(), max_length=200)
    corridor: tuple[Corridor, ...] = Field(default=(), max_length=500)
    wound: tuple[Wound, ...] = Field(default=(), max_length=100)
    room: Room = Room()
    winding: Winding = Winding()
    correction: tuple[Correction, ...] = Field(default=(), max_length=100)
    window: tuple[Window, ...] = Field(default=(), max_length=100)
    healing: Healing = Healing()
    activity: tuple[Activity, ...] = Field(default=(), max_length=50)
    endurance: tuple[Endurance, ...] = Field(default=(), max_length=20)
    tolerance: tuple[Tolerance, ...] = Field(default=(), max_length=200)
    search: Search = Search()


SINGLE: dict[str, type[Part]] = {
    "case": CaseInfo,
    "bone": Bone,
    "model": ModelOptions,
    "room": Room,
    "winding": Winding,
    "healing": Healing,
    "search": Search,
}
"""Tables that occur once, ``[bone]``."""

REPEATED: dict[str, type[Part]] = {
    "ring": Ring,
    "rod": Rod,
    "wire": Wire,
    "pin": Pin,
    "nut_turn": NutTurn,
    "load": Load,
    "history": History,
    "target": Target,
    "limb": Limb,
    "corridor": Corridor,
    "wound": Wound,
    "correction": Correction,
    "window": Window,
    "activity": Activity,
    "endurance": Endurance,
    "tolerance": Tolerance,
}
"""Tables that may occur many times, ``[[ring]]``."""

NESTED: dict[type[Part], dict[str, type[Part]]] = {Bone: {"contact": Contact, "callus": Callus}}
"""Tables inside tables, ``[bone.contact]``."""
