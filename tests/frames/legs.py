"""Frames round legs of known outline, and the kinds of problem found in them."""

import math
from typing import Any

from frames import case_from_dict, fit
from tests.frames import cases
from tests.frames.cases import Raw


def round_leg(radius: float, centre: tuple[float, float] = (0.0, 0.0)) -> list[Raw]:
    girth = 2.0 * math.pi * radius
    return [{"level_mm": z, "girth_mm": girth, "centre_mm": list(centre)} for z in (-200, 200)]


def legged(radius: float = 50.0, centre: tuple[float, float] = (0.0, 0.0), **room: Any) -> Raw:
    return cases.frame() | {"limb": round_leg(radius, centre), "room": room}


def kinds(raw: Raw) -> set[str]:
    return {p.kind for p in fit(case_from_dict(raw)).problems}
