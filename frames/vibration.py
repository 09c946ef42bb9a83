"""Buckling and natural frequencies of the whole construct.

Frequencies: of the frame as tensioned, on nothing, as it would ring if the leg were taken out of
the world: its six rigid motions are left out (``fem.frequency``). The soft tissue that hangs on
bone and wires in a patient is not in it; frequencies on a leg lie lower and are damped.

Buckling: for every load case a factor on the load by linear extrapolation from the tensioned frame
through the loaded one (``fem.buckling``), the bone held as under that load. A positive factor is
the load, in multiples, at which the frame would tilt away; a negative one would need the load
turned round. Frames that stiffen have none, or a far one: this is an estimate, the better the
nearer it lies to 1.

Mass: rings, rods, posts, pins and wires of their material; bone 1900 kg/m³, callus 1100 kg/m³ (from
memory: cortical bone 1.8 to 2.0 g/cm³, soft tissue 1.05 to 1.1).
"""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from math import pi
from typing import Any

import numpy as np

from fem import MechanismError
from fem.algebra import Array
from fem.buckling import buckling
from fem.frequency import frequencies
from fem.mass import mass_matrix
from fem.uncondensed import stressed
from frames.built import built
from frames.casefile import Case
from frames.caution import CAUTION
from frames.construct import rod_name
from frames.discretise import Discretised
from frames.freedom import explained
from frames.lines import Line, heading, table, wrapped
from frames.load_states import solve_loads
from frames.loading import load_vector
from frames.pretension import Pretensioned, pretension
from frames.sizes import DEFAULT_MATERIAL, MATERIALS

BONE_KG_PER_M3 = 1900.0
CALLUS_KG_PER_M3 = 1100.0
_TONNE_PER_MM3 = 1e-12


@dataclass(frozen=True)
class Mode:
    """hertz, and the part that moves most with the direction in which it does."""

    hertz: float
    part: str
    direction: str


@dataclass(frozen=True)
class LoadFactors:
    """factors: on the load, positive ones ascending, then negative ones from nothing downwards;
    smallest positive: None when the load does not buckle the frame."""

    load: str
    factors: tuple[float, ...]
    smallest: float | None


@dataclass(frozen=True)
class Modes:
    """mass_kg of the construct without the limb."""

    title: str
    mass_kg: float
    modes: tuple[Mode, ...]
    buckling: tuple[LoadFactors, ...]

    def to_dict(self) -> dict[str, Any]:
        """Content of its result file."""
        return {"format": "tautring modes", "version": 1, **asdict(self), "caution": CAUTION}

    def lines(self) -> Iterator[Line]:
        """As text."""
        return modes_lines(self)


def modes(case: Case, count: int = 6) -> Modes:
    """``count`` lowest frequencies as tensioned, and factors of every load case. Raises
    ``FemError``."""
    parts = built(case)
    try:
        return _modes(parts, count)
    except MechanismError as error:
        raise explained(error, parts) from error


def _modes(parts: Discretised, count: int) -> Modes:
    pre, case = pretension(parts), parts.construct.case
    system = pre.system
    mass = mass_matrix(parts.model, member_densities(parts), wires=wire_densities(parts))
    rest = stressed(system, pre.u, pre.response.tangent, pre.law.misfit)
    found = frequencies(system, rest, mass, count, "frame as tensioned")
    shown = tuple(
        Mode(float(f), *_moves_most(parts, mode))
        for f, mode in zip(found.hertz, found.modes, strict=True)
    )
    push = np.tile([0.0, 0.0, 1.0, 0.0, 0.0, 0.0], len(parts.model.names))
    return Modes(
        case.case.title,
        float(push @ (mass @ push)) * 1000.0,
        shown,
        tuple(_factors(pre, case)),
    )


