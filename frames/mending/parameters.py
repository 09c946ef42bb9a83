"""The numbers of a case that one could turn a little: where they stand, what they are called.

A parameter is one number of one part. A ring's inner diameter takes its hole circle along and a
wire on a face moves with its diameter, as in ``frames.casefile.replace``; a wire's height is set as
such, whatever it was given by. ``step`` is that of the difference quotients: some thousandths of
the size over which a frame's answers bend.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from frames.casefile import Case, replace, wire_height


@dataclass(frozen=True)
class Parameter:
    """path : of its key for ``frames.casefile.replace``; component: which number of a pair or a
    list, None for a single number. part and what: words ("wire W1", "tension"); unit; value now;
    step of difference quotients."""

    path: str
    component: int | None
    part: str
    what: str
    unit: str
    value: float
    step: float
    whole: tuple[float, ...] = ()

    @property
    def kind(self) -> str:
        """ "wire", "ring", "rod" or "pin"."""
        return self.path.split(".")[0]

    @property
    def key(self) -> str:
        """Key of the case file."""
        return self.path.rpartition(".")[2]

    def change(self, value: float) -> dict[str, Any]:
        """The change that sets it, for ``replace``."""
        if self.component is None:
            return {self.path: value}
        return {self.path: [value if i == self.component else v for i, v in enumerate(self.whole)]}


def moved(case: Case, steps: Mapping[Parameter, float]) -> Case:
    """The case with parameters changed by so much. Raises ``CaseError``."""
    changes: dict[str, Any] = {}
    for parameter, by in steps.items():
        path, i = parameter.path, parameter.component
        if i is not None and path in changes:  # another number of the same pair
            changes[path][i] = parameter.value + by
        else:
            changes |= parameter.change(parameter.value + by)
    return replace(case, changes)


def parameters(case: Case) -> tuple[Parameter, ...]:
    """All of a case: wires, pins, rings, rods."""
    return (*_wires(case), *_pins(case), *_rings(case), *_rods(case))


def _wires(case: Case) -> Iterator[Parameter]:
    rings = {r.name: r for r in case.ring}
    for w in case.wire:
        at, part = f"wire.{w.name}", f"wire {w.name}"
        pull = w.tension
        yield _one(f"{at}.tension_N", part, "tension", "N", pull, max(0.01 * pull, 1.0))
        yield _one(f"{at}.bearing_deg", part, "bearing", "°", w.bearing_deg, 0.05)
        yield _one(f"{at}.offset_mm", part, "offset", "mm", w.offset_mm, 0.02)
        height = wire_height(w, rings[w.ring])
        yield _one(f"{at}.height_mm", part, "height", "mm", height, 0.02)
        d = w.diameter_mm
        yield _one(f"{at}.diameter_mm", part, "diameter", "mm", d, 0.002 * d)


def _pins(case: Case) -> Iterator[Parameter]:
    rings = {r.name: r for r in case.ring}
    for p in case.pin:
        at, part = f"pin.{p.name}", f"pin {p.name}"
        yield _one(f"{at}.bearing_deg", part, "bearing", "°", p.bearing_deg, 0.05)
        yield _one(f"{at}.offset_mm", part, "offset", "mm", p.offset_mm, 0.02)
        height = wire_height(p, rings[p.ring])
        yield _one(f"{at}.height_mm", part, "height", "mm", height, 0.02)
        d = p.diameter_mm
        yield _one(f"{at}.diameter_mm", part, "diameter", "mm", d, 0.002 * d)


def _rings(case: Case) -> Iterator[Parameter]:
    for r in case.ring:
        at, part = f"ring.{r.name}", f"ring {r.name}"
        yield _one(f"{at}.level_mm", part, "level", "mm", r.level_mm, 0.05)
        d, b, t = r.inner_diameter_mm, r.width_mm, r.thickness_mm
        yield _one(f"{at}.inner_diameter_mm", part, "inner diameter", "mm", d, 0.0005 * d)
        yield _one(f"{at}.width_mm", part, "width", "mm", b, 0.002 * b)
        yield _one(f"{at}.thickness_mm", part, "thickness", "mm", t, 0.002 * t)
        for i, way in enumerate(("anterior", "medial")):
            what = f"centre, towards {way}"
            yield Parameter(f"{at}.centre_mm", i, part, what, "mm", r.centre_mm[i], 0.02,
                            r.centre_mm)  # fmt: skip


def _rods(case: Case) -> Iterator[Parameter]:
    times = Counter(r.label for r in case.rod)
    for number, r in enumerate(case.rod, start=1):
        at = f"rod.{r.label if times[r.label] == 1 else number}"
        part = r.label if r.label.startswith(("rod ", "strut ")) else f"rod {r.label}"
        if r.bearings_deg is None:
            assert r.bearing_deg is not None
            yield _one(f"{at}.bearing_deg", part, "bearing", "°", r.bearing_deg, 0.05)
        else:
            for i, (ring, bearing) in enumerate(zip(r.rings, r.bearings_deg, strict=True)):
                path, what = f"{at}.bearings_deg", f"bearing in ring {ring}"
                yield Parameter(path, i, part, what, "°", bearing, 0.05, r.bearings_deg)
        d = r.effective_diameter_mm
        yield _one(f"{at}.diameter_mm", part, "diameter", "mm", d, 0.002 * d)


def _one(path: str, part: str, what: str, unit: str, value: float, step: float) -> Parameter:
    return Parameter(path, None, part, what, unit, value, step)
