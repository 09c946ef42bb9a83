"""From measurements to a case that can be checked: a place to start from, never a plan."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from math import degrees, radians, sin
from typing import Any

from fem import FemError
from frames.assumptions import Assumption
from frames.casefile import Case, CaseError, Problem, case_from_dict, case_to_toml
from frames.casefile.fields import SOURCE, Part
from frames.casefile.limb import Corridor, Limb, Wound
from frames.casefile.lines import plane_of
from frames.casefile.problems import show_value
from frames.caution import CAUTION
from frames.checking import check
from frames.construct import construct
from frames.drafting.directions import bearings_for, crossing
from frames.drafting.levels import fragments, half_extent, ring_distances
from frames.drafting.ring_size import ring_size, wanted_points
from frames.drafting.rods import free_bearings, stock_length
from frames.drafting.tables import Measurements
from frames.fitting import fit
from frames.lines import Line
from frames.part_sizes import RING_SECTION_MM, ROD_THREAD
from frames.part_sizes import SOURCE as SIZES
from frames.ring_nodes import own_angle

LIGHT_KG = 40.0
LOADS = {"quarter weight": 0.25, "half weight": 0.5, "full weight": 1.0}
TILT_LEAST_DEG = 0.25


@dataclass(frozen=True)
class Stock:
    """A rod to take from stock: the rings it joins, how many, its length."""

    rings: tuple[str, str]
    count: int
    length_mm: float


@dataclass(frozen=True)
class Draft:
    """case: the draft; rods from stock; notes: what was decided or had to give way; problems: what
    still does not fit; assumptions."""

    case: Case
    ring_mm: float
    rods: tuple[Stock, ...]
    notes: tuple[str, ...]
    problems: tuple[str, ...]
    assumptions: tuple[Assumption, ...]

    def to_toml(self) -> str:
        """Text of a case file: what was assumed as remarks, then the case."""
        from frames.drafting.text import header

        return header(self) + case_to_toml(self.case)

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file."""
        return {
            "format": "tautring draft",
            "version": 1,
            "title": self.case.case.title,
            "ring_inner_diameter_mm": self.ring_mm,
            "rods": [asdict(r) for r in self.rods],
            "notes": list(self.notes),
            "problems": list(self.problems),
            "assumptions": [asdict(a) for a in self.assumptions],
            "caution": CAUTION,
        }

    def lines(self) -> Iterator[Line]:
        """As text."""
        from frames.drafting.text import draft_lines

        return draft_lines(self)


def draft(m: Measurements) -> Draft:
    """Raises ``CaseError`` when no frame can be drafted from what was measured."""
    notes: list[str] = []
    zero, half = m.fracture.below_knee_mm, half_extent(m)
    up, down = fragments(m)
    levels: list[tuple[float, bool]] = []
    for fragment, sign in ((up, 1.0), (down, -1.0)):
        distances, said = ring_distances(fragment, m)
        notes += said
        own = [(sign * (half + d), d == distances[-1]) for d in distances]
        levels += own
    levels.sort(reverse=True)
    limb = tuple(Limb(level_mm=zero - g.below_knee_mm, **_outline(g)) for g in m.girth)
    points = wanted_points(limb, m.room, [z for z, _ in levels])
    inner, centre = ring_size(points, m.parts.ring_sizes_mm)
    raw = _bare(m, limb)
    rings = [
        _ring(f"R{i}", z, outer, inner, centre, m) for i, (z, outer) in enumerate(levels, start=1)
    ]
    raw["ring"] = rings
    diameter, tension = _wire_kind(m)
    raw["wire"] = list(_wires(m, raw, levels, diameter, tension, notes))
    raw["rod"], stock = _rods(m, raw)
    case, said = _solved(case_from_dict(raw, "draft"))
    notes += said
    problems = tuple(p.message for p in fit(case).problems)
    return Draft(case, inner, tuple(stock), tuple(notes), problems, _assumptions(m, raw))


