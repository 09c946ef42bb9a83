"""Single wires, and bones on wires, between clamps that do not move."""

from collections.abc import Sequence
from math import cos, pi, radians, sin

import numpy as np
from numpy.typing import NDArray

from fem import Law, ModelBuilder, System, lock, make_system, respond

Array = NDArray[np.float64]

E_WIRE = 193_000.0  # MPa, stainless steel: handbooks, from memory
KGF = 9.80665  # N
ALONG_WIRE_AND_TURNS = ("ux", "uy", "rx", "ry", "rz")


def stiffnesses(diameter: float) -> tuple[float, float]:
    """EA (N) and EI (N·mm²) of a steel wire, mm."""
    return E_WIRE * pi * diameter**2 / 4.0, E_WIRE * pi * diameter**4 / 64.0


def strength(diameter: float) -> tuple[Array, Array]:
    """(1,) area, mm², and section modulus, mm³."""
    return np.array([pi * diameter**2 / 4.0]), np.array([pi * diameter**3 / 32.0])


def loaded_wire(
    diameter: float, length: float, block: float = 0.0, EI: float | None = None
) -> System:
    """Wire along x between clamps "A" and "B", held at mid length by node "M" that
    can only move in z.

    block : 0, or the width of a bone kept parallel, with a cortex on each side
    of it, on rigid arms.
    """
    EA, bending = stiffnesses(diameter)
    build = ModelBuilder()
    build.node("A", [0, 0, 0])
    build.node("B", [length, 0, 0])
    build.node("M", [length / 2, 0, 0])
    stations = ["A", "M", "B"]
    if block:
        for side, name in ((-1, "near"), (1, "far")):
            build.node(name, [(length + side * block) / 2, 0, 0])
            build.arm(name, "M")
        stations = ["A", "near", "far", "B"]
    build.fix("A")
    build.fix("B")
    build.fix("M", ALONG_WIRE_AND_TURNS)
    build.wire("wire", stations, [True] * len(stations), EA, bending if EI is None else EI)
    return make_system(build.build())


def tensioned(system: System, *tension: float) -> Law:
    """All wires tensioned in place (clamps that do not give) and locked."""
    zero = np.zeros(system.size)
    return lock(system, respond(system, zero, Law(tension=np.array(tension))))


def cross_wires(
    build: ModelBuilder,
    name: str,
    bone: str,
    frame: str,
    place: Sequence[float],
    bearings: Sequence[float],
    *,
    clamp_radius: float,
    bone_radius: float,
    diameter: float,
    turns: bool,
    EI: float | None = None,
) -> None:
    """Wires through the bone axis at ``place`` in directions ``bearings`` (deg) about z.

    Clamps hang on node ``frame``, cortices on node ``bone``, all by rigid arms.
    """
    EA, bending = stiffnesses(diameter)
    for i, bearing in enumerate(bearings):
        e = np.array([cos(radians(bearing)), sin(radians(bearing)), 0.0])
        stations = []
        for station, (r, master) in enumerate(
            [
                (-clamp_radius, frame),
                (-bone_radius, bone),
                (bone_radius, bone),
                (clamp_radius, frame),
            ]
        ):
            stations.append(build.node(f"{name}.{i}.{station}", np.asarray(place) + r * e))
            build.arm(stations[-1], master)
        held = [True, turns, turns, True]
        build.wire(f"{name}.{i}", stations, held, EA, bending if EI is None else EI)
