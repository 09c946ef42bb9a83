"""Frames that are mirror images of each other in the sagittal plane, where the rest of the case is
its own mirror image: they do the same, and one of them is enough.
"""

from dataclasses import replace

from frames.casefile import Case, Ring
from frames.casefile.loads import Load
from frames.searching.allowed import Allowed
from frames.searching.layout import HALF_TURN, Layout

_NIL = 1e-9


class Mirror:
    """Takes the first of a frame and its mirror image."""

    def __init__(self, case: Case, where: Allowed) -> None:
        self.symmetric = is_symmetric(case) and all(
            own[b] == own[-b % HALF_TURN] for own in where.by_slot.values() for b in range(len(own))
        )

    def first(self, layout: Layout) -> Layout:
        """Itself, or its mirror image where that comes first and does the same."""
        return min(layout, mirrored(layout)) if self.symmetric else layout


def mirrored(layout: Layout) -> Layout:
    """In the sagittal plane: a bearing changes its sign."""
    return tuple(sorted(replace(w, bearing_deg=-w.bearing_deg % HALF_TURN) for w in layout))


def is_symmetric(case: Case) -> bool:
    """Whether all but the wires is certainly its own mirror image (a case of which this is not
    certain counts as none)."""
    return (
        not case.pin
        and not case.nut_turn
        and (case.bone.contact is None or not case.bone.contact.obliquity_deg)
        and all(_ring(r) for r in case.ring)
        and _rods(case)
        and all(_load(o) for o in case.load)
    )


def _ring(ring: Ring) -> bool:
    if abs(ring.centre_mm[1]) > _NIL or ring.tilt_deg or ring.halves:
        return False
    return ring.opening_bearing_deg % HALF_TURN == 0.0


def _rods(case: Case) -> bool:
    def told(way: float) -> list[tuple[object, ...]]:
        found = []
        for rod in case.rod:
            rest = rod.model_dump(exclude={"name", "bearing_deg", "bearings_deg", "rings"})
            at = sorted((name, round(way * rod.bearing_in(name) % 360.0, 6)) for name in rod.rings)
            found.append((tuple(at), tuple(rest.items())))
        return sorted(found, key=repr)

    return told(1.0) == told(-1.0)


def _load(load: Load) -> bool:
    return load.is_axial and abs(load.offset_mm[1]) < _NIL
