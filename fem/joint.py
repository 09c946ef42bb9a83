"""Elastic joint with play between two nodes at the same place.

In each of the six directions of its own axes (three shifts, three turns) the joint moves freely by
the play c to either side and is a linear spring beyond it. With d the motion of B against A:

    s = max(|d| - c, 0) sign d,   energy ½ k s²,   force k s,   tangent k where |d| ≥ c, else 0.

Force and moment k s act on A, their opposites on B. The joint keeps no memory of its way. Without
play it is linear, from zero on. Inside the play it has no stiffness at all: a part that nothing
else holds is then a mechanism, and is one in truth. The axes are those of the undeformed frame, as
for every small-displacement part: joints that turn by θ err by θ in direction.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fem.algebra import Array, transpose
from fem.errors import ModelError
from fem.relative import relative_motion


@dataclass(frozen=True)
class Joints:
    """j joints. names (j,), nodes (j, 2) that carry A and B, motion (j, 6, 12): d in the joint's
    axes from the freedoms of both nodes, rigid arms included; stiffness (j, 6) k N/mm and
    N·mm/rad, play (j, 6) c mm and rad.
    """

    names: tuple[str, ...]
    nodes: NDArray[np.intp]
    motion: Array
    stiffness: Array
    play: Array

    BY_DESIGN: ClassVar = ("motion", "stiffness", "play")

    def take(self, cases: NDArray[np.intp]) -> "Joints":
        """Of joints of several designs (arrays with a leading axis of load cases): some cases."""
        return replace(self, **{name: getattr(self, name)[cases] for name in self.BY_DESIGN})


@dataclass(frozen=True)
class JointState:
    """energy (..., j) N·mm; motion (..., j, 6) d and force (..., j, 6) k s on A in the joint's
    axes; gradient (..., j, 12), tangent (..., j, 12, 12) or (..., j, 0, 0) when not asked for.
    """

    energy: Array
    motion: Array
    force: Array
    gradient: Array
    tangent: Array


class JointPart(NamedTuple):
    """One joint as the model's builder collects it: nodes by name, the rest checked."""

    name: str
    a: str
    b: str
    stiffness: Array
    play: Array
    axes: Array


def joint_part(
    name: str, a: str, b: str, constants: ArrayLike, play: ArrayLike, axes: ArrayLike | None
) -> JointPart:
    """Check one joint: constants and play (6,) not negative (play of one number: in all six), axes
    (3, 3) orthonormal rows, right-handed (None: global). Raises ``ModelError``.
    """
    k = np.array(constants, float)
    c = np.array(play, float)
    c = np.full(6, c) if c.shape == () else c
    for word, values in (("constants", k), ("plays", c)):
        if values.shape != (6,) or not (np.isfinite(values) & (values >= 0.0)).all():
            raise ModelError(
                f"joint {name!r}: needs six finite {word} that are not negative "
                f"(got {values.tolist()}).",
                part=name,
            )
    R = np.eye(3) if axes is None else np.array(axes, float)
    good = R.shape == (3, 3) and np.isfinite(R).all()
    if not (good and np.abs(R @ R.T - np.eye(3)).max() < 1e-6 and np.linalg.det(R) > 0.0):
        raise ModelError(
            f"joint {name!r}: its axes {R.tolist()} must be three unit vectors square to each "
            "other, right-handed, as rows x, y, z.",
            part=name,
        )
    return JointPart(name, a, b, k, c, R)


def make_joints(
    parts: Sequence[JointPart],
    ends: NDArray[np.intp],
    master: NDArray[np.intp],
    arm: Array,
) -> Joints:
    """Stack joints between the nodes ``ends`` (j, 2); ``master`` (n,) of each node and ``arm``
    (n, 3) from it, mm.
    """
    axes = np.array([p.axes for p in parts]).reshape(-1, 3, 3)
    turn = np.zeros((len(parts), 6, 6))
    turn[:, :3, :3] = turn[:, 3:, 3:] = axes
    return Joints(
        tuple(p.name for p in parts),
        master[ends],
        turn @ relative_motion(arm[ends]),
        np.array([p.stiffness for p in parts]).reshape(-1, 6),
        np.array([p.play for p in parts]).reshape(-1, 6),
    )


def joint_state(joints: Joints, q: Array, *, with_tangent: bool = True) -> JointState:
    """Energy and forces of the joints at q (..., j, 12), mm and rad, global axes."""
    k, c, D = joints.stiffness, joints.play, joints.motion
    d = np.einsum("...jxq,...jq->...jx", D, q)
    beyond = np.maximum(np.abs(d) - c, 0.0) * np.sign(d)
    force = k * beyond
    energy = np.sum(force * beyond, axis=-1) / 2.0
    gradient = np.einsum("...jxq,...jx->...jq", D, force)
    tangent = np.zeros((*energy.shape, 0, 0))
    if with_tangent:
        stiff = np.where(np.abs(d) >= c, k, 0.0)
        tangent = transpose(D) @ (stiff[..., None] * D)
    return JointState(energy, d, force, gradient, tangent)