def _outline(girth: Any) -> dict[str, Any]:
    if girth.widths_mm is not None:
        return {"widths_mm": girth.widths_mm}
    return {"girth_mm": girth.girth_mm, "centre_mm": girth.centre_mm}


def _bare(m: Measurements, limb: tuple[Limb, ...]) -> dict[str, Any]:
    zero = m.fracture.below_knee_mm
    gap = m.fracture.gap_mm
    if m.fracture.pattern == "comminuted":
        gap = max(gap, m.fracture.length_mm or 0.0)
    bone: dict[str, Any] = {
        "proximal_end_mm": zero,
        "distal_end_mm": zero - m.leg.ankle_below_knee_mm,
        "outer_mm": m.bone.outer_mm,
        "inner_mm": m.bone.inner_mm,
        "gap_mm": gap,
    }
    if m.fracture.pattern == "oblique":
        bone["contact"] = {
            "obliquity_deg": m.fracture.obliquity_deg,
            "obliquity_bearing_deg": m.fracture.obliquity_bearing_deg,
        }
    return {
        "case": {
            "title": m.leg.title,
            "side": m.leg.side,
            "body_mass_kg": m.leg.body_mass_kg,
        },
        "bone": bone,
        "load": [{"name": n, "body_weight": share} for n, share in LOADS.items()],
        "limb": [one.model_dump(exclude_unset=True, exclude_none=True) for one in limb],
        "corridor": [_passage(c, zero) for c in m.corridor],
        "wound": [_passage(w, zero) for w in m.wound],
        "room": m.room.model_dump(exclude_unset=True, exclude_none=True),
    }


def _passage(part: Part, zero: float) -> dict[str, Any]:
    """A corridor or wound by levels."""
    keys = part.model_dump(exclude_unset=True, exclude_none=True)
    low, high = keys.pop("to_below_knee_mm"), keys.pop("from_below_knee_mm")
    return {**keys, "from_level_mm": zero - low, "to_level_mm": zero - high}


def _ring(
    name: str,
    level: float,
    outer: bool,
    inner_mm: float,
    centre: tuple[float, float],
    m: Measurements,
) -> dict[str, Any]:
    width, thick = RING_SECTION_MM
    ring: dict[str, Any] = {
        "name": name,
        "level_mm": round(level, 1),
        "inner_diameter_mm": inner_mm,
        "width_mm": width,
        "thickness_mm": thick,
        "centre_mm": list(centre),
    }
    tilt = m.leg.knee_tilt_deg if level > 0.0 else m.leg.ankle_tilt_deg
    if outer and abs(tilt) >= TILT_LEAST_DEG:
        ring |= {"tilt_deg": tilt, "tilt_bearing_deg": 90.0}
    return ring


def _wire_kind(m: Measurements) -> tuple[float, float]:
    """Diameter and tension (kgf) of the wires."""
    wish = 1.8 if m.leg.body_mass_kg >= LIGHT_KG else 1.5
    diameter = min(m.parts.wire_diameters_mm, key=lambda d: (abs(d - wish), -d))
    return diameter, 110.0 if diameter >= 1.75 else 90.0


def _wires(
    m: Measurements,
    raw: dict[str, Any],
    levels: list[tuple[float, bool]],
    diameter: float,
    tension: float,
    notes: list[str],
) -> Iterator[dict[str, Any]]:
    corridors = [Corridor(**c) for c in raw["corridor"]]
    wounds = [Wound(**w) for w in raw["wound"]]
    if not corridors:
        notes.append(
            "NO CORRIDOR WAS GIVEN: the directions of the wires are placeholders without any "
            "anatomy. Take them from an atlas before anything else."
        )
    number = 0
    for ring, (level, outer) in zip(raw["ring"], levels, strict=True):
        name = ring["name"]
        bearings = bearings_for(name, level, corridors, wounds, reference=outer)
        angle = crossing(*bearings)
        if angle < m.room.crossing_deg:
            notes.append(f"The corridors let the wires of {name} cross at {angle:.0f}° only.")
        for bearing, face in zip(bearings, ("proximal", "distal"), strict=True):
            number += 1
            yield {
                "name": f"W{number}",
                "ring": name,
                "bearing_deg": bearing,
                "face": face,
                "diameter_mm": diameter,
                "tension_kgf": tension,
            }


