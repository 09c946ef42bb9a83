"""Numbers that one would change together, and how far: what a move of a frame can be.

Limits are those of practice, "common practice, no source" unless said otherwise: a wire is
tensioned to 130 kgf and to 60 % of its yield stress at most and to 50 kgf at least; two wires of a
ring cross at 30 to 90 degrees; a ring moves by 20 mm at most, and stays 10 mm from its neighbours
and 15 mm from the gap; rings are 4 to 8 mm thick and 10 to 20 mm wide.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import ceil, pi

from frames.assumptions import Assumption
from frames.casefile import Case, Wire
from frames.mending.parameters import Parameter
from frames.sizes import STANDARD_GRAVITY

MOST_KGF, LEAST_KGF = 130.0, 50.0
MOST_OF_YIELD = 0.6
CROSSING_DEG = (30.0, 90.0)
RING_MOVES_MM, RING_APART_MM, GAP_APART_MM = 20.0, 10.0, 15.0
THICKNESS_MM, WIDTH_MM = (4.0, 8.0), (10.0, 20.0)
_PRACTICE = "common practice, no source"

LIMITS = (
    Assumption("tension of a wire", f"{LEAST_KGF:.0f} to {MOST_KGF:.0f} kgf", _PRACTICE),
    Assumption("tension stress of a wire", f"at most {MOST_OF_YIELD:.0%} of yield", _PRACTICE),
    Assumption("crossing of two wires of a ring", "30 to 90 degrees", _PRACTICE),
    Assumption("levels", "moved by 20 mm at most, 10 mm from other rings", "own choice, no source"),
    Assumption("rings", "4 to 8 mm thick, 10 to 20 mm wide", "sizes of the trade, from memory"),
)
"""How far the changes tried go."""


@dataclass(frozen=True)
class Group:
    """change: words. weights: how fast each number goes per unit of the group's own; start: the
    group's number now, in ``unit``; low, high: its limits; practical: an amount
    to tell effects of; grain: the least amount that is set by hand. scale: shown over own (N in
    kgf)."""

    change: str
    weights: Mapping[Parameter, float]
    start: float
    low: float
    high: float
    unit: str
    practical: float
    grain: float
    scale: float = 1.0

    def rounded(self, way: float) -> float:
        """A change rounded away from zero to whole grains, kept within the limits."""
        grains = ceil(abs(way) / self.grain - 1e-6)
        there = self.start + grains * self.grain * (1.0 if way > 0.0 else -1.0)
        return min(max(there, self.low), self.high) - self.start

    def shown(self, value: float) -> str:
        """A value of the group's number as text, with its unit."""
        v = value * self.scale
        return (
            f"{v:.0f} {self.unit}" if abs(v) >= 100 else f"{v:.1f} {self.unit}".replace(" °", "°")
        )


def groups(case: Case, listed: tuple[Parameter, ...]) -> tuple[Group, ...]:
    """All groups of a case that leave some way to go."""
    by = {(p.kind, p.path, p.component): p for p in listed}
    found = [
        *_tensions(case, by),
        *_crossings(case, by),
        *_levels(case, by),
        *_sections(case, by),
    ]
    return tuple(g for g in found if g.weights and g.high - g.low > 1e-6)


_By = Mapping[tuple[str, str, int | None], Parameter]


def most_tension(wire: Wire) -> float:
    """N: the most a wire would be tensioned to."""
    area = pi * wire.diameter_mm**2 / 4.0
    return min(MOST_KGF * STANDARD_GRAVITY, MOST_OF_YIELD * wire.yield_MPa * area)


def _tensions(case: Case, by: _By) -> Iterator[Group]:
    if not case.wire:
        return
    sets = [("tension of all wires", list(case.wire))]
    for ring in case.ring:
        own = [w for w in case.wire if w.ring == ring.name]
        if own and len(own) < len(case.wire):
            sets.append((f"tension of wires on {ring.name}", own))
    for words, wires in sets:
        if any(w.end_tension_N is not None for w in wires):
            continue
        mean = sum(w.tension for w in wires) / len(wires)
        down = min(w.tension - LEAST_KGF * STANDARD_GRAVITY for w in wires)
        up = min(most_tension(w) - w.tension for w in wires)
        yield Group(
            words,
            {by["wire", f"wire.{w.name}.tension_N", None]: 1.0 for w in wires},
            mean,
            mean - max(down, 0.0),
            mean + max(up, 0.0),
            "kgf",
            10.0 * STANDARD_GRAVITY,
            STANDARD_GRAVITY,
            1.0 / STANDARD_GRAVITY,
        )


def _crossings(case: Case, by: _By) -> Iterator[Group]:
    every: dict[Parameter, float] = {}
    angles = []
    singles = []
    for ring in case.ring:
        own = [w for w in case.wire if w.ring == ring.name]
        if len(own) != 2:
            continue
        a, b = own
        turn = (b.bearing_deg - a.bearing_deg + 90.0) % 180.0 - 90.0  # -90 to 90, b against a
        if abs(turn) < 1.0:
            continue
        way = 0.5 if turn > 0.0 else -0.5
        weights = {
            by["wire", f"wire.{a.name}.bearing_deg", None]: -way,
            by["wire", f"wire.{b.name}.bearing_deg", None]: way,
        }
        every |= weights
        angles.append(abs(turn))
        singles.append(_crossing(f"crossing of wires on {ring.name}", weights, [abs(turn)]))
    if len(angles) > 1:
        yield _crossing("crossing of wires on all rings", every, angles)
    yield from singles


def _crossing(words: str, weights: Mapping[Parameter, float], angles: list[float]) -> Group:
    mean, (low, high) = sum(angles) / len(angles), CROSSING_DEG
    down, up = max(min(angles) - low, 0.0), max(high - max(angles), 0.0)
    return Group(words, weights, mean, mean - down, mean + up, "°", 10.0, 1.0)


def _levels(case: Case, by: _By) -> Iterator[Group]:
    for ring in case.ring:
        z, others = ring.level_mm, [r.level_mm for r in case.ring if r is not ring]
        stops = [*others, *([0.0] if others else [])]
        below = [s for s in stops if s < z]
        above = [s for s in stops if s > z]
        low = max([z - RING_MOVES_MM, *(s + _apart(s) for s in below)])
        high = min([z + RING_MOVES_MM, *(s - _apart(s) for s in above)])
        yield Group(
            f"level of ring {ring.name}",
            {by["ring", f"ring.{ring.name}.level_mm", None]: 1.0},
            z,
            min(low, z),
            max(high, z),
            "mm",
            5.0,
            1.0,
        )


def _apart(stop: float) -> float:
    return GAP_APART_MM if stop == 0.0 else RING_APART_MM


def _sections(case: Case, by: _By) -> Iterator[Group]:
    for words, key, (low, high) in (
        ("thickness of all rings", "thickness_mm", THICKNESS_MM),
        ("width of all rings", "width_mm", WIDTH_MM),
    ):
        values = [getattr(r, key) for r in case.ring]
        mean = sum(values) / len(values)
        weights = {by["ring", f"ring.{r.name}.{key}", None]: 1.0 for r in case.ring}
        down, up = max(min(values) - low, 0.0), max(high - max(values), 0.0)
        yield Group(words, weights, mean, mean - down, mean + up, "mm", 1.0, 0.5)
