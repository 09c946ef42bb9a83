"""The wires' answers in one shape, whether they keep to the ideal or to the general law.

An ideal wire has one tension from clamp to clamp; one that grips, slips or has an olive has a
tension for every span: leg at the start, span in the bone, leg at the end.
"""

from collections.abc import Callable
from math import pi

import numpy as np

from fem import Model
from fem.algebra import Array
from fem.held_wire import peak_stress as held_peak_stress
from fem.system import Response
from fem.wire import Wires, peak_stress
from frames.discretise import Discretised


def wire_set(model: Model) -> Wires | None:
    """Kinematics of all wires, None for a frame without."""
    if model.held_wires is not None:
        return model.held_wires.wires
    return model.wires[0] if model.wires else None


def steepest_slopes(model: Model, response: Response) -> Array:
    """(...,) rad: largest slope of a span against the line between its wire's clamps."""
    wires = wire_set(model)
    if wires is None:
        return np.zeros(response.energy.shape)
    bent = (
        response.held_wires.bending
        if response.held_wires is not None
        else response.wires[0].bending
    )
    slopes = np.abs(bent.slopes[..., : wires.spans.shape[1]])
    return np.asarray(slopes.max(axis=(-3, -2, -1), initial=0.0))


def span_tensions(response: Response) -> Array:
    """(..., w, 3) N: leg at the start, span in the bone, leg at the end."""
    if response.held_wires is not None:
        return response.held_wires.tensions
    return np.repeat(response.tension[..., None], 3, axis=-1)


def leg_tensions(response: Response) -> Array:
    """(..., w, 2) N at start and end."""
    return np.asarray(span_tensions(response)[..., [0, -1]])


def bows(model: Model, response: Response) -> Array:
    """(..., w) mm: how far the bone has drawn each wire out of the straight line between its
    clamps, the farther of its cortices.
    """
    wires = wire_set(model)
    if wires is None:
        return np.zeros((*response.energy.shape, 0))
    points = (
        response.held_wires.points if response.held_wires is not None else response.wires[0].points
    )
    sideways = np.einsum("wpx,...wkx->...wkp", wires.across, points)
    return np.asarray(np.linalg.norm(sideways, axis=-1).max(axis=-1))


def wire_peak_stress(parts: Discretised) -> Callable[[Response], Array]:
    """A function from responses to (..., w) MPa, largest along each wire: tension plus bending,
    σ = T/A + 32 |M| / π d³, elastic unless the steel yields in the model.
    """
    d = wire_diameters(parts)
    return lambda response: largest_stress(parts.model, response, d)


def wire_diameters(parts: Discretised) -> Array:
    """(w,) mm."""
    return np.array([w.wire.diameter_mm for w in parts.construct.wires])


def largest_stress(model: Model, response: Response, d: Array) -> Array:
    """(..., w) MPa, as ``wire_peak_stress``; d (w,) mm, or (..., w) where load cases belong to
    different designs."""
    area, modulus = pi * d**2 / 4.0, pi * d**3 / 32.0
    wires = wire_set(model)
    if wires is None:
        return np.zeros((*response.energy.shape, 0))
    if response.held_wires is not None:
        return held_peak_stress(wires, response.held_wires, area, modulus)
    return peak_stress(wires, response.wires[0], area, modulus)


def wire_yield(parts: Discretised) -> Array:
    """(w,) yield stress of each wire, MPa."""
    return np.array([w.wire.yield_MPa for w in parts.construct.wires])
