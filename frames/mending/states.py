"""The states that derivatives are taken at, and the same model rebuilt with a part changed.

Derivatives by linear equations need an answer that is a smooth function of what one changes: ideal
wires, no fracture faces, no callus, no nuts turned, no play. Other frames are solved anew
(``frames.mending.resolving``).
"""

from dataclasses import dataclass

import numpy as np

from fem import Law, MechanismError, System, make_system, solve
from fem.algebra import Array
from frames.built import built
from frames.casefile import Case
from frames.discretise import POINTS, Discretised
from frames.freedom import explained
from frames.load_states import way_matters
from frames.loading import LoadVector, load_vector
from frames.pretension import Pretensioned, pretension
from frames.supports import Mask, held_at_ankle


@dataclass(frozen=True)
class Rebuilt:
    """A case's model: parts, system, tensions (w,) N, and the loads (none unless asked for)."""

    parts: Discretised
    system: System
    tension: Array
    vectors: tuple[LoadVector, ...]


@dataclass(frozen=True)
class States:
    """case and its model; pre: the frame before load, held at the ankle (n,); held_law: that of
    the wires while their tensions are given; natural (w,) mm of the locked wires; u (c, n) and
    tangent (c, n, n) under the loads."""

    case: Case
    model: Rebuilt
    pre: Pretensioned
    held: Mask
    held_law: Law
    natural: Array
    u: Array
    tangent: Array

    @property
    def law(self) -> Law:
        """That of the locked wires."""
        return self.pre.law


def is_smooth(case: Case) -> bool:
    """Whether linear equations give the derivatives; else the frame has to be solved anew."""
    parts = built(case)
    model = parts.model
    return not (
        way_matters(case)
        or model.held_wires is not None
        or case.bone.contact is not None
        or case.bone.callus is not None
        or case.nut_turn
        or len(model.joints.names)
        or len(model.wires) > 1
    )


def rebuilt(case: Case) -> Rebuilt:
    """The model of a case, not solved. Raises ``MechanismError`` for loose parts."""
    parts = built(case)
    system = make_system(parts.model, keep=[parts.point_node[p] for p in POINTS])
    vectors = tuple(load_vector(load, parts, system) for load in case.load)
    return Rebuilt(parts, system, _tensions(parts), vectors)


def _tensions(parts: Discretised) -> Array:
    return np.array([w.wire.tension for w in parts.construct.wires])


def alike(a: Rebuilt, b: Rebuilt) -> bool:
    """Whether both have the same freedoms, so that displacements of one mean the same in the
    other."""
    return (
        np.array_equal(a.system.kept, b.system.kept)
        and np.array_equal(a.parts.model.master, b.parts.model.master)
        and all(np.array_equal(p.nodes, q.nodes)
                for p, q in zip(a.parts.model.wires, b.parts.model.wires, strict=True))
        and np.array_equal(a.parts.model.members.ends, b.parts.model.members.ends)
    )  # fmt: skip


def solved_states(case: Case) -> States:
    """Equilibrium before load and under every load. Raises ``FemError``."""
    model = rebuilt(case)
    try:
        pre = pretension(model.parts)
        n = pre.system.size
        u, tangent = np.zeros((0, n)), np.zeros((0, n, n))
        if model.vectors:
            forces = np.array([v.force for v in model.vectors])
            held = np.array([v.held for v in model.vectors])
            words = [f"load {v.name!r}" for v in model.vectors]
            start = np.repeat(pre.u[None], len(forces), axis=0)
            found = solve(pre.system, forces, pre.law, start, words, held=held)
            u, tangent = found.u, found.response.tangent
    except MechanismError as error:
        raise explained(error, model.parts) from error
    natural = pre.law.natural
    assert natural is not None
    return States(
        case=case,
        model=Rebuilt(model.parts, pre.system, model.tension, model.vectors),
        pre=pre,
        held=held_at_ankle(model.parts, pre.system),
        held_law=Law(tension=model.tension),
        natural=natural,
        u=u,
        tangent=tangent,
    )
