"""From wires, holds and history to the rows of ``fem.held_solver``."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array, transpose
from fem.errors import ModelError
from fem.held_rows import Rows
from fem.wire_holds import AXES, WireHistory, WireHolds
from fem.wire_path import Motion, Wires

PULL_TOLERANCE = 1e-9  # of a tension, when dials are compared


def broadcast(history: WireHistory, lead: tuple[int, ...]) -> WireHistory:
    """The history with the axes of cases of itself and of the displacements."""
    parts = [(k, v, v.ndim - AXES[k]) for k, v in vars(history).items()]
    lead = np.broadcast_shapes(lead, *(v.shape[:cases] for _, v, cases in parts))
    return replace(
        history, **{k: np.broadcast_to(v, (*lead, *v.shape[cases:])) for k, v, cases in parts}
    )


def rows_of(wires: Wires, holds: WireHolds, moved: Motion, past: WireHistory) -> Rows:
    """One row a wire and case. Raises ModelError for pulls that no tensions can meet."""
    w, n = wires.spans.shape[-2:]
    lead = past.natural.shape[:-2]
    R = math.prod(lead) * w
    hinges = holds.hinges

    def each(value: NDArray[Any], axes: int = 0) -> NDArray[Any]:
        """(w, ...) or (cases, w, ...), with so many axes after w, for every case."""
        inner = value.shape[value.ndim - axes :]
        return np.broadcast_to(value, (*lead, w, *inner)).reshape(R, *inner)

    none = np.full(w, np.inf)
    N_y = none if hinges is None else hinges.N_y
    y = moved.slopes
    if hinges is not None:
        y = np.concatenate([y, _by_plane(past.kink)], axis=-1)
    pull = past.pull.reshape(R, 2)
    limit = np.where(np.isnan(pull), each(holds.slip, 1), np.inf)
    high = np.repeat(each(N_y)[:, None], n, axis=1)
    low = np.zeros(high.shape)
    for end, span in ((0, 0), (1, n - 1)):
        on = ~np.isnan(pull[:, end])
        high[:, span] = np.minimum(high[:, span], limit[:, end])
        high[on, span] = np.minimum(high[on, span], pull[on, end])
        low[on, span] = np.maximum(low[on, span], pull[on, end])
    loose = past.unlaid.ravel()
    low[loose] = high[loose] = 0.0
    rows = Rows(
        e=(moved.elongation - past.natural).reshape(R, n),
        y=y.reshape(R, *y.shape[-2:]),
        flexibility=past.flexibility.reshape(R, n),
        low=low,
        high=high,
        grip=each(holds.grip, 1),
        travel=past.travel.reshape(R, n - 1, 2),
        EI=each(wires.EI),
        spans=each(wires.spans, 1),
        free=each(wires.free, 1),
        M_y=each(none if hinges is None else hinges.M_y),
        N_y=each(N_y),
        H=each(np.zeros(w) if hinges is None else hinges.H),
        spread=each(np.ones(w) if hinges is None else hinges.spread),
        turned=past.turned.reshape(R, 2 * n),
    )
    _check_pulls(wires, rows, pull)
    return rows


def _check_pulls(wires: Wires, rows: Rows, pull: Array) -> None:
    """Whether tensions between the bounds can pass the bone."""
    if np.isnan(pull).all():
        return
    least, most = rows.low[:, 0], rows.high[:, 0]
    bad = least > most * (1.0 + PULL_TOLERANCE)
    for i in range(1, rows.low.shape[1]):
        ahead, back = (
            np.where(np.isfinite(rows.travel[:, i - 1, j]), np.inf, rows.grip[:, i - 1])
            for j in range(2)
        )
        least = np.maximum(least - back, rows.low[:, i])
        most = np.minimum(most + ahead, rows.high[:, i])
        bad |= least > most * (1.0 + PULL_TOLERANCE)
    if bad.any():
        row = int(np.flatnonzero(bad)[0])
        name = wires.names[row % len(wires.names)]
        dials = " and ".join(
            f"{p:.6g} N at its {end}"
            for p, end in zip(pull[row], ("start", "end"), strict=True)
            if not np.isnan(p)
        )
        raise ModelError(
            f"wire {name!r}: a pull of {dials} cannot stand: the bone grips up to "
            f"{np.array2string(rows.grip[row], separator=', ')} N, and the tension may reach "
            f"{np.array2string(rows.high[row], separator=', ')} N in its spans. Pull less, make "
            "both pulls equal, or let the bone, an olive or the other clamp hold more.",
            part=name,
        )


def _by_plane(kink: Array) -> Array:
    """(..., S-1, 2, 2) [span, end, plane] → (..., 2, 2 (S-1))."""
    flat = kink.reshape(*kink.shape[:-3], -1, 2)
    return transpose(flat)
