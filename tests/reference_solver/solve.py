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

from collections.abc import Callable, Mapping, Sequence
from time import perf_counter
from typing import Any

import numpy as np
import openseespy.opensees as ops

from .bone_parts import build_frame, strain_wires
from .frame_parts import build_rings_and_rods
from .geometry import plan_frame
from .model import Mesh, Model
from .plan import FramePlan
from .results import Array, FineMeshResult, State

AXIAL_LOADS = {"axial 200 N": (0.0, 0.0, -200.0), "axial 700 N": (0.0, 0.0, -700.0)}
SMALL_LOAD = np.array([0.5, 0.5, 0.5, 20.0, 20.0, 20.0])  # N, N mm
TENSION_ERROR = 1e-3  # N
TENSION_PASSES = 6
INCREMENT = 1e-7  # norm of the last Newton correction, mm and rad together
ITERATIONS = 12
SMALLEST_STEP = 1.0 / 64.0


class ReferenceSolveError(RuntimeError):
    """The reference model found no equilibrium; the message says at which load."""


def solve_frame(
    case: Mapping[str, Any],
    *,
    wire_elements_mm: float = 1.5,
    ring_step_deg: float = 6.0,
    members: str = "corotational",
    loads: Mapping[str, Sequence[float]] | None = None,
    compliance: bool = True,
    loaded_compliance: bool = False,
    shear: frozenset[str] = frozenset({"ring", "rod", "bone", "pin"}),
    hold_spin: bool = False,
    support: str = "distal end",
    finer_members: int = 1,
) -> FineMeshResult:
    """Solve a case dict (parsed case file) on a fine mesh.

    Axes x anterior, y patient's left, z proximal; N, mm, rad. All movement is of the proximal part
    less that of the distal part.

    wire_elements_mm : element of a wire beside clamps and cortices. 1.5 mm gives the six
        stiffnesses within 0.1 %, 2 mm within 0.2 %, 6 mm within 1 %; the error falls with its
        square.
    ring_step_deg : largest step round a ring; 6 and 3 degrees differ by 0.01 %.
    members : "corotational" (everything follows its displacement) or "linear" (rings, rods and bone
        of small displacement; see frame_parts.py for what that spoils).
    loads : name -> wrench (3 or 6 numbers: N, then N mm) on the proximal bone end in global axes
        with the support held; 200 and 700 N of compression if not given.
    compliance, loaded_compliance : find the tangent at pretension, and at every load. Under load
        the tangent is that of the dead load on the bone's free end, sway included.
    shear : which of "ring", "rod" (and posts), "bone", "pin" shear.
    hold_spin : the bone also holds the wire's turn about its own line.
    finer_members : times as many pieces of rods, posts and half-pins.
    support : "distal end" or "proximal end" of the bone, or the name of a ring, held at one point.
    Raises ValueError for what the model does not know, ReferenceSolveError without equilibrium.
    """
    begin = perf_counter()
    follow = {"linear": False, "corotational": True}[members]
    mesh = Mesh(
        wire_elements_mm, ring_step_deg, follow, frozenset(shear), hold_spin, support, finer_members
    )
    plan = plan_frame(case)
    wanted = {
        name: _wrench(load) for name, load in (AXIAL_LOADS if loads is None else loads).items()
    }
    try:
        influence = clamp_influence(plan, mesh)
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


def clamp_influence(plan: FramePlan, mesh: Mesh) -> Array:
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
            raise ReferenceSolveError(f"rings and rods give no answer to a pull on {wire.name}")
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
    model = build_frame(plan, mesh)
    ops.timeSeries("Constant", 1)
    _analysis("Newton")
    strains = np.zeros(len(asked))
    missing = asked
    for _ in range(TENSION_PASSES):
        wanted = strains + strain_per_tension @ missing
        _strain(strains, wanted)
        strains = wanted
        missing = asked - np.array(list(_tensions(model).values()))
        error = float(np.max(np.abs(missing), initial=0.0))
        if error < TENSION_ERROR:
            return model, error
    raise ReferenceSolveError(f"tensions {error:.3g} N off after {TENSION_PASSES} passes")


def _strain(now: Array, wanted: Array) -> None:
    """Take the wires from one set of initial strains to another, in smaller steps if one fails:
    a first step from slack wires may overshoot."""

    def equilibrium(share: float) -> bool:
        strain_wires((1.0 - share) * now + share * wanted)
        return ops.analyze(1) == 0

    reached = _in_steps(equilibrium)
    if reached < 1.0:
        raise ReferenceSolveError(f"no equilibrium beyond {reached:.3g} of the pretension")


def _in_steps(equilibrium: Callable[[float], bool]) -> float:
    """Share of the way from 0 to 1 on which ``equilibrium`` was found, step by step."""
    done, step = 0.0, 1.0
    while done < 1.0:
        share = min(1.0, done + step)
        if equilibrium(share):
            done = share
            continue
        step *= 0.5
        if step < SMALLEST_STEP:
            break
    return done


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

        def equilibrium(share: float) -> bool:
            return self._equilibrium(
                {
                    node: (1.0 - share) * origin.get(node, none) + share * target.get(node, none)
                    for node in nodes
                }
            )

        reached = _in_steps(equilibrium)
        if reached < 1.0:
            raise ReferenceSolveError(f"no equilibrium beyond {reached:.3g} of the loads {target}")
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
