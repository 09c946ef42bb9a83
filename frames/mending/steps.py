"""Changes in steps: another wire, another size from the shelf, another rod.

Sizes are the generic ones of ``frames.part_sizes``. A wire more on a ring goes to a free face, or
on posts when both faces have wires; among directions every five degrees, of those in corridors the
one farthest from the wires there that brings no new misfit.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from frames.casefile import Case, CaseError, Ring, case_from_dict, replace
from frames.fitting.directions import outside_deg
from frames.part_sizes import RING_INNER_MM, WIRE_DIAMETERS_MM
from frames.sizes import THREADS

POST_HEIGHT_MM = 20.0
POST_DIAMETER_MM = 8.0
DIRECTION_STEP_DEG = 5.0
DIRECTIONS_TRIED = 8
PIN_DIAMETERS_MM = (4.0, 5.0, 6.0)
"""Half-pins of the trade, from memory."""


@dataclass(frozen=True)
class StepMove:
    """change, from where, to where, in words; the changed case."""

    change: str
    before: str
    after: str
    case: Case


Clean = Callable[[Case], bool]
"""Whether a changed case has no misfit that the case had not."""


def step_moves(case: Case, clean: Clean) -> Iterator[StepMove]:
    """All of a case that its file allows."""
    yield from _more_wires(case, clean)
    yield from _ring_sizes(case)
    yield from _wire_sizes(case)
    yield from _thicker_pins(case)
    yield from _thread_up(case)
    yield from _more_rods(case)


def _more_wires(case: Case, clean: Clean) -> Iterator[StepMove]:
    for ring in case.ring:
        own = [w for w in case.wire if w.ring == ring.name]
        if not case.wire:
            continue
        like = own[0] if own else case.wire[0]
        place = _free_place(case, ring)
        tried = []
        for bearing in _directions(case, ring)[:DIRECTIONS_TRIED]:
            new = {
                "name": _new_name([w.name for w in case.wire], "W"),
                "ring": ring.name,
                "bearing_deg": bearing,
                "diameter_mm": like.diameter_mm,
                "tension_N": like.tension,
                **{k: getattr(like, k) for k in _KEPT if k in like.model_fields_set},
                **place,
            }
            try:
                changed = _added(case, "wire", new)
            except CaseError:
                continue
            tried.append((bearing, changed))
            if clean(changed):
                break
        else:  # none is clean: the middle one, with what does not fit told
            if not tried:
                continue
            tried = tried[:1]
        bearing, changed = tried[-1]
        where = f"{bearing:.0f}°, {place.get('face') or 'on posts'}"
        yield StepMove(f"one more wire on ring {ring.name}", f"{len(own)} wires", where, changed)


_KEPT = ("material", "E_MPa", "nu", "bone_hold", "yield_MPa", "grip_N", "slip_N", "bolt_torque_Nm")


def _free_place(case: Case, ring: Ring) -> dict[str, Any]:
    taken = {w.face for w in case.wire if w.ring == ring.name}
    for face in ("proximal", "distal"):
        if face not in taken:
            return {"face": face}
    away = 1.0 if ring.level_mm < 0.0 else -1.0  # towards the gap, where there is room between
    return {"height_mm": away * POST_HEIGHT_MM, "post_diameter_mm": POST_DIAMETER_MM}


def _directions(case: Case, ring: Ring) -> list[float]:
    """Bearings every five degrees, the farthest from the wires there first; where corridors are
    given for the ring's level, those that have both ends in one."""
    taken = [w.bearing_deg for w in case.wire if w.ring == ring.name]
    every = [k * DIRECTION_STEP_DEG for k in range(int(180.0 / DIRECTION_STEP_DEG))]

    def apart(bearing: float) -> float:
        return min((abs((bearing - t + 90.0) % 180.0 - 90.0) for t in taken), default=0.0)

    here = [c for c in case.corridor if c.from_level_mm <= ring.level_mm <= c.to_level_mm]
    inside = [
        b
        for b in every
        if all(
            any(outside_deg(at, c.from_bearing_deg, c.to_bearing_deg) == 0.0 for c in here)
            for at in (b, b + 180.0)
        )
    ]
    return sorted(inside or every, key=lambda b: -apart(b))


def _new_name(taken: list[str], letter: str) -> str:
    number = len(taken) + 1
    while f"{letter}{number}" in taken:
        number += 1
    return f"{letter}{number}"


