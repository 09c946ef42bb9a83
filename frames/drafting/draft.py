"""From measurements to a case that can be checked: a place to start from, never a plan."""

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from typing import Any

from fem import FemError
from frames.assumptions import Assumption
from frames.casefile import Case, CaseError, Problem, case_from_dict, case_to_toml
from frames.casefile.limb import Limb
from frames.caution import CAUTION
from frames.checking import check_with_states
from frames.drafting.building import (
    Stock,
    bare,
    in_measured_words,
    outline_table,
    ring_table,
    rod_tables,
    wire_tables,
)
from frames.drafting.levels import fragments, ring_distances
from frames.drafting.levels import half_extent as half_of_fracture
from frames.drafting.ring_size import ring_size, wanted_points
from frames.drafting.slant import PlannedRing
from frames.drafting.tables import Measurements
from frames.drafting.taken import taken
from frames.fitting import fit
from frames.limb_outline import Outline
from frames.lines import Line
from frames.part_sizes import RING_SECTION_MM

ROUNDS = 6
"""Levels depend on the size of tilted rings, and the size on the levels: so often in turn."""


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

    @property
    def below_knee_mm(self) -> tuple[float, ...]:
        """Distance of each ring below the knee's joint line."""
        return tuple(self.case.bone.proximal_end_mm - r.level_mm for r in self.case.ring)

    def to_toml(self) -> str:
        """Text of a case file: what was assumed as remarks, then the case."""
        from frames.drafting.text import header

        return header(self) + case_to_toml(self.case)

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file."""
        centre = self.case.ring[0].centre_mm
        return {
            "format": "tautring draft",
            "version": 1,
            "title": self.case.case.title,
            "ring_inner_diameter_mm": self.ring_mm,
            "ring_centre_anterior_mm": centre[0],
            "ring_centre_medial_mm": centre[1],
            "rings": [
                {
                    "name": r.name,
                    "below_knee_mm": below,
                    "level_mm": r.level_mm,
                    "tilt_deg": r.tilt_deg,
                    "wires_deg": [w.bearing_deg for w in self.case.wire if w.ring == r.name],
                }
                for r, below in zip(self.case.ring, self.below_knee_mm, strict=True)
            ],
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


def draft(m: Measurements, say: Callable[[str], None] | None = None) -> Draft:
    """say : told how far it has come. Raises ``CaseError`` when no frame can be drafted from what
    was measured."""
    try:
        return _draft(m, say or (lambda _: None))
    except CaseError as error:
        raise in_measured_words(error) from error


def _draft(m: Measurements, say: Callable[[str], None]) -> Draft:
    zero = m.fracture.below_knee_mm
    limb = tuple(Limb(level_mm=zero - g.below_knee_mm, **outline_table(g)) for g in m.girth)
    outline = Outline(
        tuple(sorted(limb, key=lambda one: one.level_mm)),
        m.room.swelling_mm or 0.0,
        (m.room.swelling_percent or 0.0) / 100.0,
    )
    planned, inner, centre, notes = _planned(m, outline)
    raw = bare(m, limb)
    raw["ring"] = [
        ring_table(f"R{i}", ring, inner, centre) for i, ring in enumerate(planned, start=1)
    ]
    raw["wire"] = list(wire_tables(m, raw, planned, outline, notes))
    raw["rod"], stock = rod_tables(m, raw)
    case, left_out = _solved(case_from_dict(raw, "draft"), say)
    misfits = fit(case).problems
    beyond = [part for p in misfits if p.kind == "leg not measured" for part in p.parts]
    if beyond:
        first, last = (f(g.below_knee_mm for g in m.girth) for f in (min, max))
        notes.append(
            f"The leg was measured from {first:.0f} to {last:.0f} mm below the knee only, and "
            f"{', '.join(beyond)} reach beyond: there the nearest girth was taken. Measure it "
            "there too."
        )
    problems = tuple(p.message for p in misfits if p.kind != "leg not measured")
    return Draft(case, inner, tuple(stock), (*notes, *left_out), problems, taken(m))


def _planned(
    m: Measurements, outline: Outline
) -> tuple[list[PlannedRing], float, tuple[float, float], list[str]]:
    """Rings from proximal to distal, their inner diameter and centre, and notes."""
    radii = (0.0, 0.0)
    for _ in range(ROUNDS):
        planned, notes = _levels(m, radii)
        inner, centre = ring_size(wanted_points(outline, m.room, planned), m.parts.ring_sizes_mm)
        out = inner / 2.0 + RING_SECTION_MM[0] + abs(centre[1])
        if out <= radii[1]:
            break
        radii = (inner / 4.0, out)
    return planned, inner, centre, notes


def _levels(m: Measurements, radii: tuple[float, float]) -> tuple[list[PlannedRing], list[str]]:
    half = half_of_fracture(m)
    planned: list[PlannedRing] = []
    notes: list[str] = []
    tilts = (m.leg.knee_tilt_deg, m.leg.ankle_tilt_deg)
    for fragment, sign, tilt in zip(fragments(m, radii), (1.0, -1.0), tilts, strict=True):
        stand = ring_distances(fragment, m)
        notes += stand.notes
        for d in stand.distances:
            outer = d == stand.distances[-1]
            level = round(sign * (half + d), 1)
            planned.append(PlannedRing(level, tilt if outer and stand.tilted else 0.0, outer))
    planned.sort(key=lambda ring: -ring.level_mm)
    return planned, notes


def _solved(case: Case, say: Callable[[str], None]) -> tuple[Case, list[str]]:
    """The case with the loads that it can bear, and notes of those left out."""
    notes: list[str] = []
    while True:
        try:
            check_with_states(case, say)
            return case, notes
        except FemError as error:
            if len(case.load) <= 1:
                raise CaseError(
                    [Problem("", f"the drafted frame cannot be solved: {error}")], "draft"
                ) from error
            heaviest = max(case.load, key=lambda load: load.body_weight or 0.0)
            targets = [t for t in case.target if t.load != heaviest.name]
            gone = "and its targets are" if len(targets) < len(case.target) else "is"
            notes.append(f'The load "{heaviest.name}" {gone} left out: the frame cannot bear it.')
            raw = case.model_dump(exclude_unset=True, exclude_none=True)
            raw["load"] = [one for one in raw["load"] if one["name"] != heaviest.name]
            raw["target"] = [t.model_dump(exclude_unset=True) for t in targets]
            case = case_from_dict(raw, "draft")
