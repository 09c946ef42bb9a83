"""Stress of wires at the ends of their spans, before load and under it.

Nothing loads a wire between its stations (clamp, cortex, cortex, clamp), so that its bending moment
is largest at one of them. At each end of each span, with the tension T of the span and the moment
M, a vector in the two planes of the wire, the fibre in the direction φ bears

    σ = T / A + (M₁ cos φ + M₂ sin φ) / W,      A = π d² / 4,   W = π d³ / 32,

and the worst of them T / A + |M| / W. Elastic: unless the steel yields in the model, figures past
yield are no real stresses.
"""

from math import pi

import numpy as np

from fem.algebra import Array
from fem.system import Response
from fem.wire_bending import span_end_moments
from frames.stressing.fibres import CIRCLE
from frames.stressing.solving import Solved
from frames.wire_answers import span_tensions, wire_set

ENDS = (0, 1, 1, 2, 2, 3)
"""Station at the start and end of the three spans."""


def wire_ends(frame: Solved, response: Response) -> tuple[Array, Array]:
    """T / A (c, w, 6) and M / W (c, w, 6, 2) MPa at the ends of the spans, ``ENDS``; c states."""
    model = frame.parts.model
    wires = wire_set(model)
    place = frame.place
    tension = span_tensions(response)
    c, w = tension.reshape(-1, *tension.shape[-2:]).shape[:2]
    if wires is None:
        return np.zeros((c, 0, 6)), np.zeros((c, 0, 6, 2))
    d = np.array([p.wire.diameter_mm for p in place.wires])
    if response.held_wires is not None:
        moments = response.held_wires.bending.moments
    else:
        state = response.wires[0]
        moments = span_end_moments(state.bending, state.tension, wires.EI, wires.spans)
    pull = np.repeat(tension, 2, axis=-1).reshape(c, w, 6) / (pi * d[:, None] ** 2 / 4.0)
    return pull, moments.reshape(c, w, 6, 2) / (pi * d[:, None, None] ** 3 / 32.0)


def all_wire_ends(frame: Solved) -> tuple[Array, Array]:
    """``wire_ends`` at rest and then under every load, (c + 1, …)."""
    pulls, bends = zip(*(wire_ends(frame, r) for r in frame.responses), strict=True)
    return np.concatenate(pulls), np.concatenate(bends)


def wire_fibres(pull: Array, bend: Array) -> tuple[Array, Array]:
    """σ (..., 6, f) and τ (..., 6, 1), nought, of ``wire_ends``."""
    return pull[..., None] + bend @ CIRCLE.T, np.zeros((*pull.shape, 1))
