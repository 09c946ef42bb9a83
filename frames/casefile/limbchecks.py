"""Checks of the leg, its corridors, and of the tables about what follows the operation."""

import itertools
from collections.abc import Iterator
from math import hypot, pi
from typing import Any

from frames.casefile.endurance import Endurance
from frames.casefile.gap_windows import Window
from frames.casefile.limb import Corridor, Limb, Wound
from frames.casefile.problems import Problem
from frames.casefile.recovery import Healing
from frames.casefile.tables import Tables

LEAST_MODULUS = 0.001
"""MPa, as for [bone.callus]."""

LEAST_STRAIN = 0.01
"""Percent."""


def _bone_inside(tables: Tables, limb: Limb, place: str) -> Iterator[Problem]:
    outer = tables.bone.outer_mm / 2.0
    if limb.widths_mm is not None and min(limb.widths_mm) <= outer:
        need = f"more than {outer:g} mm, half the bone's outer diameter"
        yield Problem(f"{place}, widths_mm", "the bone would stick out", limb.widths_mm, need)
    if limb.girth_mm is not None:
        inside = limb.girth_mm / (2.0 * pi) - hypot(*limb.centre_mm)
        if inside <= outer:
            yield Problem(
                f"{place}, girth_mm",
                f"a circle of this girth about centre_mm comes within {inside:.1f} mm of the bone "
                f"axis, inside the bone (outer_mm / 2 = {outer:g})",
                limb.girth_mm,
            )


def _level_of_its_own(tables: Tables, limb: Limb, place: str) -> Iterator[Problem]:
    for other in tables.limb:
        if other is limb:
            return
        if other.level_mm == limb.level_mm:
            yield Problem(f"{place}, level_mm", "is there twice: once per level", limb.level_mm)
            return


def _levels_in_order(_tables: Tables, range_: Corridor | Wound, place: str) -> Iterator[Problem]:
    if range_.from_level_mm >= range_.to_level_mm:
        yield Problem(
            f"{place}, to_level_mm",
            f"must be more than from_level_mm ({range_.from_level_mm:g})",
            range_.to_level_mm,
        )


def _some_width(_tables: Tables, corridor: Corridor | Wound, place: str) -> Iterator[Problem]:
    start, end = corridor.from_bearing_deg, corridor.to_bearing_deg
    if start is not None and end is not None and (end - start) % 360.0 == 0.0 and start == end:
        yield Problem(
            f"{place}, to_bearing_deg",
            "is the same as from_bearing_deg: no direction lies between them",
            end,
        )


def _window_open(_tables: Tables, window: Window, place: str) -> Iterator[Problem]:
    if (
        window.at_least is not None
        and window.at_most is not None
        and window.at_least > window.at_most
    ):
        yield Problem(
            f"{place}, at_most", f"is less than at_least ({window.at_least:g})", window.at_most
        )


def _points(place: str, along: str, first: Any, across: str, second: Any) -> Iterator[Problem]:
    if len(first) != len(second):
        yield Problem(
            f"{place}, {across}", f"needs a value for each of the {len(first)} of {along}", second
        )
    if any(b <= a for a, b in itertools.pairwise(first)):
        yield Problem(f"{place}, {along}", "must grow from one to the next", first)
    if any(value <= 0.0 for value in second):
        yield Problem(f"{place}, {across}", "must be more than 0", second)


def _curve(_tables: Tables, healing: Healing, place: str) -> Iterator[Problem]:
    yield from _points(place, "week", healing.week, "E_MPa", healing.E_MPa)
    if any(0.0 < E < LEAST_MODULUS for E in healing.E_MPa):
        yield Problem(f"{place}, E_MPa", f"must be {LEAST_MODULUS:g} MPa or more", healing.E_MPa)
    if healing.strain_by_week_percent is not None:
        limits = healing.strain_by_week_percent
        if len(limits) != len(healing.week):
            yield Problem(
                f"{place}, strain_by_week_percent",
                f"needs a value for each of the {len(healing.week)} of week",
                limits,
            )
        if any(limit < LEAST_STRAIN for limit in limits):
            yield Problem(
                f"{place}, strain_by_week_percent", f"must be {LEAST_STRAIN:g} % or more", limits
            )


def _line(_tables: Tables, limits: Endurance, place: str) -> Iterator[Problem]:
    if (limits.cycles is None) != (limits.amplitude_MPa is None):
        yield Problem(place, "cycles and amplitude_MPa go together: give both or neither")
    elif limits.cycles is not None:
        given = limits.amplitude_MPa
        yield from _points(place, "cycles", limits.cycles, "amplitude_MPa", given)
        if given is not None and any(b >= a for a, b in itertools.pairwise(given)):
            yield Problem(f"{place}, amplitude_MPa", "must fall from one to the next", given)


def _ultimate_above_yield(_tables: Tables, limits: Endurance, place: str) -> Iterator[Problem]:
    lowest, highest = limits.yield_MPa, limits.ultimate_MPa
    if lowest is not None and highest is not None and highest < lowest:
        yield Problem(f"{place}, ultimate_MPa", f"is less than yield_MPa ({lowest:g})", highest)


def _once(tables: Tables, limits: Endurance, place: str) -> Iterator[Problem]:
    for other in tables.endurance:
        if other is limits:
            return
        if other.material == limits.material:
            yield Problem(f"{place}, material", "is there twice", limits.material)
            return


LIMB_CHECKS = (_bone_inside, _level_of_its_own)
CORRIDOR_CHECKS = (_levels_in_order, _some_width)
WOUND_CHECKS = (_levels_in_order, _some_width)
WINDOW_CHECKS = (_window_open,)
HEALING_CHECKS = (_curve,)
ENDURANCE_CHECKS = (_line, _ultimate_above_yield, _once)
