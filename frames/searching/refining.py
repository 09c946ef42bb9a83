"""The highest smallest margin near a frame: bearings and tensions let go of the grid.

    maximise t  so that  margin_i(x) ≥ t for every bound i of every target,

x the bearings of all wires and the tension (one for all, or one for each), inside the directions
allowed round each wire, the crossing angles and the tensions of [search]. Sequential quadratic
programming (SLSQP of scipy) takes the slopes of margin_i from ``frames.mending`` (adjoint
equations). This form has no kink where another target becomes the worst.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from fem import FemError
from fem.algebra import Array
from frames.casefile import Case, CaseError
from frames.construct import FRAGMENTS
from frames.mending import sensitivities
from frames.mending.answers import values
from frames.mending.parameters import Parameter, parameters
from frames.searching.choices import Choices
from frames.searching.layout import HALF_TURN, Laid, Layer, Layout, crossing_deg, turn_deg
from frames.searching.limits import Reach
from frames.searching.margins import Bounds
from frames.sizes import STANDARD_GRAVITY

BEARING_SCALE, TENSION_SCALE = 10.0, 10.0
"""Degrees and kgf that count as a step of one."""
MOST_STEPS = 30
PERCENT = 100.0
"""Margins are climbed in percent: a step of one then changes them by about one, as the first steps
of the method suppose."""
SETTLED = 1e-4
"""A gain of margin, percent, below which it stops."""
_HOPELESS = -10.0


@dataclass(frozen=True)
class Point:
    """A frame off the grid: wires, diameter (mm), tension of each (kgf), its smallest margin less
    what tolerances take."""

    layout: Layout
    diameter_mm: float
    tensions_kgf: tuple[float, ...]
    margin: float


@dataclass(frozen=True)
class Refiner:
    """layer, choices, bounds; reach: tensions; each: every wire has its own tension."""

    layer: Layer
    choices: Choices
    bounds: Bounds
    reach: Reach
    each: bool

    def refined(self, start: Point, taken: Array, say: Callable[[str], None]) -> Point:
        """The best point near a start, not worse than it. taken: (b,) what tolerances take from
        every margin."""
        climb = _Climb(self, start, taken, say)
        return climb.best()


class _Climb:
    """One run from one start; x = bearings / 10°, then tension(s) / 10 kgf."""

    def __init__(
        self, refiner: Refiner, start: Point, taken: Array, say: Callable[[str], None]
    ) -> None:
        self.refiner, self.start, self.taken, self.say = refiner, start, taken, say
        self.wires = len(start.layout)
        own = start.tensions_kgf if refiner.each else start.tensions_kgf[:1]
        bearings = [w.bearing_deg for w in start.layout]
        self.x0 = np.array(
            [*(b / BEARING_SCALE for b in bearings), *(t / TENSION_SCALE for t in own)]
        )
        around = [refiner.choices.where.around(w) for w in start.layout]
        self.limits = [(a / BEARING_SCALE, b / BEARING_SCALE) for a, b in around]
        low, high = refiner.reach[start.diameter_mm]
        self.limits += [(low / TENSION_SCALE, high / TENSION_SCALE)] * len(own)
        self._known: dict[bytes, Array] = {}

    def point(self, x: Array, margin: float) -> Point:
        """What x stands for."""
        layout = tuple(
            Laid(w.ring, w.face, float(b * BEARING_SCALE))
            for w, b in zip(self.start.layout, x, strict=False)
        )
        tensions = np.broadcast_to(x[self.wires :] * TENSION_SCALE, (self.wires,))
        return Point(layout, self.start.diameter_mm, tuple(float(t) for t in tensions), margin)

    def case(self, x: Array) -> Case:
        """Its case. Raises ``CaseError``."""
        point = self.point(x, 0.0)
        return self.refiner.layer.lay(point.layout, point.diameter_mm, point.tensions_kgf)

    def margins(self, x: Array) -> Array:
        """(b,) margins less what tolerances take; far below nought where it cannot be solved."""
        key = x.tobytes()
        if key not in self._known:
            try:
                found = np.array(values(self.case(x), self.refiner.bounds.asked))
                self._known[key] = self.refiner.bounds.margins(found) - self.taken
            except (CaseError, FemError):
                self._known[key] = np.full(len(self.taken), _HOPELESS)
            worst = self._known[key].min()
            self.say(f"refining {self.wires} wires: margin {100.0 * worst:.1f} %")
        return self._known[key]

    def slopes(self, x: Array) -> Array:
        """(b, n) slopes of the margins."""
        bounds = self.refiner.bounds
        out = np.zeros((len(self.taken), len(x)))
        try:
            case = self.case(x)
            wanted = [p for p in parameters(case) if _moves(p)]
            found = sensitivities(case, bounds.asked, wanted)
        except (CaseError, FemError):
            return out
        number = {f"wire.{w.name}": i for i, w in enumerate(case.wire)}
        for s in found:
            wire = number[s.parameter.path.rpartition(".")[0]]
            by = bounds.way * np.array(s.by)[bounds.column] / bounds.size
            if s.parameter.key == "bearing_deg":
                out[:, wire] += by * BEARING_SCALE
            else:
                at = self.wires + (wire if self.refiner.each else 0)
                out[:, at] += by * TENSION_SCALE * STANDARD_GRAVITY
        return out

    def crossings(self) -> tuple[Array, Array]:
        """Rows A and b so that A x + b ≥ 0 keeps crossing angles, of wires that count: those of
        each ring, and the two of a fragment that cross most widely where no ring has two."""
        layout, least = self.start.layout, self.refiner.choices.crossing
        pairs = [
            (i, j) for i, j in combinations(range(self.wires), 2)
            if layout[i].ring == layout[j].ring
        ]  # fmt: skip
        for fragment in FRAGMENTS:
            own = [
                i for i, w in enumerate(layout)
                if self.refiner.choices.where.fragment[w.slot] == fragment
            ]  # fmt: skip
            if fragment in self.refiner.choices.pinned or len(own) < 2:
                continue
            if not any(layout[i].ring == layout[j].ring for i, j in combinations(own, 2)):
                pairs.append(
                    max(combinations(own, 2), key=lambda p: crossing_deg(*(layout[k] for k in p)))
                )
        rows, more = [], []
        for i, j in pairs:
            a, b = layout[i].bearing_deg, layout[j].bearing_deg
            turn = turn_deg(a, b)
            whole = b - a - turn  # half turns between the two numbers
            way = 1.0 if turn >= 0.0 else -1.0
            row = np.zeros(len(self.x0))
            row[i], row[j] = -way * BEARING_SCALE, way * BEARING_SCALE
            # least <= way (b - a - whole) <= 180 - least
            rows += [row, -row]
            more += [-way * whole - least, way * whole + HALF_TURN - least]
        return np.array(rows).reshape(-1, len(self.x0)), np.array(more)

    def best(self) -> Point:
        """Climb."""
        from scipy.optimize import minimize

        A, b = self.crossings()
        first = self.margins(self.x0)
        if not len(self.x0) or first.min() <= _HOPELESS:
            return self.start
        n = len(self.x0)
        uphill = np.zeros(n + 1)
        uphill[-1] = -1.0
        kinds = [
            {
                "type": "ineq",
                "fun": lambda y: PERCENT * self.margins(y[:-1]) - y[-1],
                "jac": lambda y: np.hstack(
                    [PERCENT * self.slopes(y[:-1]), -np.ones((len(self.taken), 1))]
                ),
            }
        ]
        if len(b):
            wide = np.hstack([A, np.zeros((len(b), 1))])
            kinds.append({"type": "ineq", "fun": lambda y: wide @ y + b, "jac": lambda y: wide})
        minimize(
            lambda y: -y[-1],
            np.append(self.x0, PERCENT * first.min()),
            jac=lambda y: uphill,
            method="SLSQP",
            bounds=[*self.limits, (None, None)],
            constraints=kinds,
            options={"maxiter": MOST_STEPS, "ftol": SETTLED},
        )
        return self._best_seen(A, b)

    def _best_seen(self, A: Array, b: Array) -> Point:
        """Of all x tried: the best that keeps the limits, whatever the last one was."""
        low, high = np.array(self.limits).T
        best = self.point(self.x0, float(self.margins(self.x0).min()))
        for key, margins in self._known.items():
            x = np.frombuffer(key)
            inside = np.all(x >= low - 1e-9) and np.all(x <= high + 1e-9)
            if inside and np.all(A @ x + b >= -1e-6) and margins.min() > best.margin:
                best = self.point(x, float(margins.min()))
        return best


def _moves(parameter: Parameter) -> bool:
    return parameter.kind == "wire" and parameter.key in ("bearing_deg", "tension_N")