def _added(case: Case, kind: str, new: dict[str, Any]) -> Case:
    raw = case.model_dump(exclude_unset=True, exclude_none=True)
    raw[kind] = [*raw.get(kind, ()), new]
    return case_from_dict(raw, "changed case")


def _tried(case: Case, changes: dict[str, Any]) -> Iterator[Case]:
    try:
        yield replace(case, changes)
    except CaseError:
        return


def _ring_sizes(case: Case) -> Iterator[StepMove]:
    for words, bigger in (
        ("next smaller size, all rings", False),
        ("next larger size, all rings", True),
    ):
        now = [r.inner_diameter_mm for r in case.ring]
        new = [_next(d, RING_INNER_MM, bigger) for d in now]
        if all(n is not None for n in new):
            paths = {
                f"ring.{r.name}.inner_diameter_mm": n for r, n in zip(case.ring, new, strict=True)
            }
            for changed in _tried(case, paths):
                yield StepMove(words, _sizes(now), _sizes([n for n in new if n]), changed)


def _wire_sizes(case: Case) -> Iterator[StepMove]:
    for words, bigger in (("thinner wires, all", False), ("thicker wires, all", True)):
        now = [w.diameter_mm for w in case.wire]
        new = [_next(d, WIRE_DIAMETERS_MM, bigger) for d in now]
        if now and all(n is not None for n in new):
            paths = {f"wire.{w.name}.diameter_mm": n for w, n in zip(case.wire, new, strict=True)}
            for changed in _tried(case, paths):
                yield StepMove(words, _sizes(now), _sizes([n for n in new if n]), changed)


def _thicker_pins(case: Case) -> Iterator[StepMove]:
    now = [p.diameter_mm for p in case.pin]
    new = [_next(d, PIN_DIAMETERS_MM, True) for d in now]
    if now and all(n is not None for n in new):
        paths = {f"pin.{p.name}.diameter_mm": n for p, n in zip(case.pin, new, strict=True)}
        for changed in _tried(case, paths):
            yield StepMove("thicker pins, all", _sizes(now), _sizes([n for n in new if n]), changed)


def _next(value: float, sizes: tuple[float, ...], bigger: bool) -> float | None:
    if bigger:
        return min((float(s) for s in sizes if s > value + 0.01), default=None)
    return max((float(s) for s in sizes if s < value - 0.01), default=None)


def _sizes(values: list[float]) -> str:
    low, high = min(values), max(values)
    return f"{low:g} mm" if low == high else f"{low:g} to {high:g} mm"


def _thread_up(case: Case) -> Iterator[StepMove]:
    order = sorted(THREADS, key=lambda t: THREADS[t])
    changes: dict[str, Any] = {}
    before: list[str] = []
    after: list[str] = []
    for number, rod in enumerate(case.rod, start=1):
        if rod.thread is None or rod.thread == order[-1]:
            continue
        up = order[order.index(rod.thread) + 1]
        changes[f"rod.{number}.thread"] = up
        before.append(rod.thread)
        after.append(up)
    if changes:
        for changed in _tried(case, changes):
            yield StepMove("rods one thread up", _alike(before), _alike(after), changed)


def _alike(words: list[str]) -> str:
    return words[0] if len(set(words)) == 1 else "various"


def _more_rods(case: Case) -> Iterator[StepMove]:
    pairs = dict.fromkeys(tuple(r.rings) for r in case.rod if len(r.rings) == 2)
    for pair in pairs:
        own = [r for r in case.rod if tuple(r.rings) == pair and r.bearing_deg is not None]
        if not own:
            continue
        order = sorted((r.bearing_deg or 0.0) % 360.0 for r in own)
        wide = [(b - a, a) for a, b in zip(order, [*order[1:], order[0] + 360.0], strict=True)]
        width, start = max(wide)
        like = own[0].model_dump(exclude_unset=True, exclude_none=True)
        like.pop("name", None)
        bearing = (start + width / 2.0) % 360.0
        try:
            changed = _added(case, "rod", like | {"bearing_deg": bearing})
        except CaseError:
            continue
        words = f"one more rod, {pair[0]} to {pair[1]}"
        yield StepMove(words, f"{len(own)} rods", f"at {bearing:.0f}°", changed)