def _factors(pre: Pretensioned, case: Case) -> Iterator[LoadFactors]:
    system = pre.system
    rest = stressed(system, pre.u, pre.response.tangent, pre.law.misfit)
    for load in case.load:
        vector = load_vector(load, pre.parts, system)
        solution = solve_loads(pre, [vector]).solution
        under = stressed(system, solution.u[0], solution.response.tangent[0], pre.law.misfit)
        found = buckling(system, rest, under, 3, f"load {load.name!r}", held=vector.held)
        smallest = found.smallest
        yield LoadFactors(
            load.name,
            tuple(found.factors.tolist()),
            smallest if np.isfinite(smallest) else None,
        )


def member_densities(parts: Discretised) -> dict[str, float]:
    """tonne/mm³ of every member of the model by name."""
    place = parts.construct
    steel = MATERIALS[DEFAULT_MATERIAL].density_kg_per_m3
    by_part = {("ring", r.ring.name): r.ring.density_kg_per_m3 for r in place.rings}
    by_part |= {("pin", p.pin.name): _density(p.pin.material) for p in place.pins}
    by_part |= {("rod", rod_name(i, r)): _density(r.rod.material) for i, r in enumerate(place.rods)}
    kinds = {"bone": BONE_KG_PER_M3, "callus": CALLUS_KG_PER_M3, "post": steel}
    out: dict[str, float] = {}
    for part, names in parts.members.items():
        density = by_part[part] if part in by_part else kinds[part[0]]
        out |= dict.fromkeys(names, density * _TONNE_PER_MM3)
    return out


def _density(material: str | None) -> float:
    return MATERIALS[material or DEFAULT_MATERIAL].density_kg_per_m3


def wire_densities(parts: Discretised) -> dict[str, float]:
    """tonne/mm of every wire by name."""
    return {
        w.wire.name: w.wire.density_kg_per_m3 * _TONNE_PER_MM3 * pi * w.wire.diameter_mm**2 / 4.0
        for w in parts.construct.wires
    }


def _moves_most(parts: Discretised, mode: Array) -> tuple[str, str]:
    """Part (ring or fragment) whose nodes move most in the mean, and along or about what."""
    model = parts.model
    owned = {
        part: [model.node(n) for n in parts.owner if parts.owner[n] == part]
        for part in dict.fromkeys(parts.owner.values())
    }
    size = {
        part: float(np.linalg.norm(mode[nodes, :3], axis=1).mean()) for part, nodes in owned.items()
    }
    part = max(size, key=lambda p: size[p])
    nodes = owned[part]
    mean = mode[nodes, :3].mean(axis=0)
    spread = float(np.linalg.norm(mode[nodes, :3] - mean, axis=1).mean())
    if spread > np.linalg.norm(mean):
        turn = mode[nodes, 3:].mean(axis=0)
        return part, f"turning about the {_axis(turn)} axis"
    return part, f"along the {_axis(mean)} axis"


def _axis(v: Array) -> str:
    return ("anterior", "medial", "long")[int(np.argmax(np.abs(v)))]


def modes_lines(answer: Modes) -> Iterator[Line]:
    """As text."""
    yield from wrapped(answer.title, "", "heading")
    yield from heading("Lowest natural frequencies of the tensioned construct, without the limb")
    rows = [["moves most", "Hz"]]
    rows += [[f"{m.part}, {m.direction}", f"{m.hertz:.1f}"] for m in answer.modes]
    yield from table(rows, header=1)
    yield Line(f"  Mass {answer.mass_kg:.2f} kg.", "faint")
    if answer.buckling:
        yield from heading("Buckling: multiples of each load, by linear extrapolation")
        rows = [["load", "smallest positive", "all"]]
        for b in answer.buckling:
            least = "none: stiffens" if b.smallest is None else f"{b.smallest:.2f}"
            rows.append([b.load, least, ", ".join(f"{f:.2f}" for f in b.factors) or "-"])
        yield from table(rows, header=1)
    yield Line("")
    yield from wrapped(CAUTION, "", "faint")
