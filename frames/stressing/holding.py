"""Clamps and cortices: slip, and how hard wires and pins press the bone.

* A clamp holds a wire up to its slip load; bolts tightened to 8 N·m held about 900 N (Vet Surg
  2002;31:571-6), so that a tension T asks for about T / 112.5 N·m.
* Bearing of a wire or pin on a cortex: its transverse force F there, over diameter times the
  thickness of the wall, q = F / (d t). 175 N shared by both cortices of a 1.8 mm wire with walls of
  4 mm are 12 MPa. Nominal: at the edge where the wire leaves the bone the peak is several times
  larger. What a pin twists in one wall besides is left out.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import isinf

import numpy as np

from fem.algebra import Array
from fem.system import Response
from frames.casefile.endurance import CORTICAL_BONE
from frames.casefile.lines import wall_mm
from frames.construct import Construct
from frames.sizes import SLIP_N_PER_NM
from frames.stressing.limits import limits_of
from frames.stressing.sections import MemberStress
from frames.stressing.solving import Solved
from frames.wire_answers import leg_tensions


@dataclass(frozen=True)
class ClampHold:
    """Largest tension of a wire's legs and the load it occurs under; slip_N of its clamps, None
    when the case does not limit it; the bolt's torque that would hold the tension."""

    wire: str
    load: str
    tension_N: float
    slip_N: float | None
    share_percent: float | None
    torque_Nm: float


@dataclass(frozen=True)
class Bearing:
    """Largest force across a wire or pin on one cortex, its nominal pressure, and that in percent
    of the yield stress of cortical bone."""

    part: str
    load: str
    force_N: float
    pressure_MPa: float
    share_percent: float


def clamp_holds(frame: Solved) -> Iterator[ClampHold]:
    """Every wire, the nearest to slip first."""
    loads = frame.states
    count = len(frame.place.wires)
    legs = [leg_tensions(r).reshape(-1, count, 2) for r in frame.responses]
    tension = np.concatenate(legs).max(axis=-1)  # (c + 1, w)
    found = []
    for i, w in enumerate(frame.place.case.wire):
        c = int(tension[:, i].argmax())
        T, slip = float(tension[c, i]), w.slip
        limit = None if isinf(slip) else slip
        share = None if limit is None else 100.0 * T / limit
        found.append(ClampHold(w.name, loads[c], T, limit, share, T / SLIP_N_PER_NM))
    yield from sorted(found, key=lambda h: (-(h.share_percent or 0.0), -h.tension_N))


def bearings(frame: Solved, members: MemberStress) -> Iterator[Bearing]:
    """Every wire and pin, the highest pressure first."""
    place, loads = frame.place, frame.states
    wall = wall_mm(place.case.bone)
    limit = limits_of(place.case, CORTICAL_BONE).yield_MPa
    count = len(place.wires)
    forces = [_wire_forces(place, r).reshape(-1, count, 2) for r in frame.responses]
    across = np.concatenate(forces).max(axis=-1)  # (c + 1, w)
    pressed = [(w.wire.name, w.wire.diameter_mm, across[:, i]) for i, w in enumerate(place.wires)]
    for p in place.pins:
        pressed.append((p.pin.name, p.pin.diameter_mm, _pin_force(frame, members, p.pin.name)))
    found = []
    for name, diameter, F in pressed:
        c = int(F.argmax())
        q = float(F[c]) / (diameter * wall)
        found.append(Bearing(name, loads[c], float(F[c]), q, 100.0 * q / limit))
    yield from sorted(found, key=lambda b: -b.pressure_MPa)


def _pin_force(frame: Solved, members: MemberStress, name: str) -> Array:
    """(c + 1,) N across a pin, the larger of those on its cortices: the jumps of its shear."""
    row = {member: i for i, member in enumerate(frame.parts.model.members.names)}
    rows = [row[m] for m in frame.parts.members["pin", name]]
    shear = members.forces[:, rows][..., 1:3]
    if len(rows) == 1:
        return np.asarray(np.linalg.norm(shear[:, 0, -1], axis=-1))
    near = np.linalg.norm(shear[:, 0, -1] - shear[:, 1, 0], axis=-1)
    return np.maximum(near, np.linalg.norm(shear[:, 1, -1], axis=-1))


def _wire_forces(place: Construct, response: Response) -> Array:
    """(..., w, 2) N across each wire at its cortices."""
    if not place.wires:
        return np.zeros((*response.energy.shape, 0, 2))
    held = response.held_wires
    gradient = (held if held is not None else response.wires[0]).gradient
    along = np.array([w.stations[-1] - w.stations[0] for w in place.wires])
    along /= np.linalg.norm(along, axis=-1, keepdims=True)
    F = np.stack([gradient[..., 6 * k : 6 * k + 3] for k in (1, 2)], axis=-2)
    across = F - np.einsum("...wkx,wx->...wk", F, along)[..., None] * along[:, None]
    return np.asarray(np.linalg.norm(across, axis=-1))
