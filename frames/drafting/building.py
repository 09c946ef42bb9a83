"""The tables of the drafted case, as a case file has them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import degrees, floor, pi, radians, sin
from typing import Any

from frames.casefile import CaseError, case_from_dict
from frames.casefile.fields import Part
from frames.casefile.limb import Corridor, Limb, Wound
from frames.casefile.lines import plane_of
from frames.construct import construct
from frames.drafting.directions import bearings_for, crossing
from frames.drafting.rods import free_bearings, stock_length
from frames.drafting.slant import PlannedRing, skin_levels
from frames.drafting.tables import Girth, Measurements
from frames.limb_outline import Outline
from frames.part_sizes import RING_SECTION_MM, ROD_THREAD
from frames.ring_nodes import own_angle

LIGHT_KG, HEAVY_KG = 40.0, 90.0
THIN_WIRE_MM, WIRE_MM = 1.5, 1.8
TENSION_KGF = {"thin": 90.0, "usual": 110.0, "heavy": 130.0}
"""For wires thinner than ``WIRE_MM``, and for others on a body of up to ``HEAVY_KG`` or more;
common practice, no source."""
WIRE_STRESS_MPA = 510.0
"""The tension of a very thin wire stays below it: own choice, about 130 kgf on 1.8 mm."""
KGF_N = 9.80665
LOADS = {"quarter weight": 0.25, "half weight": 0.5, "full weight": 1.0}


@dataclass(frozen=True)
class Stock:
    """A rod to take from stock: the rings it joins, how many, its length."""

    rings: tuple[str, str]
    count: int
    length_mm: float


def outline_table(girth: Girth) -> dict[str, Any]:
    """What a ``[[limb]]`` says of the outline."""
    if girth.widths_mm is not None:
        return {"widths_mm": girth.widths_mm}
    return {"girth_mm": girth.girth_mm, "centre_mm": girth.centre_mm}


def bare(m: Measurements, limb: Sequence[Limb]) -> dict[str, Any]:
    """Everything but the frame."""
    zero, fracture = m.fracture.below_knee_mm, m.fracture
    bone: dict[str, Any] = {
        "proximal_end_mm": zero,
        "distal_end_mm": zero - m.leg.ankle_below_knee_mm,
        "outer_mm": m.bone.outer_mm,
        "inner_mm": m.bone.inner_mm,
        "gap_mm": max(fracture.gap_mm, fracture.length_mm or 0.0),
    }
    if fracture.pattern == "oblique":
        bone["contact"] = {
            "obliquity_deg": fracture.obliquity_deg,
            "obliquity_bearing_deg": fracture.obliquity_bearing_deg,
        }
    return {
        "case": {
            "title": m.leg.title,
            "side": m.leg.side,
            "body_mass_kg": m.leg.body_mass_kg,
        },
        "bone": bone,
        "load": [{"name": n, "body_weight": share} for n, share in LOADS.items()],
        "target": [_given(t) for t in m.target],
        "limb": [_given(one) for one in limb],
        "corridor": [_passage(c, zero) for c in m.corridor],
        "wound": [_passage(w, zero) for w in m.wound],
        "room": _given(m.room),
    }


def _given(part: Part) -> dict[str, Any]:
    return part.model_dump(exclude_unset=True, exclude_none=True)


def _passage(part: Part, zero: float) -> dict[str, Any]:
    """A corridor or wound by levels."""
    keys = _given(part)
    low, high = keys.pop("to_below_knee_mm"), keys.pop("from_below_knee_mm")
    return {**keys, "from_level_mm": zero - low, "to_level_mm": zero - high}


def ring_table(
    name: str, ring: PlannedRing, inner_mm: float, centre: tuple[float, float]
) -> dict[str, Any]:
    """A ring of the generic section."""
    width, thick = RING_SECTION_MM
    table: dict[str, Any] = {
        "name": name,
        "level_mm": ring.level_mm,
        "inner_diameter_mm": inner_mm,
        "width_mm": width,
        "thickness_mm": thick,
        "centre_mm": list(centre),
    }
    if ring.tilt_deg != 0.0:
        table |= {"tilt_deg": ring.tilt_deg, "tilt_bearing_deg": 90.0}
    return table


def wire_kind(m: Measurements) -> tuple[float, float]:
    """Diameter (mm) and tension (kgf) of the wires: the size to hand that is nearest to the usual
    one for the body's mass."""
    wish = WIRE_MM if m.leg.body_mass_kg >= LIGHT_KG else THIN_WIRE_MM
    diameter = min(m.parts.wire_diameters_mm, key=lambda d: (abs(d - wish), -d))
    if diameter < WIRE_MM - 0.05:
        tension = TENSION_KGF["thin"]
    else:
        tension = TENSION_KGF["heavy" if m.leg.body_mass_kg > HEAVY_KG else "usual"]
    bears = WIRE_STRESS_MPA * pi * diameter**2 / 4.0 / KGF_N
    return diameter, min(tension, float(floor(bears)))


def wire_tables(
    m: Measurements,
    raw: dict[str, Any],
    planned: Sequence[PlannedRing],
    outline: Outline,
    notes: list[str],
) -> Iterator[dict[str, Any]]:
    """Two to a ring, on opposite faces. notes: what the corridors do not let be is added."""
    corridors = [Corridor(**c) for c in raw["corridor"]]
    wounds = [Wound(**w) for w in raw["wound"]]
    diameter, tension = wire_kind(m)
    if not corridors:
        notes.append(
            "NO CORRIDOR WAS GIVEN: the directions of the wires are placeholders without any "
            "anatomy. Take them from an atlas before anything else."
        )
    number = 0
    for table, ring in zip(raw["ring"], planned, strict=True):
        name = table["name"]
        aside = (RING_SECTION_MM[1] + diameter) / 2.0
        levels = skin_levels(outline, ring, table["centre_mm"][1], aside)
        bearings = bearings_for(name, levels, corridors, wounds, reference=ring.outer)
        angle = crossing(*bearings)
        if angle < m.room.crossing_deg:
            what = "corridors and wounds" if wounds else "corridors"
            notes.append(f"The {what} let the wires of {name} cross at {angle:.0f}° only.")
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


def rod_tables(m: Measurements, raw: dict[str, Any]) -> tuple[list[dict[str, Any]], list[Stock]]:
    """Four between each two neighbours, and what to take from stock.

    Between rings at the distance a, tilted by t1 and t2, a rod on the hole circle of radius R spans
    at most a + R |sin t1 - sin t2|.
    """
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
        slant = abs(sin(radians(one.tilt_deg)) - sin(radians(two.tilt_deg)))
        reach = one.level_mm - two.level_mm + one.hole_circle_mm / 2.0 * slant
        length = stock_length(reach, one.thickness_mm, m.parts.rod_lengths_mm)
        stock.append(Stock((one.name, two.name), len(bearings), length))
    return rods, stock


def in_measured_words(error: CaseError) -> CaseError:
    """The same with the names that the tables have in the measurements."""
    from dataclasses import replace

    problems = [
        replace(p, place=p.place.replace("limb ", "girth ").replace("level_mm", "below_knee_mm"))
        for p in error.problems
    ]
    return CaseError(problems, "measurements")
