"""Equilibrium of the fine-mesh model: pretension, small loads at the gap, loads at the bone's end.

Pretension. The rings and rods alone give the influence F (n, n): closing of wire i's clamps under
unit tension in wire j. With all wires at tension T (n,) the clamp-to-clamp length falls by F T, and
a wire of span L must have the initial strain

    e = T/EA + (F T)/L

which is put into the whole model; the tension found is then mended by Newton with the same F,

    de = (1/EA + F/L) dT

until every wire is within ``TENSION_ERROR`` of what was asked for. Bone and wires stay straight to
first order in this, so one or two corrections are enough.

Compliance. Equal and opposite loads P on the two fracture faces, carried to the gap's centre by
rigid arms; C_ij = motion i of the proximal arm's tip less that of the distal one's for unit load j,
from central differences of small loads about the state of equilibrium. The distal end of the bone
is held throughout, which takes no load from a self-equilibrated pair.

Units N, mm, rad; results in N/mm and N m/deg where their name says so.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import pi
from time import perf_counter
from typing import Any

import numpy as np
import openseespy.opensees as ops
from numpy.typing import NDArray

from .geometry import FramePlan, plan_frame
from .model import Mesh, Model, build_frame, build_rings_and_rods

Array = NDArray[np.float64]
STIFFNESS_KEYS = (
    "shear_ap_N_per_mm",  # x
    "shear_ml_N_per_mm",  # y
    "axial_N_per_mm",  # z
    "bending_ml_Nm_per_deg",  # about x
    "bending_ap_Nm_per_deg",  # about y
    "torsion_Nm_per_deg",  # about z
)
AXIAL_LOADS = {"axial 200 N": (0.0, 0.0, -200.0), "axial 700 N": (0.0, 0.0, -700.0)}
SMALL_LOAD = np.array([0.5, 0.5, 0.5, 20.0, 20.0, 20.0])  # N, N mm
TENSION_ERROR = 1e-3  # N
TENSION_PASSES = 6
INCREMENT = 1e-7  # norm of the last Newton correction, mm and rad together
ITERATIONS = 25
SMALLEST_STEP = 1.0 / 64.0


class ReferenceError(RuntimeError):
    """The reference model found no equilibrium; the message says at which load."""


@dataclass(frozen=True)
class State:
    """One state of equilibrium.

    load : (6,) wrench on the proximal bone end, global axes (x anterior, y patient's left,
        z proximal), N and N mm.
    face_movement : (6,) movement of the proximal fracture face's centre less the distal one's since
        pretension, mm and rad, same axes; closing has a negative third component.
    centre_movement : (6,) the same for the two points of the fragments that lay at the gap's centre.
    tensions : wire name -> mean tension along it, N.
    compliance : (6, 6) tangent about the gap's centre (mm/N, rad/N, mm/Nmm, rad/Nmm), or None.
    """

    load: Array
    face_movement: Array
    centre_movement: Array
    tensions: dict[str, float]
    compliance: Array | None

    @property
    def stiffness(self) -> dict[str, float]:
        """The six stiffnesses 1/C_ii by name (N/mm, N m/deg)."""
        if self.compliance is None:
            raise ValueError("no compliance was asked for in this state")
        values = 1.0 / np.diag(self.compliance)
        values[3:] *= pi / 180.0 / 1000.0
        return dict(zip(STIFFNESS_KEYS, values.tolist(), strict=True))

    @property
    def secant_axial(self) -> float:
        """Axial load over axial movement at the gap's centre, N/mm."""
        return float(self.load[2] / self.centre_movement[2])


@dataclass(frozen=True)
class FineMeshResult:
    """Answers of the fine-mesh model for one case.

    pretension : state with every wire at its tension and no load, with its compliance.
    loads : state under each load asked for, by name.
    tension_error : largest departure from the asked tensions, N.
    closing : wire name -> how much its clamps drew together under pretension, rings and rods
        alone, mm.
    unknowns, elements : size of the model.
    seconds : time of building and solving.
    """

    pretension: State
    loads: dict[str, State]
    tension_error: float
    closing: dict[str, float]
    unknowns: int
    elements: int
    seconds: float

    @property
    def stiffness(self) -> dict[str, float]:
        """Tangent at pretension with no load (N/mm, N m/deg)."""
        return self.pretension.stiffness


