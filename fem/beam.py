"""Straight Timoshenko beam.

Cantilever of length L, held at A, end forces at B in local axes x (along), y, z
(Timoshenko's beam: e.g. Przemieniecki 1968, §5.6; shear areas A_sy, A_sz):

    u_x = P_x L/EA                                       θ_x = M_x L/GJ
    u_y = P_y (L³/3EI_z + L/GA_sy) + M_z L²/2EI_z        θ_z =  P_y L²/2EI_z + M_z L/EI_z
    u_z = P_z (L³/3EI_y + L/GA_sz) - M_y L²/2EI_y        θ_y = -P_z L²/2EI_y + M_y L/EI_y

This end flexibility is exact, and ``fem.member`` makes the stiffness of it.  With infinite shear areas it
is the Euler-Bernoulli beam.
"""

import numpy as np

from fem.algebra import Array, transpose
from fem.errors import ModelError


def beam_frame(a: Array, b: Array, up: Array | None, name: str) -> Array:
    """(3, 3) rows: local x (A to B), y, z.  ``up``: any vector in the local x-z plane, not along x.

    Without ``up``, z lies as near as it can to the global axis farthest from the beam's direction.
    """
    x = b - a
    length = float(np.linalg.norm(x))
    if not length > 0:
        raise ModelError(f"beam {name!r} has no length: both ends lie at {a.tolist()} mm.", part=name)
    x = x / length
    if up is None:
        up = np.eye(3)[int(np.argmin(np.abs(x)))]
    z = np.asarray(up, float) - x * float(np.dot(up, x))
    norm = float(np.linalg.norm(z))
    if not norm > 1e-6 * float(np.linalg.norm(up)):
        raise ModelError(
            f"beam {name!r}: its orientation vector {np.asarray(up).tolist()} lies along the beam; "
            "give one that points aside.",
            part=name,
        )
    z = z / norm
    return np.stack([x, np.cross(z, x), z])


def beam_end_flexibility(length: Array, frame: Array, flexibility: Array) -> Array:
    """F at B of m beams, global axes, mm/N and rad/(N·mm): (m, 6, 6).

    length : (m,) mm.  frame : (m, 3, 3) rows local x, y, z.  flexibility : (m, 6), see
    ``fem.sections.section_flexibility``.
    """
    L, f = length, flexibility
    F = np.zeros((len(L), 6, 6))
    F[:, 0, 0] = L * f[:, 0]
    F[:, 1, 1] = L**3 * f[:, 5] / 3.0 + L * f[:, 1]
    F[:, 2, 2] = L**3 * f[:, 4] / 3.0 + L * f[:, 2]
    F[:, 3, 3] = L * f[:, 3]
    F[:, 4, 4] = L * f[:, 4]
    F[:, 5, 5] = L * f[:, 5]
    F[:, 1, 5] = F[:, 5, 1] = L**2 * f[:, 5] / 2.0
    F[:, 2, 4] = F[:, 4, 2] = -(L**2) * f[:, 4] / 2.0
    turn = np.zeros((len(L), 6, 6))
    turn[:, :3, :3] = turn[:, 3:, 3:] = frame
    return np.asarray(transpose(turn) @ F @ turn)
