"""Members that join a structure which is under force already, as callus grows between bone ends.

A late member is made like any other (``fem.member``), but is not there until the law says so, and
then is free of force at the displacements q₀ that its ends had when it grew:

    energy ½ (q - q₀)ᵀ K (q - q₀),     gradient K (q - q₀),     tangent K,

q the freedoms of both ends' nodes, rigid arms folded into K. Small displacements, like every
member.
"""

from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.constraints import on_masters
from fem.member import Members


@dataclass(frozen=True)
class LateMembers:
    """b late members. rows (b,) of the model's members, nodes (b, 2) that carry their ends,
    stiffness (b, 12, 12) K on the freedoms of these.
    """

    rows: NDArray[np.intp]
    nodes: NDArray[np.intp]
    stiffness: Array

    BY_DESIGN: ClassVar = ("stiffness",)

    def take(self, cases: NDArray[np.intp]) -> "LateMembers":
        """Of members of several designs (arrays with a leading axis of load cases): some cases."""
        return replace(self, **{name: getattr(self, name)[cases] for name in self.BY_DESIGN})


@dataclass(frozen=True)
class LateState:
    """energy (..., b), gradient (..., b, 12), tangent (..., b, 12, 12) or (..., b, 0, 0) when not
    asked for.
    """

    energy: Array
    gradient: Array
    tangent: Array


def make_late(members: Members, master: NDArray[np.intp], arm: Array) -> LateMembers:
    """The late ones of a model's members; master (n,) and arm (n, 3) mm of every node."""
    rows = np.flatnonzero(members.late)
    ends = members.ends[rows]
    K = members.stiffness()[rows] if len(rows) else np.zeros((0, 12, 12))
    return LateMembers(rows, master[ends], on_masters(K, arm[ends]))


def late_state(
    late: LateMembers, q: Array, origin: Array, *, with_tangent: bool = True
) -> LateState:
    """Answer at q (..., b, 12) of members that grew at ``origin`` (..., b, 12), mm and rad."""
    moved = q - origin
    gradient = np.einsum("...bij,...bj->...bi", late.stiffness, moved)
    energy = np.sum(moved * gradient, axis=-1) / 2.0
    tangent = np.zeros((*energy.shape, 0, 0))
    if with_tangent:
        tangent = np.broadcast_to(late.stiffness, (*energy.shape, 12, 12))
    return LateState(energy, gradient, tangent)