def solve_frame(
    case: Mapping[str, Any],
    *,
    wire_elements_mm: float = 2.0,
    ring_step_deg: float = 3.0,
    members: str = "linear",
    loads: Mapping[str, Sequence[float]] | None = None,
    compliance: bool = True,
    loaded_compliance: bool = False,
    shear: frozenset[str] = frozenset({"ring", "rod", "bone"}),
    hold_spin: bool = False,
    support: str = "distal end",
) -> FineMeshResult:
    """Solve a case dict (parsed case file) on a fine mesh.

    loads : name -> wrench (3 or 6 numbers: N, then N mm) on the proximal bone end in global axes
        with the distal end held; 200 and 700 N of compression if not given.
    wire_elements_mm, ring_step_deg : largest element of wires and rings.
    members : "linear" (rings, rods and bone move little) or "corotational" (everything follows).
    compliance, loaded_compliance : find the tangent at pretension, and at every load.
    shear : which of "ring", "rod", "bone" shear.
    hold_spin : a built-in wire's turn about its own line is held by the bone too.
    Raises ValueError for what the model does not know, ReferenceError without equilibrium.
    """
    begin = perf_counter()
    follow = {"linear": False, "corotational": True}[members]
    mesh = Mesh(wire_elements_mm, ring_step_deg, follow, frozenset(shear), hold_spin, support)
    plan = plan_frame(case)
    wanted = {name: _wrench(load) for name, load in (AXIAL_LOADS if loads is None else loads).items()}
    try:
        influence = _influence(plan, mesh)
        model, error = _pretension(plan, mesh, influence)
        walk = _Walk(model)
        start = walk.here()
        pretension = _state(walk, start, np.zeros(6), compliance)
        states = {}
        for name, load in wanted.items():
            walk.to({})  # rotations add up along the way, so each load starts from rest
            walk.to({model.bone_ends[0]: load})
            states[name] = _state(walk, start, load, loaded_compliance)
        unknowns, elements = 6 * (len(ops.getNodeTags()) - 1), len(ops.getEleTags())
    finally:
        ops.wipe()
    tensions = np.array([wire.tension for wire in plan.wires])
    names = [wire.name for wire in plan.wires]
    return FineMeshResult(
        pretension=pretension,
        loads=states,
        tension_error=error,
        closing=dict(zip(names, (influence @ tensions).tolist(), strict=True)),
        unknowns=unknowns,
        elements=elements,
        seconds=perf_counter() - begin,
    )


def _wrench(load: Sequence[float]) -> Array:
    wrench = np.zeros(6)
    wrench[: len(load)] = load
    return wrench


def _influence(plan: FramePlan, mesh: Mesh) -> Array:
    """(n, n): how far wire i's clamps draw together for each N of tension in wire j, mm/N."""
    model = build_rings_and_rods(plan, mesh)
    ops.fix(min(ops.getNodeTags()), 1, 1, 1, 1, 1, 1)
    n = len(plan.wires)
    influence = np.zeros((n, n))
    ops.timeSeries("Constant", 1)
    _analysis("Linear")
    for j, wire in enumerate(plan.wires):
        start, end = model.clamps[wire.name]
        ops.pattern("Plain", 1, 1)
        ops.load(start, *wire.direction.tolist(), 0.0, 0.0, 0.0)
        ops.load(end, *(-wire.direction).tolist(), 0.0, 0.0, 0.0)
        if ops.analyze(1) != 0:
            raise ReferenceError(f"rings and rods alone: no answer to a pull along {wire.name}")
        for i, other in enumerate(plan.wires):
            a, b = (np.array(ops.nodeDisp(tag)[:3]) for tag in model.clamps[other.name])
            influence[i, j] = (a - b) @ other.direction
        ops.remove("loadPattern", 1)
    return influence


