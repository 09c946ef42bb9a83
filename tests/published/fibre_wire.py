"""A clamped wire of elastic, perfectly plastic steel cut into fibres, solved by OpenSees.

Half of a wire between clamps, symmetric about its middle: corotational beams with displacement
interpolation, fine towards clamp and middle, round section in strips of the exact area and moment,
``ElasticPP``. Pretensioned by moving its clamp, then loaded across at mid length in cycles 0 … F.
"""

from itertools import pairwise

import numpy as np
import openseespy.opensees as ops
from numpy.typing import NDArray
from scipy.optimize import brentq

Array = NDArray[np.float64]
STRIPS, BEAMS, FIRST = 36, 60, 0.25  # mm, shortest beam


def _graded(length: float) -> Array:
    """Nodes 0 … length with beams that grow from both ends, the shortest ``FIRST``."""
    m, half = BEAMS // 2, length / 2.0
    ratio = brentq(lambda r: FIRST * (r**m - 1.0) / (r - 1.0) - half, 1.0001, 5.0)
    x = np.concatenate([[0.0], np.cumsum(FIRST * ratio ** np.arange(m))])
    x *= half / x[-1]
    return np.concatenate([x, length - x[-2::-1]])


def _section(d: float) -> None:
    R, angle = d / 2.0, np.linspace(0.0, np.pi, STRIPS + 1)
    area = R**2 * (angle - np.sin(angle) * np.cos(angle))
    moment = 2.0 / 3.0 * (R * np.sin(angle)) ** 3
    for (a, b), (p, q) in zip(pairwise(area), pairwise(moment), strict=True):
        ops.fiber(float((q - p) / (b - a)), 0.0, float(b - a), 1)


def cycled(
    d: float, length: float, tension: float, F: float, cycles: int, E: float, yield_stress: float
) -> Array:
    """(cycles, 4): deflection at F and tension at F, deflection and tension after letting go."""
    ops.wipe()
    ops.model("basic", "-ndm", 2, "-ndf", 3)
    nodes = _graded(length / 2.0)
    last = len(nodes) - 1
    for i, x in enumerate(nodes):
        ops.node(i, float(x), 0.0)
    ops.uniaxialMaterial("ElasticPP", 1, E, yield_stress / E)
    ops.section("Fiber", 1)
    _section(d)
    ops.geomTransf("Corotational", 1)
    ops.beamIntegration("Legendre", 1, 1, 3)
    for i in range(last):
        ops.element("dispBeamColumn", i + 1, i, i + 1, 1, 1)
    ops.fix(0, 0, 1, 1)
    ops.fix(last, 1, 0, 1)
    ops.constraints("Transformation")
    ops.numberer("RCM")
    ops.system("BandGeneral")
    ops.test("NormUnbalance", 1e-6, 60)
    ops.algorithm("Newton")
    # the clamp moves in steps so small that its first beam stays elastic in Newton's first guess
    move = tension * (length / 2.0) / (E * np.pi * d**2 / 4.0)
    ops.timeSeries("Linear", 1)
    ops.pattern("Plain", 1, 1)
    ops.sp(0, 1, -1.0)
    ops.integrator("LoadControl", move / 1000.0)
    ops.analysis("Static")
    _done(ops.analyze(1000), "pretension")
    ops.loadConst("-time", 0.0)
    ops.timeSeries("Linear", 2)
    ops.pattern("Plain", 2, 2)
    ops.load(last, 0.0, 0.5, 0.0)
    rows = []
    for _ in range(cycles):
        row: list[float] = []
        for way in (1.0, -1.0):
            ops.integrator("LoadControl", way * F / 40.0)
            _done(ops.analyze(40), f"load {F} N")
            ops.reactions()
            row += [ops.nodeDisp(last, 2), -ops.nodeReaction(0, 1)]
        rows.append(row)
    ops.wipe()
    return np.array(rows)


def _done(code: int, where: str) -> None:
    if code != 0:
        raise RuntimeError(f"OpenSees ended with code {code} at {where}")
