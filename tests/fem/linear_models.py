"""Small helpers for models without wires: sections without shear, solving, random rotations."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial.transform import Rotation

from fem import Law, Material, Model, Section, make_system, node_displacements, solve

Array = NDArray[np.float64]

STEEL = Material(E=193_000.0, nu=0.3, name="steel")
NO_WIRES = Law(tension=np.zeros(0))


def plain_section(
    area: float = 60.0,
    I_y: float = 300.0,
    I_z: float = 900.0,
    J: float = 500.0,
    shear: float = np.inf,
) -> Section:
    """A section of given constants; without shear deformation unless ``shear`` (mm²) is given."""
    return Section(area, shear, shear, I_y, I_z, J, 5.0, 5.0)


def deflections(model: Model, loads: Mapping[str, ArrayLike]) -> dict[str, Array]:
    """Displacement (6,) of every node under loads (6,) on some, all nodes by name."""
    system = make_system(model, keep=list(loads))
    p = np.zeros((1, system.size))
    for node, load in loads.items():
        p[0, system.dofs(node)] += np.asarray(load, float)
    found = solve(system, p, NO_WIRES, np.zeros_like(p), ["load"])
    d = node_displacements(system, found.u[0])
    return dict(zip(model.names, d, strict=True))


def random_rotation(seed: int) -> Array:
    """(3, 3) rotation drawn evenly from all."""
    return np.asarray(Rotation.random(random_state=seed).as_matrix())


def turned(R: Array, six: ArrayLike) -> Array:
    """(..., 6) pair of vectors turned by R."""
    v = np.asarray(six, float)
    return np.concatenate([v[..., :3] @ R.T, v[..., 3:] @ R.T], axis=-1)
