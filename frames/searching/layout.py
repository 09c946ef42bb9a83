"""Where wires lie, and the case that a choice of them makes.

A wire is laid on one face of a ring, flat in it and through the bone axis; so a ring takes two at
most. Turned by 180 degrees it is the same wire. What is not chosen (material, hold in the bone,
clamps) is that of the case's first wire; stoppers, posts, offsets and tilts are left out.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from frames.casefile import Case, Wire, case_from_dict

FACES = ("proximal", "distal")
HALF_TURN = 180

_CHOSEN = {"name", "ring", "bearing_deg", "face", "diameter_mm", "tension_N", "tension_kgf"}
_LEFT_OUT = {
    "height_mm",
    "offset_mm",
    "tilt_deg",
    "olive",
    "tension_from",
    "end_tension_N",
    "order",
    "post_diameter_mm",
}
USUAL_DIAMETER_MM = 1.8
"""Of a case without wires; common practice, no source."""


@dataclass(frozen=True, order=True)
class Laid:
    """A wire's place: number of its ring in the case, face (0 proximal, 1 distal), bearing."""

    ring: int
    face: int
    bearing_deg: float

    @property
    def slot(self) -> tuple[int, int]:
        """Ring and face."""
        return self.ring, self.face


Layout = tuple[Laid, ...]
"""All wires of a frame, sorted."""


@dataclass(frozen=True)
class Setting:
    """What all wires have in common: diameter (mm) and tension (kgf)."""

    diameter_mm: float
    tension_kgf: float


class Layer:
    """Lays wires into a case in place of its own."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self._bare = case.model_dump(exclude_unset=True, exclude_none=True)
        self._bare.pop("wire", None)
        self.first: Wire | None = case.wire[0] if case.wire else None
        kept = {} if self.first is None else self.first.model_dump(
            exclude_unset=True, exclude_none=True
        )  # fmt: skip
        self._kept = {k: v for k, v in kept.items() if k not in _CHOSEN | _LEFT_OUT}

    @property
    def diameters(self) -> tuple[float, ...]:
        """Those to choose from."""
        own = USUAL_DIAMETER_MM if self.first is None else self.first.diameter_mm
        return tuple(sorted(set(self.case.search.diameters_mm or (own,))))

    def alike(self, layout: Layout, setting: Setting) -> Case:
        """All wires at the same tension. Raises ``CaseError``."""
        return self.lay(layout, setting.diameter_mm, [setting.tension_kgf] * len(layout))

    def lay(self, layout: Layout, diameter_mm: float, tensions_kgf: Sequence[float]) -> Case:
        """The case with these wires, called W1 and so on in their order. Raises ``CaseError``."""
        taken = {p.name for p in self.case.pin}
        names = [n for n in (f"W{i}" for i in range(1, 600)) if n not in taken]
        wires = [
            self._wire(name, laid, diameter_mm, tension)
            for name, laid, tension in zip(names, layout, tensions_kgf, strict=False)
        ]
        raw = self._bare | ({"wire": wires} if wires else {})
        return case_from_dict(raw, "frame of the search")

    def wire(self, setting: Setting) -> Wire:
        """Any wire of these frames."""
        return Wire(**self._wire("W1", Laid(0, 0, 0.0), setting.diameter_mm, setting.tension_kgf))

    def _wire(self, name: str, laid: Laid, diameter: float, tension: float) -> dict[str, Any]:
        return {
            "name": name,
            "ring": self.case.ring[laid.ring].name,
            "bearing_deg": float(laid.bearing_deg),
            "face": FACES[laid.face],
            "diameter_mm": diameter,
            "tension_kgf": float(tension),
            **self._kept,
        }

    @property
    def unlike(self) -> tuple[str, ...]:
        """Keys of the case's wires that a search does not keep, or keeps from the first wire
        only."""
        found: dict[str, None] = {}
        for wire in self.case.wire:
            given = wire.model_dump(exclude_unset=True, exclude_none=True)
            kept = {k: v for k, v in given.items() if k not in _CHOSEN | _LEFT_OUT}
            found |= dict.fromkeys(k for k in given if k in _LEFT_OUT and given[k])
            found |= dict.fromkeys(
                k for k in {**kept, **self._kept} if kept.get(k) != self._kept.get(k)
            )
        return tuple(found)


def turn_deg(one: float, other: float) -> float:
    """How far the line at ``other`` is turned from that at ``one``: -90 (left out) to 90."""
    turn = (other - one) % HALF_TURN
    return turn if turn <= HALF_TURN / 2 else turn - HALF_TURN


def crossing_deg(one: Laid, other: Laid) -> float:
    """Angle, 0 to 90 degrees, at which two wires cross, seen along the bone."""
    return abs(turn_deg(one.bearing_deg, other.bearing_deg))
