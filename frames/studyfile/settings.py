"""What the value of a parameter changes in a case.

A setting tells the changes for a value; the keys it sets (``sets``), by which two parameters on one
key are found; and the keys that go when it sets its own (``ousts``: tension_kgf for tension_N).
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from frames.casefile import Case
from frames.casefile.paths import Slot
from frames.casefile.places import parts_of
from frames.studyfile.tables import RingSize

Change = tuple[Slot, Any]
Key = tuple[str, int, str]
"""Kind, number of the part, key ("callus.E_MPa" for one of a table inside)."""

WIRE_LAYOUT = "its wires"
"""Stands for how many wires a ring carries and where they lie."""


@dataclass(frozen=True)
class KeySetting:
    """Keys of parts that all take the value; bases: their numbers in the case, which the value
    multiplies, None when it stands for itself."""

    slots: tuple[Slot, ...]
    bases: tuple[float, ...] | None = None

    def changes(self, value: Any) -> Iterator[Change]:
        """Keys and what they become."""
        if self.bases is None:
            yield from ((slot, value) for slot in self.slots)
        else:
            yield from ((s, value * b) for s, b in zip(self.slots, self.bases, strict=True))

    def sets(self) -> set[Key]:
        """Keys it sets."""
        return {(s.kind, s.number, f"{s.inner}.{s.key}".lstrip(".")) for s in self.slots}

    def ousts(self, case: Case) -> set[Key]:
        """Keys that go when its own are set."""
        found: set[Key] = set()
        for slot in self.slots:
            part = parts_of(case, slot.kind)[slot.number]
            others = part.excluded_by(slot.inner or slot.key)
            found |= {(slot.kind, slot.number, key) for key in others}
        return found


@dataclass(frozen=True)
class CrossingSetting:
    """Two wires on each of some rings: (ring, wires, middle bearing, half turns from it)."""

    pairs: tuple[tuple[int, tuple[int, int], float, tuple[float, float], tuple[float, float]], ...]

    def changes(self, value: Any) -> Iterator[Change]:
        """Bearings of the wires, value degrees apart."""
        for _, wires, middle, sides, turned in self.pairs:
            for wire, side, start in zip(wires, sides, turned, strict=True):
                bearing = (middle + side * value / 2.0 + start) % 360.0
                yield Slot("wire", wire, "", "bearing_deg"), bearing

    def sets(self) -> set[Key]:
        """Keys it sets."""
        found: set[Key] = {("ring", ring, WIRE_LAYOUT) for ring, *_ in self.pairs}
        return found | {("wire", w, "bearing_deg") for _, wires, *_ in self.pairs for w in wires}

    def ousts(self, case: Case) -> set[Key]:
        """Keys that go when its own are set: none."""
        return set()


@dataclass(frozen=True)
class SizeSetting:
    """Rings that take one of some sizes."""

    rings: tuple[int, ...]
    sizes: tuple[RingSize, ...]

    def changes(self, value: Any) -> Iterator[Change]:
        """The ring's section; value: inner diameter, mm."""
        size = next((s for s in self.sizes if s.inner_diameter_mm == value), None)
        if size is None:
            raise ValueError(f"no ring size has an inner diameter of {value} mm")
        for ring in self.rings:
            for key in ("inner_diameter_mm", "width_mm", "thickness_mm"):
                yield Slot("ring", ring, "", key), getattr(size, key)
            # None: the middle of the width
            yield Slot("ring", ring, "", "hole_circle_mm"), size.hole_circle_mm

    def sets(self) -> set[Key]:
        """Keys it sets."""
        keys = ("inner_diameter_mm", "width_mm", "thickness_mm", "hole_circle_mm")
        return {("ring", ring, key) for ring in self.rings for key in keys}

    def ousts(self, case: Case) -> set[Key]:
        """Keys that go when its own are set: none."""
        return set()


@dataclass(frozen=True)
class CountSetting:
    """Rings, by number, that carry so many wires (``frames.studyfile.laying``)."""

    rings: tuple[int, ...]

    def changes(self, value: Any) -> Iterable[Change]:
        """None: the wires are laid once all other values are set."""
        return ()

    def sets(self) -> set[Key]:
        """Keys it sets."""
        return {("ring", ring, WIRE_LAYOUT) for ring in self.rings}

    def ousts(self, case: Case) -> set[Key]:
        """Keys that go when its own are set: see ``clashes`` in ``frames.studyfile.clashing``."""
        return set()


Setting = KeySetting | CrossingSetting | SizeSetting | CountSetting
