"""What a check says of the parts of a frame and of the loads on it.  Keys carry their units."""

from dataclasses import dataclass

MOVEMENTS = (
    "anterior_mm",
    "medial_mm",
    "axial_mm",
    "about_anterior_deg",
    "about_medial_deg",
    "about_axis_deg",
)


@dataclass(frozen=True)
class WireResult:
    """tension_N, the largest along the wire; legs_N: of the legs at start and end; peak_stress_MPa:
    tension plus bending (elastic unless the case lets the steel yield); bow_mm: how far the bone
    has drawn it out of the line between its clamps; slack: a leg has no tension left."""

    name: str
    tension_N: float
    legs_N: tuple[float, float]
    peak_stress_MPa: float
    bow_mm: float
    slack: bool


@dataclass(frozen=True)
class PinResult:
    """Half-pin under a load: force along it (tension positive) and across it, bending moment at its
    clamp, largest stress (tension or compression plus bending)."""

    name: str
    axial_N: float
    shear_N: float
    clamp_moment_Nm: float
    peak_stress_MPa: float


@dataclass(frozen=True)
class FacesResult:
    """Fracture faces under a load. pressed_N: sum of the forces square to the fracture plane;
    rubbed_N: resultant of the forces in it; touching: share of the points of contact that
    touch; sliding: share of these that slide."""

    pressed_N: float
    rubbed_N: float
    touching: float
    sliding: float


@dataclass(frozen=True)
class Touch:
    """First touch of one side of the fracture, the cortex there: load at which it begins (see
    ``Finding``); share of the path's largest load."""

    side: str
    load: str
    load_N: float | None
    share: float


@dataclass(frozen=True)
class LoadResult:
    """Movement of the proximal against the distal face at the gap's centre, from pretension on
    (axial_mm negative when the gap closes, closing_mm its opposite); secant and tangent stiffness;
    wires and pins under the load. bone_N: compression that passes from fragment to fragment through
    touching faces or callus, and bone_share_percent: its growth against the load's (None without
    either); faces: their contact (None when the case has none)."""

    name: str
    axial_N: float | None
    gap_movement: dict[str, float]
    closing_mm: float
    shear_mm: float
    secant: dict[str, float]
    tangent: dict[str, float]
    wires: tuple[WireResult, ...]
    pins: tuple[PinResult, ...]
    bone_N: float | None
    bone_share_percent: float | None
    faces: FacesResult | None
    iterations: int
    equilibrium_error: float
    energy_error: float


@dataclass(frozen=True)
class TargetResult:
    """meets, and margin: how far the value lies inside its nearest bound (negative: short by so
    much)."""

    quantity: str
    load: str | None
    label: str
    value: float
    at_least: float | None
    at_most: float | None
    meets: bool
    margin: float


@dataclass(frozen=True)
class PretensionedWire:
    """tension_N before load, the largest along the wire; legs_N: of the legs at start and end;
    tone_Hz: tap tones of these; peak stress there."""

    name: str
    ring: str
    tension_N: float
    legs_N: tuple[float, float]
    tone_Hz: tuple[float, float]
    peak_stress_MPa: float


@dataclass(frozen=True)
class TakeUpResult:
    """Wire drawn out while it was tensioned: at start and end, and what made it up: stretch of the
    wire, and closing of the ring."""

    wire: str
    start_mm: float
    end_mm: float
    stretch_mm: float
    closing_mm: float


@dataclass(frozen=True)
class StageWire:
    """A wire after a stage of tensioning: tension and tap tone of its legs at start and end."""

    name: str
    legs_N: tuple[float, float]
    tone_Hz: tuple[float, float]


@dataclass(frozen=True)
class StageResult:
    """One stage of tensioning: wires tensioned in it; dial_N of each at start and end (None: not
    pulled there); legs of all wires with the tensioners on, and after they came off; take-up."""

    tensioned: tuple[str, ...]
    dial_N: tuple[tuple[float | None, float | None], ...]
    pulled: tuple[StageWire, ...]
    left: tuple[StageWire, ...]
    take_up: tuple[TakeUpResult, ...]


@dataclass(frozen=True)
class NutTurnResult:
    """A nut turn done: rods and by how much each became longer; movement of the gap since the wires
    were tensioned (since the frame was built, where nuts were turned before that), all turns so far
    together; wires then; compression between the bone ends (None where nothing can pass it)."""

    name: str
    rods: tuple[str, ...]
    lengthen_mm: tuple[float, ...]
    gap_movement: dict[str, float]
    wires: tuple[WireResult, ...]
    bone_N: float | None


@dataclass(frozen=True)
class HistoryResult:
    """A load put on and taken off again and again. cycles: done, fewer than asked when nothing
    changed any more (settled). wires: after the last, without load; gap_set: movement of the gap
    that stays; stiffness at the gap afterwards; lost_Nmm: energy lost in the first and in the last
    cycle."""

    load: str
    cycles: int
    settled: bool
    wires: tuple[WireResult, ...]
    gap_set: dict[str, float]
    stiffness: dict[str, float]
    lost_Nmm: tuple[float, float]
