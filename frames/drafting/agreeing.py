"""What does not go together in the measurements, though each is right by itself."""

from collections.abc import Iterator
from math import hypot, pi

from frames.casefile import Problem
from frames.drafting.tables import Fracture, Girth, Measurements

PATTERN_OF = {"obliquity_deg": "oblique", "length_mm": "comminuted"}


def together(m: Measurements) -> list[Problem]:
    """Problems, in the order of the tables."""
    return [*_fracture(m), *_girths(m), *_bone(m), *_ranges(m)]


def _fracture(m: Measurements) -> Iterator[Problem]:
    ankle = m.leg.ankle_below_knee_mm
    if not 0.0 < m.fracture.below_knee_mm < ankle:
        yield Problem(
            "fracture, below_knee_mm",
            f"lies outside the bone, which runs from the knee (0) to the ankle ({ankle:g})",
            m.fracture.below_knee_mm,
        )
    yield from _pattern(m.fracture)


def _pattern(fracture: Fracture) -> Iterator[Problem]:
    for key, pattern in PATTERN_OF.items():
        value = getattr(fracture, key)
        if fracture.pattern == pattern and value is None:
            yield Problem(f"fracture, {key}", f"is missing for a fracture that is {pattern}")
        if fracture.pattern != pattern and value is not None:
            yield Problem(
                f"fracture, {key}",
                f'goes with pattern = "{pattern}", and pattern is "{fracture.pattern}"',
                value,
            )


def _girths(m: Measurements) -> Iterator[Problem]:
    outer = m.bone.outer_mm / 2.0
    seen: set[float] = set()
    for number, girth in enumerate(m.girth, start=1):
        place = f"girth {number}"
        if girth.below_knee_mm in seen:
            yield Problem(
                f"{place}, below_knee_mm", "is there twice: once per distance", girth.below_knee_mm
            )
        seen.add(girth.below_knee_mm)
        yield from _bone_inside(girth, place, outer)


def _bone_inside(girth: Girth, place: str, outer: float) -> Iterator[Problem]:
    """The skin lies outside the bone."""
    if girth.widths_mm is not None and min(girth.widths_mm) <= outer:
        need = f"the bone would stick out: more than {outer:g} mm, half its outer diameter, needed"
        yield Problem(f"{place}, widths_mm", need, girth.widths_mm)
    if girth.girth_mm is not None:
        inside = girth.girth_mm / (2.0 * pi) - hypot(*girth.centre_mm)
        if inside <= outer:
            a, m = girth.centre_mm
            yield Problem(
                f"{place}, girth_mm",
                f"the bone would stick out: a circle of this girth about centre_mm = [{a:g}, "
                f"{m:g}] comes within {inside:.1f} mm of the bone axis, and half the bone's outer "
                f"diameter is {outer:g} mm. Give centre_mm, or widths_mm instead",
                girth.girth_mm,
            )


def _bone(m: Measurements) -> Iterator[Problem]:
    if m.bone.inner_mm >= m.bone.outer_mm:
        yield Problem(
            "bone, inner_mm", f"must be less than outer_mm ({m.bone.outer_mm:g})", m.bone.inner_mm
        )


def _ranges(m: Measurements) -> Iterator[Problem]:
    for kind, items in (("wound", m.wound), ("corridor", m.corridor)):
        for item in items:
            if item.from_below_knee_mm >= item.to_below_knee_mm:
                yield Problem(
                    f'{kind} "{item.name}", to_below_knee_mm',
                    f"must be more than from_below_knee_mm ({item.from_below_knee_mm:g})",
                    item.to_below_knee_mm,
                )
