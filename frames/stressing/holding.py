"""Clamps, cortices and rods: slip, bearing pressure, buckling.

* A clamp holds a wire up to its slip load; bolts tightened to 8 N·m held about 900 N (Vet Surg
  2002;31:571-6), so that a tension T asks for about T / 112.5 N·m.
* Bearing of a wire or pin on a cortex: its transverse force F there, over diameter times the
  thickness of the wall, q = F / (d t). 175 N on both cortices of a 1.8 mm wire with walls of 4 mm
  are 12 MPa. Nominal: at the edge where the wire leaves the bone the peak is several times larger.
* A piece of rod between two rings, of length L, buckles at P_E = π² E I / (K L)². Rings hold its
  ends against turning but may sway: K = 1 (a fixed column that sways buckles like a pinned one).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf, isinf, pi

import numpy as np

from fem.algebra import Array
from fem.system import Response
from frames.casefile.lines import wall_mm
from frames.checking import Checked
from frames.construct import Construct
from frames.sizes import SLIP_N_PER_NM
from frames.stressing.sections import MemberStress
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
    """Largest force across a wire or pin on one cortex, and its nominal pressure."""

    part: str
    load: str
    force_N: float
    pressure_MPa: float


@dataclass(frozen=True)
class RodColumn:
    """A piece of rod: largest compression, Euler load, their ratio in percent."""

    piece: str
    load: str
    compression_N: float
    buckling_N: float
    share_percent: float


def clamp_holds(checked: Checked) -> Iterator[ClampHold]:
    """Every wire, the nearest to slip first."""
    loads = _names(checked)
    legs = [leg_tensions(checked.pre.response)[None]]
    if checked.solution is not None:
        legs.append(leg_tensions(checked.solution.response))
    tension = np.concatenate(legs).max(axis=-1)  # (c + 1, w)
    found = []
    for i, w in enumerate(checked.pre.parts.construct.case.wire):
        c = int(tension[:, i].argmax())
        T, slip = float(tension[c, i]), w.slip
        limit = None if isinf(slip) else slip
        share = None if limit is None else 100.0 * T / limit
        found.append(ClampHold(w.name, loads[c], T, limit, share, T / SLIP_N_PER_NM))
    yield from sorted(found, key=lambda h: (-(h.share_percent or 0.0), -h.tension_N))


def bearings(checked: Checked, members: MemberStress) -> Iterator[Bearing]:
    """Every wire and pin, the highest pressure first."""
    place, loads = checked.pre.parts.construct, _names(checked)
    wall = wall_mm(place.case.bone)
    found = []
    states = [checked.pre.response]
    forces = [_wire_forces(place, states[0])[None]]
    if checked.solution is not None:
        forces.append(_wire_forces(place, checked.solution.response))
    across = np.concatenate(forces)  # (c + 1, w, 2)
    for i, w in enumerate(place.wires):
        F = across[:, i].max(axis=-1)
        c = int(F.argmax())
        pressure = float(F[c]) / (w.wire.diameter_mm * wall)
        found.append(Bearing(w.wire.name, loads[c], float(F[c]), pressure))
    row = {name: i for i, name in enumerate(checked.pre.parts.model.members.names)}
    for p in place.pins:
        rows = [row[m] for m in checked.pre.parts.members["pin", p.pin.name]]
        shear = np.concatenate([members.rest_forces[None], members.forces])[:, rows][..., 1:3]
        near = shear[:, 0, -1] - (shear[:, 1, 0] if len(rows) > 1 else 0.0)
        on = [np.linalg.norm(near, axis=-1)]
        if len(rows) > 1:
            on.append(np.linalg.norm(shear[:, 1, -1], axis=-1))
        F = np.max(on, axis=0)
        c = int(F.argmax())
        pressure = float(F[c]) / (p.pin.diameter_mm * wall)
        found.append(Bearing(p.pin.name, loads[c], float(F[c]), pressure))
    yield from sorted(found, key=lambda b: -b.pressure_MPa)


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


def rod_columns(checked: Checked, members: MemberStress) -> Iterator[RodColumn]:
    """Every piece of rod that is pressed, the nearest to buckling first."""
    parts, loads = checked.pre.parts, _names(checked)
    row = {name: i for i, name in enumerate(parts.model.members.names)}
    shapes = parts.model.members.shapes
    axial = np.concatenate([members.rest_forces[None], members.forces])[..., 0, 0]  # (c + 1, m)
    found = []
    moduli = {
        m: r.rod.elastic[0]
        for r, (key, own) in zip(
            parts.construct.rods,
            ((k, v) for k, v in parts.members.items() if k[0] == "rod"),
            strict=True,
        )
        for m in own
    }
    for name, E in moduli.items():
        i = row[name]
        P = -axial[:, i]
        c = int(P.argmax())
        length = float(shapes.length[i])
        euler = pi**2 * E * shapes.sections[i].I_y / length**2 if length > 0.0 else inf
        if P[c] > 0.0:
            share = 100.0 * float(P[c]) / euler
            found.append(RodColumn(name, loads[c], float(P[c]), euler, share))
    yield from sorted(found, key=lambda r: -r.share_percent)


def _names(checked: Checked) -> list[str]:
    return ["no load", *(r.name for r in checked.result.loads)]
