"""Geometric stiffness of columns between their ends (P-δ).

An axial force N (tension positive) in a straight member does work on the square of the slope of its
centre line. With the slopes across (v′, w′) of the static shapes (``fem.static_shapes``), linear in
the displacements q of both ends,

    v′ = θ_z + γ_y,   w′ = -θ_y + γ_z,      K_G = N ∫ v′ᵀ v′ + w′ᵀ w′ ds,

for a bar without shear the matrix N/30L [36, 3L, …] of every text on buckling (Przemieniecki 1968,
§15.2); γ in it is Engesser's choice for shear. The part of the straight chord, N Δᵀ Δ / L with Δ
the sideways motion of B against A, is already in the law of the column (``fem.chord``), so that the
bowing of the member against its chord is left:

    K_δ = N [∫ v′ᵀ v′ + w′ᵀ w′ ds - Δᵀ Δ / L].

It is positive for tension and costs a rigid motion nothing. What it is worth: with the chord alone
the buckling load of a hinged bar cut into n pieces comes out above Euler's by (π/n)²/12: 5 % for
n = 4, 0.2 % for n = 20. With K_δ it is 0.75 % above for n = 2, 0.05 % for n = 4; and a bar whose
ends cannot shift aside, in one piece, buckles only with it (n = 1, hinged: 12 EI/L², 22 % above).
"""

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from fem.algebra import Array, transpose
from fem.assembly import assemble_blocks
from fem.chord import Chords, chord_state
from fem.model import Model
from fem.static_shapes import static_shapes


def column_force(chords: Chords, q: Array, misfit: Array | None = None) -> Array:
    """(..., c) N, tension positive, along the displaced chords at q (..., c, 12); misfit as
    ``fem.chord.chord_state``.
    """
    L = np.linalg.norm(chords.reach, axis=-1)
    apart = np.einsum("cxq,...cq->...cx", chords.shift, q)
    added = chord_state(chords, q, misfit, with_tangent=False).end_force
    along = np.sum(chords.reach * apart, axis=-1) / L  # a of the linear member
    linear = (chords.stiffness * along / L)[..., None] * chords.reach
    chord = chords.reach + apart
    return np.asarray(np.sum((added + linear) * chord, axis=-1) / np.linalg.norm(chord, axis=-1))


def bowing_stiffness(model: Model, force: Array) -> sparse.csr_array:
    """(6n, 6n) K_δ of the columns, all nodes, arms not yet applied; force (c,) N, tension
    positive.
    """
    n = len(model.names)
    number = {name: i for i, name in enumerate(model.members.names)}
    rows = np.array([number[name] for name in model.chords.names], dtype=np.intp)
    blocks = np.zeros((len(rows), 12, 12))
    for part in static_shapes(model, rows):  # one: columns are straight
        turn = part.axes @ part.shape[..., 3:, :]
        slope = np.stack([turn[..., 2, :], -turn[..., 1, :]], axis=-2) + part.strain[..., 1:3, :]
        squares = np.sum(part.weight[..., None, None] * (transpose(slope) @ slope), axis=1)
        sideways = np.zeros((len(rows), 2, 12))
        across = model.members.shapes.frame[rows, 1:]
        sideways[..., :3], sideways[..., 6:9] = -across, across
        length = model.members.shapes.length[rows, None, None]
        blocks = force[:, None, None] * (squares - transpose(sideways) @ sideways / length)
    return assemble_blocks((blocks + transpose(blocks)) / 2.0, model.members.ends[rows], n)


@dataclass(frozen=True)
class Stressed:
    """A state about which a system vibrates or buckles.

    tangent : (n, n) of the system there (``fem.system.Response.tangent`` of one load case), N/mm …
    column_force : (c,) N, tension positive, of ``Model.chords``.
    """

    tangent: Array
    column_force: Array
