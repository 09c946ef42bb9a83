"""Tolerances taken where a case file gives none."""

from collections.abc import Iterator

from frames.casefile import Case
from frames.casefile.tolerance import Tolerance

_OWN = "own choice, no source"
TENSION_PERCENT = 5.0
BEARING_DEG = 3.0
LEVEL_MM = 1.0
BONE_PERCENT = 20.0
GRIP_PERCENT = 50.0


def default_tolerances(case: Case) -> tuple[Tolerance, ...]:
    """Tension of wires ±5 %, bearings of wires and pins ±3°, levels of rings ±1 mm, modulus of bone
    ±20 %, and, of the wires that have one, grip in the bone ±50 %."""
    return tuple(_taken(case))


def _taken(case: Case) -> Iterator[Tolerance]:
    taut = [f"wire.{w.name}.tension_N" for w in case.wire if w.tension > 0.0]
    if taut:
        paths = ["wire.*.tension_N"] if len(taut) == len(case.wire) else taut
        yield from _several(paths, plus_minus_percent=TENSION_PERCENT)
    held = [f"{kind}.*.bearing_deg" for kind in ("wire", "pin") if getattr(case, kind)]
    yield from _several(held, plus_minus=BEARING_DEG)
    yield from _several(["ring.*.level_mm"], plus_minus=LEVEL_MM)
    yield from _several(["bone.E_MPa"], plus_minus_percent=BONE_PERCENT)
    grips = [f"wire.{w.name}.grip_N" for w in case.wire if w.grip_N > 0.0]
    if grips:
        paths = ["wire.*.grip_N"] if len(grips) == len(case.wire) else grips
        yield from _several(paths, plus_minus_percent=GRIP_PERCENT)


def _several(paths: list[str], **size: float) -> Iterator[Tolerance]:
    yield Tolerance(paths=tuple(paths[:100]), source=_OWN, **size)  # type: ignore[arg-type]