def _rods(m: Measurements, raw: dict[str, Any]) -> tuple[list[dict[str, Any]], list[Stock]]:
    """Four between each two neighbours, and what to take from stock."""
    place = construct(case_from_dict({**raw, "rod": []}, "draft"))
    taken: dict[str, list[float]] = {r.ring.name: [] for r in place.rings}
    for w in place.wires:
        plane = plane_of(place.ring(w.wire.ring).ring, place.sign)
        for at in w.clamps.values():
            angle = degrees(own_angle(plane, at))
            taken[w.wire.ring].append(place.sign * angle % 360.0)
    rods: list[dict[str, Any]] = []
    stock = []
    for upper, lower in zip(place.rings, place.rings[1:], strict=False):
        one, two = upper.ring, lower.ring
        both = [*taken[one.name], *taken[two.name]]
        bearings = free_bearings(both, one.hole_circle_mm, m.room.hole_spacing_mm)
        for name in (one.name, two.name):
            taken[name] += bearings
        rods += [
            {"rings": [one.name, two.name], "bearing_deg": b, "thread": ROD_THREAD}
            for b in bearings
        ]
        tilt = max(abs(one.tilt_deg), abs(two.tilt_deg))
        apart = one.level_mm - two.level_mm
        reach = apart + one.hole_circle_mm / 2.0 * sin(radians(tilt))
        length = stock_length(reach, one.thickness_mm, m.parts.rod_lengths_mm)
        stock.append(Stock((one.name, two.name), len(bearings), length))
    return rods, stock


def _solved(case: Case) -> tuple[Case, list[str]]:
    """The case with the loads that it can bear."""
    notes: list[str] = []
    while True:
        try:
            check(case)
            return case, notes
        except FemError as error:
            if len(case.load) <= 1:
                raise CaseError(
                    [Problem("", f"the drafted frame cannot be solved: {error}")], "draft"
                ) from error
            heaviest = max(case.load, key=lambda load: load.body_weight or 0.0)
            notes.append(f"The load {heaviest.name!r} is left out: the frame would not bear it.")
            kept = [load for load in case.load if load is not heaviest]
            raw = case.model_dump(exclude_unset=True, exclude_none=True)
            raw["load"] = [load.model_dump(exclude_unset=True) for load in kept]
            case = case_from_dict(raw, "draft")


def _assumptions(m: Measurements, raw: dict[str, Any]) -> tuple[Assumption, ...]:
    found = []
    for kind, part in m:
        parts = part if isinstance(part, tuple) else (part,)
        seen: set[str] = set()
        for one in parts:
            for key, field in type(one).model_fields.items():
                extra: Any = field.json_schema_extra
                value = getattr(one, key)
                if not isinstance(extra, dict) or SOURCE not in extra or value is None:
                    continue
                if key in one.model_fields_set or key in seen:
                    continue
                if key == "centre_mm" and one.girth_mm is None:
                    continue
                seen.add(key)
                found.append(Assumption(f"{kind}.{key}", show_value(value), str(extra[SOURCE])))
    wire = raw["wire"][0]
    found += [
        Assumption("ring section", "14 × 5 mm, stainless steel", SIZES),
        Assumption("rods", f"{ROD_THREAD}, four between neighbours", "common practice, no source"),
        Assumption(
            "wires",
            f"two to a ring, {wire['diameter_mm']:g} mm at {wire['tension_kgf']:g} kgf",
            "common practice, no source",
        ),
    ]
    return tuple(found)
