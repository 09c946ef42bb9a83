"""An ideal frame: four stiff rings joined stiffly, two crossing wires on each, a bone in two parts.

Wires 1.8 mm, clamps 180 mm apart, bone 30 mm wide held parallel, smooth.  Each part hangs on four
wires, so the gap closes by 2 δ(F/4), with δ(F) of one wire from ``closed_forms``; tables printed
from that form.  Measured on ring frames: 85 to 96 N/mm axially (Orthopaedic Proceedings 2006, 88-B
supp III; geometry not told), within the range of the table.
"""

from collections.abc import Sequence
from math import cos, radians, sin

import numpy as np
import pytest

from fem import ModelBuilder, System, compliance, make_system, respond, solve
from tests.fem.wire_models import KGF, cross_wires, stiffnesses, tensioned
from tests.published import closed_forms

BONE = 30.0
LEVELS = {"distal": (-140.0, -50.0), "proximal": (50.0, 140.0)}


def ideal_frame(span: float = 180.0, diameter: float = 1.8, crossing: float = 90.0) -> System:
    """Bone parts turn only with the frame: held against turning, as the block of the
    closed form."""
    build = ModelBuilder()
    build.fix(build.node("frame", [0, 0, 0]))
    for part, levels in LEVELS.items():
        build.node(part, [0, 0, 0])
        build.fix(part, ("rx", "ry", "rz"))
        for level in levels:
            cross_wires(
                build,
                f"{part} {level}",
                part,
                "frame",
                [0, 0, level],
                [-crossing / 2, crossing / 2],
                clamp_radius=span / 2,
                bone_radius=BONE / 2,
                diameter=diameter,
                turns=True,
            )
    return make_system(build.build())


def gap_direction(system: System, axis: Sequence[float]) -> np.ndarray:
    """(n, 1) equal and opposite unit forces that bring the parts together along ``axis``."""
    D = np.zeros((system.size, 1))
    D[system.dofs("distal")[:3], 0] = axis
    D[system.dofs("proximal")[:3], 0] = -np.asarray(axis)
    return D


def unloaded(system: System, T: float, axis: Sequence[float]) -> float:
    tangent = respond(system, np.zeros(system.size), tensioned(system, *[T] * 8)).tangent
    return 1.0 / float(compliance(system, tangent, gap_direction(system, axis), "gap")[0, 0])


LOADS = (100.0, 200.0, 400.0, 700.0, 1000.0)
# tension in kgf; K₀ N/mm; closing in mm and secant in N/mm at each load
LOADED = [
    (50, 41.9, (2.221, 3.890, 6.138, 8.333, 9.922), (45.0, 51.4, 65.2, 84.0, 100.8)),
    (90, 65.6, (1.493, 2.837, 4.969, 7.234, 8.904), (67.0, 70.5, 80.5, 96.8, 112.3)),
    (110, 77.3, (1.277, 2.470, 4.480, 6.729, 8.419), (78.3, 81.0, 89.3, 104.0, 118.8)),
    (130, 88.9, (1.115, 2.180, 4.055, 6.258, 7.955), (89.7, 91.7, 98.6, 111.9, 125.7)),
]


@pytest.mark.parametrize(("kgf", "K0", "closing", "secant"), LOADED)
def test_axial_stiffness_and_closing(
    kgf: float, K0: float, closing: tuple[float, ...], secant: tuple[float, ...]
) -> None:
    T, (EA, EI) = kgf * KGF, stiffnesses(1.8)
    system = ideal_frame()
    assert unloaded(system, T, [0, 0, 1]) == pytest.approx(K0, abs=0.06)
    D = gap_direction(system, [0, 0, 1])[:, 0]
    p = np.array(LOADS)[:, None] * D
    found = solve(
        system, p, tensioned(system, *[T] * 8), np.zeros_like(p), [f"{F} N" for F in LOADS]
    )
    # slopes of up to 0.065, of which von Karman's form drops squares
    for case, F in enumerate(LOADS):
        got = float(found.u[case] @ D)
        form = closed_forms.loaded_wire(F / 4.0, T, 180.0, EA, EI, BONE)
        assert got == pytest.approx(2.0 * form.deflection, rel=2.5e-3)
        assert got == pytest.approx(closing[case], rel=1e-2)
        assert F / got == pytest.approx(secant[case], rel=1e-2)
        assert found.response.tension[case] == pytest.approx(form.tension, rel=2.5e-3)


# inner diameter of the ring + 20 mm from clamp to clamp; K₀ at 50, 90, 130 kgf
@pytest.mark.parametrize(
    ("inner", "K0"),
    [
        (120.0, (70.8, 103.8, 136.3)),
        (140.0, (52.9, 80.5, 107.7)),
        (160.0, (41.9, 65.6, 88.9)),
        (180.0, (34.6, 55.3, 75.7)),
        (200.0, (29.5, 47.9, 65.9)),
    ],
)
def test_larger_rings_are_softer(inner: float, K0: tuple[float, ...]) -> None:
    system = ideal_frame(span=inner + 20.0)
    for kgf, want in zip((50, 90, 130), K0, strict=True):
        assert unloaded(system, kgf * KGF, [0, 0, 1]) == pytest.approx(want, abs=0.06)


@pytest.mark.parametrize(("diameter", "K0"), [(1.5, 58.6), (1.8, 65.6), (2.0, 72.1)])
def test_thicker_wires_are_stiffer(diameter: float, K0: float) -> None:
    system = ideal_frame(diameter=diameter)
    assert unloaded(system, 90 * KGF, [0, 0, 1]) == pytest.approx(K0, abs=0.06)


# crossing angle, stiffness across the bisector over that along it, 1/tan²(angle/2)
@pytest.mark.parametrize(
    ("crossing", "ratio"), [(90.0, 1.0), (75.0, 1.70), (60.0, 3.0), (45.0, 5.83), (30.0, 13.9)]
)
def test_smooth_wires_hold_sideways_by_their_crossing_angle(crossing: float, ratio: float) -> None:
    """k_x = 2 k sin²(α/2) along the bisector, k_y = 2 k cos²(α/2), k of one wire across itself."""
    T, (_, EI) = 90 * KGF, stiffnesses(1.8)
    system, half = ideal_frame(crossing=crossing), radians(crossing / 2.0)
    along, across = unloaded(system, T, [1, 0, 0]), unloaded(system, T, [0, 1, 0])
    assert across / along == pytest.approx(ratio, rel=1e-2)
    # two rings on each side of the gap, in series
    one = closed_forms.small_load_stiffness(T, 180.0 - BONE, EI)
    assert along == pytest.approx(2.0 * one * sin(half) ** 2, rel=1e-9)
    assert across == pytest.approx(2.0 * one * cos(half) ** 2, rel=1e-9)
    axial = unloaded(system, T, [0, 0, 1])
    assert axial == pytest.approx(2.0 * one, rel=1e-9)
