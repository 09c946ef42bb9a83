"""What a frame weighs.

Rings: the flat section swept along the arc of its middle, times the share that the holes leave of
its stiffness, taken as that of its volume.
Rods: their working circle from hole to hole, and at each end half a ring's thickness and the length
that nuts take (``frames.part_sizes``). Wires and half-pins between their outermost stations.
Bolts, nuts, posts and clamps are not counted. Parts with elastic constants of their own are taken
as steel unless they state a density.
"""

from math import pi

import numpy as np

from fem.algebra import Array
from frames.construct import Construct, RodPlace
from frames.part_sizes import NUTS_MM
from frames.sizes import DEFAULT_MATERIAL, MATERIALS

GRAMS = 1e-6
"""g of 1 kg/m³ · mm³."""


def frame_mass_g(place: Construct) -> float:
    """Grams of rings, rods, wires and half-pins."""
    rings = sum(
        _density(r.ring) * r.ring.width_mm * r.ring.thickness_mm * r.ring.section_factor
        * np.radians(r.ring.arc_deg) * (r.ring.inner_diameter_mm + r.ring.width_mm) / 2.0
        for r in place.rings
    )  # fmt: skip
    rods = sum(
        _density(r.rod) * _round(r.rod.effective_diameter_mm) * _rod_length(place, r)
        for r in place.rods
    )
    wires = sum(
        w.wire.density_kg_per_m3 * _round(w.wire.diameter_mm) * _reach(w.stations)
        for w in place.wires
    )
    pins = sum(_density(p.pin) * _round(p.pin.diameter_mm) * _reach(p.stations) for p in place.pins)
    return float(GRAMS * (rings + rods + wires + pins))


def _density(part: object) -> float:
    named = getattr(part, "material", None) or DEFAULT_MATERIAL
    return MATERIALS[named].density_kg_per_m3


def _round(diameter_mm: float) -> float:
    return pi * diameter_mm**2 / 4.0


def _reach(points: Array) -> float:
    return float(np.linalg.norm(points[-1] - points[0]))


def _rod_length(place: Construct, rod: RodPlace) -> float:
    between = float(np.linalg.norm(np.diff(rod.points, axis=0), axis=1).sum())
    ends = [place.ring(name).ring.thickness_mm / 2.0 for name in (rod.rings[0], rod.rings[-1])]
    return between + sum(ends) + 2.0 * NUTS_MM
