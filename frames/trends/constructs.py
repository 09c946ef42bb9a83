"""Frames of the kinds that were tested, as cases.

An abstract seldom tells the whole frame.  What it does not tell is own choice here, the same
in every study so that numbers can be compared from one trend to the next: ring section, rods,
levels, bone.  Loads and wires are those of the study.

A *pair of rings* stands for tests of a single ring: one ring on each fragment, joined by rods.
The gap then moves twice as far as the bone in one ring, and its stiffness is half that of one
ring; ratios, signs and orders are the same.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from frames.casefile import Case, case_from_dict

Keys = Mapping[str, Any]

RIGID_RING = {"E_MPa": 1e6, "nu": 0.3, "thickness_mm": 20.0}
"""A ring, 14 mm wide, that hardly changes shape."""


@dataclass(frozen=True)
class Build:
    """A frame of equal rings, each with equal wires at the same bearings.

    inner_mm : inner diameter of the rings. tension_kgf : of all wires, or one for each wire of a
    ring in turn. wire_mm : their diameter. bearings : of a ring's wires, which lie on its two
    faces in turn. rod_bearings, rod_mm : of rods through all rings. ring, wire, bone, model :
    further keys of the case file. loads : name and keys of each. braces : bearings of further rods
    from the first ring to the last only.
    """

    inner_mm: float
    tension_kgf: float | Sequence[float]
    wire_mm: float
    levels: Sequence[float]
    bone: Keys
    ring: Keys
    bearings: Sequence[float] = (45.0, 135.0)
    rod_bearings: Sequence[float] = (0.0, 90.0, 180.0, 270.0)
    rod_mm: float = 6.0
    rod: Keys = field(default_factory=dict)
    wire: Keys = field(default_factory=dict)
    model: Keys = field(default_factory=dict)
    loads: Mapping[str, Keys] = field(default_factory=dict)
    braces: Sequence[float] = ()

    def case(self) -> Case:
        """The checked case.  Raises ``frames.casefile.CaseError``."""
        names = [f"R{i + 1}" for i in range(len(self.levels))]
        return case_from_dict(
            {
                "case": {"title": "frame of a published trend", "side": "right"},
                "bone": {
                    "proximal_end_mm": max(self.levels) + 20.0,
                    "distal_end_mm": min(self.levels) - 20.0,
                    "gap_mm": 5.0,
                    **self.bone,
                },
                "ring": [
                    {"name": n, "level_mm": z, "inner_diameter_mm": self.inner_mm, **self.ring}
                    for n, z in zip(names, self.levels, strict=True)
                ],
                "rod": [self._rod(names, b) for b in self.rod_bearings]
                + [self._rod([names[0], names[-1]], b) for b in self.braces],
                "wire": [self._wire(n, i) for n in names for i in range(len(self.bearings))],
                "model": dict(self.model),
                "load": [{"name": name, **keys} for name, keys in self.loads.items()],
            }
        )

    def _rod(self, rings: Sequence[str], bearing: float) -> Keys:
        return {"rings": rings, "bearing_deg": bearing, "diameter_mm": self.rod_mm, **self.rod}

    def _wire(self, ring: str, i: int) -> Keys:
        same = isinstance(self.tension_kgf, int | float)
        return {
            "name": f"{ring} wire {i + 1}",
            "ring": ring,
            "bearing_deg": self.bearings[i],
            "face": ("proximal", "distal")[i % 2],
            "diameter_mm": self.wire_mm,
            "tension_kgf": self.tension_kgf if same else self.tension_kgf[i],  # type: ignore[index]
            **self.wire,
        }


def along(*newton: float) -> dict[str, Keys]:
    """Loads along the bone, named by their size: ``100 N``."""
    return {f"{P:g} N": {"axial_N": P} for P in newton}


def crossing(degrees: float) -> tuple[float, float]:
    """Bearings of two wires that cross at an angle, their bisector straight to the side."""
    return 90.0 - degrees / 2.0, 90.0 + degrees / 2.0


ACETAL_ROD = {"outer_mm": 16.0, "inner_mm": 0.0, "E_MPa": 3000.0, "nu": 0.35}
ALUMINIUM_RING = {"material": "aluminium", "width_mm": 14.0, "thickness_mm": 6.0}

SMALL_FOUR = Build(84.0, 60.0, 1.6, (90.0, 30.0, -30.0, -90.0), ACETAL_ROD, ALUMINIUM_RING)
"""Four small rings on a plastic rod, two wires of 1.6 mm each, as in animal surgery."""

SMALL_PAIR = Build(84.0, 60.0, 1.6, (30.0, -30.0), ACETAL_ROD, ALUMINIUM_RING)
"""A pair of such rings, for tests of a single ring."""

SHIN = Build(
    160.0,
    110.0,
    1.8,
    (140.0, 50.0, -50.0, -140.0),
    {"outer_mm": 30.0, "inner_mm": 16.0},
    {"material": "stainless steel", "width_mm": 14.0, "thickness_mm": 5.0},
)
"""Four steel rings on a shin bone, two wires of 1.8 mm each (common practice, no source)."""

SMALL_WORDS = "aluminium rings 14 mm wide and 6 mm thick, rods of 6 mm"
SHIN_WORDS = (
    "four steel rings of 160 mm (14 × 5 mm) at 140, 50, −50 and −140 mm, four rods of 6 mm, two "
    "wires of 1.8 mm a ring crossing at 90° on its two faces, bone of 30 mm, gap of 5 mm"
)