def _analysis(algorithm: str) -> None:
    ops.constraints("Plain")
    ops.numberer("RCM")
    ops.system("UmfPack")
    ops.test("NormDispIncr", INCREMENT, ITERATIONS)
    ops.algorithm(algorithm)
    ops.integrator("LoadControl", 1.0)
    ops.analysis("Static")


def _pretension(plan: FramePlan, mesh: Mesh, influence: Array) -> tuple[Model, float]:
    asked = np.array([wire.tension for wire in plan.wires])
    stretch = 1.0 / np.array([wire.section.E * wire.section.A for wire in plan.wires])
    span = np.array([wire.span for wire in plan.wires])
    strain_per_tension = np.diag(stretch) + influence / span[:, None]
    strains = strain_per_tension @ asked
    for _ in range(TENSION_PASSES):
        model = build_frame(plan, mesh, strains)
        ops.timeSeries("Constant", 1)
        _analysis("Newton")
        if ops.analyze(1) != 0:
            ops.algorithm("NewtonLineSearch")  # a first step from slack wires may overshoot
            if ops.analyze(1) != 0:
                raise ReferenceError("no equilibrium under pretension")
            ops.algorithm("Newton")
        missing = asked - np.array(list(_tensions(model).values()))
        error = float(np.max(np.abs(missing)))
        if error < TENSION_ERROR:
            return model, error
        strains = strains + strain_per_tension @ missing
    raise ReferenceError(f"tensions still {error:.3g} N off after {TENSION_PASSES} corrections")


def _tensions(model: Model) -> dict[str, float]:
    tensions = {}
    for name, elements in model.wire_elements.items():
        forces = [ops.basicForce(tag)[0] for tag, _ in elements]
        tensions[name] = float(np.average(forces, weights=[length for _, length in elements]))
    return tensions


class _Walk:
    """The loads now on the model, and the way from one set of loads to the next."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.loads: dict[int, Array] = {}

    def to(self, target: Mapping[int, Array]) -> None:
        """Go to ``target`` (node tag -> wrench) in one step, or in smaller ones if that fails."""
        origin = dict(self.loads)
        nodes = set(origin) | set(target)
        none = np.zeros(6)
        done, step = 0.0, 1.0
        while done < 1.0:
            share = min(1.0, done + step)
            mixed = {
                node: (1.0 - share) * origin.get(node, none) + share * target.get(node, none)
                for node in nodes
            }
            if self._equilibrium(mixed):
                done = share
                continue
            step *= 0.5
            if step < SMALLEST_STEP:
                raise ReferenceError(f"no equilibrium beyond {done:.3g} of the loads {target}")
        self.loads = dict(target)

    def _equilibrium(self, loads: Mapping[int, Array]) -> bool:
        if self.model.loaded:
            ops.remove("loadPattern", 1)
        ops.pattern("Plain", 1, 1)
        self.model.loaded = True
        for node, load in loads.items():
            ops.load(node, *load.tolist())
        return ops.analyze(1) == 0

    def here(self) -> Array:
        """(4, 6): displacements of both fracture faces, then of both points at the gap's centre."""
        tags = (*self.model.faces, *self.model.gap_centres)
        return np.array([ops.nodeDisp(tag) for tag in tags])


def _state(walk: _Walk, start: Array, load: Array, compliance: bool) -> State:
    moved = walk.here() - start
    tensions = _tensions(walk.model)
    return State(
        load=load,
        face_movement=moved[0] - moved[1],
        centre_movement=moved[2] - moved[3],
        tensions=tensions,
        compliance=_compliance(walk) if compliance else None,
    )


def _compliance(walk: _Walk) -> Array:
    """(6, 6) by central differences about the present state, which is restored."""
    upper, lower = walk.model.gap_centres
    held = dict(walk.loads)
    columns = []
    for i, size in enumerate(SMALL_LOAD):
        moved = []
        for sign in (1.0, -1.0):
            push = np.zeros(6)
            push[i] = sign * size
            walk.to({**held, upper: push, lower: -push})
            here = walk.here()
            moved.append(here[2] - here[3])
        columns.append((moved[0] - moved[1]) / (2.0 * size))
    walk.to(held)
    return np.array(columns).T
