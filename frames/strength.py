"""Peak stress of the wires: tension plus bending at clamps and cortices, σ = T/A + 32 |M| / π d³
(MPa)."""

from collections.abc import Callable
from math import pi

import numpy as np

from fem.algebra import Array
from fem.system import Response
from fem.wire import peak_stress
from frames.discretise import Discretised


def wire_peak_stress(parts: Discretised) -> Callable[[Response], Array]:
    """A function from responses to (..., w) MPa, largest along each wire, elastic."""
    d = np.array([w.wire.diameter_mm for w in parts.construct.wires])
    area, modulus = pi * d**2 / 4.0, pi * d**3 / 32.0
    wires = parts.model.wires[0]

    def peak(response: Response) -> Array:
        return peak_stress(wires, response.wires[0], area, modulus)

    return peak


def wire_yield(parts: Discretised) -> Array:
    """(w,) yield stress of each wire, MPa."""
    return np.array([w.wire.yield_MPa for w in parts.construct.wires])
