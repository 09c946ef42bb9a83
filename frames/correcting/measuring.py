"""How a fragment has moved against the other, in the surgeon's terms, and how near a limit is.

With Δ and Δθ the movement of the fragment's fracture face against the other's at the middle of the
gap (``frames.gap``), w the wanted way and n the way 90° on from it (anterior towards medial),

    along = Δ·w,    across = Δ·n,    lengthening: away from the other fragment positive.

The end of the fragment away from the fracture, at h along the axis, swings by Δθ × h against the
face: a tilt; the twist is the part of Δθ about the bone's axis.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, degrees, hypot, pi, radians, sin

import numpy as np

from fem.algebra import Array
from frames.correcting.sequence import Bench, Standing, wires_now
from frames.findings import STEEPEST_SLOPE
from frames.gap import gap_directions
from frames.wire_answers import wire_peak_stress, wire_yield


@dataclass(frozen=True)
class Moved:
    """along_mm, across_mm (towards across_bearing_deg, never negative), lengthening_mm at the
    fracture; tilt_deg: the fragment's end away from the fracture swings towards
    tilt_bearing_deg; twist_deg: its front turns towards medial (negative: towards lateral).
    far_end_mm: how far that end swings."""

    along_mm: float
    across_mm: float
    across_bearing_deg: float
    lengthening_mm: float
    tilt_deg: float
    tilt_bearing_deg: float
    twist_deg: float
    far_end_mm: float


class Measure:
    """Movement of a fragment from a state on, towards a bearing."""

    def __init__(self, work: Bench, fragment: str, bearing_deg: float, start: Standing) -> None:
        bone = work.parts.construct.case.bone
        self.bearing = bearing_deg
        self.directions = gap_directions(work.parts, work.system)
        self.way = 1.0 if fragment == "proximal" else -1.0
        self.reach = bone.proximal_end_mm if fragment == "proximal" else bone.distal_end_mm
        self.start = start.u[0]

    def along(self, state: Standing) -> float:
        """mm."""
        d = self._motion(state)
        b = radians(self.bearing)
        return float(d[0] * cos(b) + d[1] * sin(b))

    def moved(self, state: Standing) -> Moved:
        d = self._motion(state)
        b = radians(self.bearing)
        side = float(-d[0] * sin(b) + d[1] * cos(b))
        # anatomical turns: about the medial axis proximal → anterior, about the anterior axis
        # medial → proximal (so that proximal → lateral), see frames.gap
        swing = np.array([d[4], -d[3]]) * self.reach
        lean = float(np.hypot(d[3], d[4]))
        return Moved(
            along_mm=self.along(state),
            across_mm=abs(side),
            across_bearing_deg=(self.bearing + (90.0 if side >= 0.0 else 270.0)) % 360.0,
            lengthening_mm=float(d[2]) * self.way,
            tilt_deg=degrees(lean),
            tilt_bearing_deg=degrees(np.arctan2(swing[1], swing[0])) % 360.0,
            twist_deg=degrees(float(d[5])),
            far_end_mm=float(hypot(*swing)),
        )

    def _motion(self, state: Standing) -> Array:
        """(6,) of the fragment against the other, anatomical."""
        return np.asarray(self.way * (self.directions.T @ (state.u[0] - self.start)))


@dataclass(frozen=True)
class Limits:
    """Shares of what wires and model bear: the worst wire's stress against its yield, the steepest
    slope against that up to which the model is good."""

    yields: float
    wire: str
    slope: float

    @property
    def worst(self) -> float:
        return max(self.yields, self.slope)


def limits(work: Bench, state: Standing, late: Sequence[str] = ()) -> Limits:
    """late : wires laid straight after the bone moved; the kernel counts their bending and slope
    from the line as built, so that of these only the tension counts."""
    now = wires_now(state.response)
    there = now.spans[0, :, 0] != -2
    bent = there & ~np.isin(work.names, list(late))
    diameter = np.array([w.wire.diameter_mm for w in work.parts.construct.wires])
    pulled = now.tensions[0].max(axis=-1) / (pi * diameter**2 / 4.0)
    peak = np.where(bent, wire_peak_stress(work.parts)(state.response)[0], pulled)
    share = np.where(there, peak / wire_yield(work.parts), 0.0)
    worst = int(np.argmax(share))
    slopes = np.abs(now.bending.slopes[0, :, :, : now.tensions.shape[-1]]).max(axis=(-2, -1))
    slope = float(slopes[bent].max(initial=0.0)) / STEEPEST_SLOPE
    return Limits(float(share[worst]), work.names[worst], slope)
