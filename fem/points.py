"""A point in space as it is given to the model's builder."""

from math import isfinite

import numpy as np
from numpy.typing import ArrayLike

from fem.algebra import Array
from fem.errors import ModelError


def checked_point(what: str, name: str, point: ArrayLike) -> Array:
    """(3,) mm. Raises ``ModelError`` that names ``what`` (a node, a contact) and its ``name``."""
    xyz = np.array(point, dtype=float)
    if xyz.shape != (3,) or not all(map(isfinite, xyz.tolist())):
        raise ModelError(
            f"{what} {name!r}: needs three finite coordinates (got {point!r}).", part=name
        )
    return xyz
