"""Forces and stress in half-pins under load, from the displacements of their nodes.

Along a pin, forces and moments follow by statics (``fem.recovery``); the largest stress is
σ = |N| / A + |M| / W at a section, W = π d³ / 32, M the resultant of both bending moments.
"""

from math import pi

import numpy as np

from fem import System, node_displacements
from fem.algebra import Array
from fem.recovery import along_members
from frames.discretise import Discretised
from frames.result_parts import PinResult

_PLACES = 5


def pin_results(parts: Discretised, system: System, u: Array) -> tuple[PinResult, ...]:
    """Every half-pin at displacements u (n,)."""
    if not parts.construct.pins:
        return ()
    along = along_members(parts.model, node_displacements(system, u), _PLACES)
    row = {name: i for i, name in enumerate(parts.model.members.names)}
    out = []
    for place in parts.construct.pins:
        pin = place.pin
        rows = [row[name] for name in parts.members["pin", pin.name]]
        forces = along.forces[rows]  # (pieces, places, 6), the first at the clamp
        d = pin.diameter_mm
        moment = np.hypot(forces[..., 4], forces[..., 5])
        stress = np.abs(forces[..., 0]) / (pi * d**2 / 4.0) + moment / (pi * d**3 / 32.0)
        clamp = forces[0, 0]
        out.append(
            PinResult(
                name=pin.name,
                axial_N=float(clamp[0]) + 0.0,
                shear_N=float(np.hypot(clamp[1], clamp[2])),
                clamp_moment_Nm=float(moment[0, 0]) / 1000.0,
                peak_stress_MPa=float(stress.max()),
            )
        )
    return tuple(out)
