"""Straight Timoshenko beam.

Cantilever of length L, held at A, end forces at B in local axes x (along), y, z
(Timoshenko's beam: e.g. Przemieniecki 1968, §5.6; shear areas A_sy, A_sz):

    u_x = P_x L/EA                                       θ_x = M_x L/GJ
    u_y = P_y (L³/3EI_z + L/GA_sy) + M_z L²/2EI_z        θ_z =  P_y L²/2EI_z + M_z L/EI_z
    u_z = P_z (L³/3EI_y + L/GA_sz) - M_y L²/2EI_y        θ_y = -P_z L²/2EI_y + M_y L/EI_y

This end flexibility is exact, and ``fem.member`` makes the stiffness of it. With infinite shear
areas it is the Euler-Bernoulli beam.
"""

import numpy as np

from fem.algebra import Array, transpose
from fem.errors import ModelError


def beam_frames(A: Array, B: Array, up: list[Array | None], names: list[str]) -> Array:
    """(m, 3, 3) rows: local x (A to B), y, z of m beams, A and B (m, 3) mm.

    up : any vector in each local x-z plane, not along x; None: z lies as near as it can to the
    global axis farthest from the beam's direction.
    """
    x = B - A
    length = np.linalg.norm(x, axis=-1, keepdims=True)
    for i in np.flatnonzero(~(length[:, 0] > 0)):
        raise ModelError(
            f"beam {names[i]!r} has no length: both ends lie at {A[i].tolist()} mm.", part=names[i]
        )
    x = x / length
    farthest = np.eye(3)[np.argmin(np.abs(x), axis=-1)]
    given = np.array([f if u is None else u for u, f in zip(up, farthest, strict=True)])
    z = given - x * np.sum(given * x, axis=-1, keepdims=True)
    norm = np.linalg.norm(z, axis=-1, keepdims=True)
    for i in np.flatnonzero(~(norm[:, 0] > 1e-6 * np.linalg.norm(given, axis=-1))):
        raise ModelError(
            f"beam {names[i]!r}: its orientation vector {given[i].tolist()} lies along the beam; "
            "give one that points aside.",
            part=names[i],
        )
    z = z / norm
    return np.stack([x, np.cross(z, x), z], axis=1)


def beam_frame(a: Array, b: Array, up: Array | None, name: str) -> Array:
    """(3, 3) ``beam_frames`` of one beam."""
    return np.asarray(beam_frames(a[None], b[None], [up], [name])[0])


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
