"""Frames small enough to try every choice of wires one by one. Invented."""

import itertools
from collections.abc import Iterator, Sequence
from typing import Any

from frames import case_from_dict, check
from frames.casefile import Case
from frames.outputs import margin_percent
from tests.frames import cases
from tests.frames.cases import Raw

FOUR_WAYS = (("a", 20.0, 70.0), ("b", 110.0, 160.0), ("c", 200.0, 250.0), ("d", 290.0, 340.0))
QUARTERS = (0.0, 90.0, 180.0, 270.0)
TWO_TARGETS = (("axial_N_per_mm", 40.0), ("torsion_Nm_per_deg", 0.2))


def ways(*ranges: tuple[str, float, float]) -> list[Raw]:
    """Corridors over the whole bone."""
    return [
        {
            "name": name,
            "from_level_mm": -170.0,
            "to_level_mm": 170.0,
            "from_bearing_deg": start,
            "to_bearing_deg": end,
        }
        for name, start, end in ranges
    ]


def at_least(*bounds: tuple[str, float]) -> list[Raw]:
    return [{"quantity": quantity, "at_least": least} for quantity, least in bounds]


def three_rings(*targets: tuple[str, float], **search: Any) -> Raw:
    """Two rings above, one below; a grid of 45° leaves two bearings on each face."""
    raw = cases.frame(levels=(110.0, 40.0, -60.0), bearings=((45.0, 135.0),), rods=QUARTERS)
    for rod, bearing in zip(raw["rod"][4:], (15.0, 165.0, 195.0, 345.0), strict=True):
        rod["bearing_deg"] = bearing  # the others stand in these holes of the middle ring
    raw["corridor"] = ways(*FOUR_WAYS)
    raw["target"] = at_least(*(targets or TWO_TARGETS))
    raw["search"] = {"bearing_step_deg": 45, "tension_kgf": [110.0, 110.0], **search}
    return raw


def two_rings(**search: Any) -> Raw:
    """One above, one below, and no corridors: all four wires are needed."""
    raw = cases.frame(levels=(60.0, -60.0), bearings=((45.0, 135.0),), rods=QUARTERS)
    raw["target"] = at_least(("shear_ap_N_per_mm", 5.0), ("shear_ml_N_per_mm", 5.0))
    raw["search"] = {"bearing_step_deg": 35, "tension_kgf": [110.0, 110.0], **search}
    return raw


Choice = tuple[float | None, ...]
"""A bearing, or none, for the proximal and the distal face of every ring in turn."""


def every_choice(raw: Raw, bearings: Sequence[float], crossing: float) -> Iterator[Choice]:
    """All that keep the rules: wires of a ring cross, and some two of each fragment."""
    rings = len(raw["ring"])
    for choice in itertools.product((None, *bearings), repeat=2 * rings):
        pairs = [choice[2 * i : 2 * i + 2] for i in range(rings)]
        if any(None not in p and _cross(*p) < crossing for p in pairs):  # type: ignore[arg-type]
            continue
        above = [p for p, r in zip(pairs, raw["ring"], strict=True) if r["level_mm"] > 0.0]
        below = [p for p, r in zip(pairs, raw["ring"], strict=True) if r["level_mm"] < 0.0]
        if all(_held(part, crossing) for part in (above, below)):
            yield choice


def _held(part: Sequence[Sequence[float | None]], crossing: float) -> bool:
    own = [b for pair in part for b in pair if b is not None]
    return any(_cross(a, b) >= crossing for a, b in itertools.combinations(own, 2))


def _cross(a: float, b: float) -> float:
    apart = abs(a - b) % 180.0
    return min(apart, 180.0 - apart)


def chosen(raw: Raw, choice: Choice, kgf: float = 110.0) -> Case:
    """The case with these wires."""
    faces = ("proximal", "distal")
    wires = [
        cases.wire(f"W{i}", raw["ring"][i // 2]["name"], bearing, faces[i % 2], tension_kgf=kgf)
        for i, bearing in enumerate(choice)
        if bearing is not None
    ]
    return case_from_dict({**raw, "wire": wires})


def smallest_margin(case: Case) -> float:
    """Percent, by a check."""
    return min(margin_percent(t) for t in check(case).targets)
