"""Wires of the general law, one or several alike, with their holds and histories."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fem.held_wire import HeldState, held_state
from fem.wire_holds import Hinges, WireHistory, WireHolds, lay, lock, next_history, start
from fem.wire_path import Wires, make_wires
from tests.fem.wire_models import stiffnesses

Array = NDArray[np.float64]
INF = np.inf


def holds_of(
    S: int,
    *,
    grip: float | tuple[float, ...] = 0.0,
    slip: float | tuple[float, float] = INF,
    travel: Array | None = None,
    hinges: Hinges | None = None,
) -> WireHolds:
    """Holds of one wire; travel (S-2, 2) of olives, none when not given."""
    far = np.full((S - 2, 2), INF) if travel is None else travel
    return WireHolds(
        grip=np.broadcast_to(np.asarray(grip, dtype=float), (1, S - 2)).copy(),
        slip=np.broadcast_to(np.asarray(slip, dtype=float), (1, 2)).copy(),
        travel=np.asarray(far, dtype=float)[None],
        hinges=hinges,
    )


def straight_wire(stations: list[float], turns: str = "", diameter: float = 1.8) -> Wires:
    """One wire along x with nodes on it; turns: "b" or "p" a station, all built in if not given."""
    S = len(stations)
    EA, EI = stiffnesses(diameter)
    points = np.zeros((1, S, 3))
    points[0, :, 0] = stations
    held = np.array([[t == "b" for t in turns or "b" * S]])
    return make_wires(
        ("wire",),
        np.arange(S)[None],
        points,
        np.zeros((1, S, 3)),
        held,
        np.array([EA]),
        np.array([EI]),
    )


@dataclass(frozen=True)
class Held:
    """A wire that remembers: ``at`` answers, ``go`` returns the wire after the step to q."""

    wires: Wires
    holds: WireHolds
    history: WireHistory

    def at(self, q: Array, *, with_tangent: bool = True) -> HeldState:
        return held_state(self.wires, self.holds, q, self.history, with_tangent=with_tangent)

    def go(self, q: Array) -> "Held":
        return replace(self, history=next_history(self.wires, self.at(q), self.history))

    def pull(self, start_N: float, end_N: float) -> "Held":
        """Tensioners on; nan: that end is clamped."""
        return replace(
            self, history=self.history.pulled(np.array([True]), np.array([[start_N, end_N]]))
        )

    def lock(self, q: Array) -> "Held":
        state = self.at(q)
        all_of_them = np.array([True])
        return replace(self, history=lock(self.wires, state, self.history, all_of_them))


def laid(wires: Wires, holds: WireHolds, q: Array | None = None) -> Held:
    """Laid without tension or slack at q, or as built."""
    history = start(wires, holds)
    q = np.zeros((len(wires.names), 6 * wires.nodes.shape[1])) if q is None else q
    state = held_state(wires, holds, q, history, with_tangent=False)
    every = np.ones(len(wires.names), dtype=bool)
    return Held(wires, holds, lay(wires, holds, state, history, every))


def smooth_then(wires: Wires, holds: WireHolds, q: Array, tension: float) -> Held:
    """Tensioned while the bone does not hold it, so that it rests in the middle of its grip; an
    olive sits where ``holds`` says.
    """
    free = WireHolds(
        np.zeros_like(holds.grip), np.full_like(holds.slip, INF), np.full_like(holds.travel, INF)
    )
    held = tensioned_at(wires, free, q, tension)
    history = replace(held.history, travel=np.broadcast_to(holds.travel, held.history.travel.shape))
    return Held(wires, holds, history)


def tensioned_at(
    wires: Wires, holds: WireHolds, q: Array, start_N: float, end_N: float = np.nan
) -> Held:
    """Laid, pulled and locked at q."""
    return laid(wires, holds, q).pull(start_N, end_N).lock(q)


def regimes(state: HeldState) -> tuple[list[int], list[int], list[int]]:
    return state.spans[0].tolist(), state.stations[0].tolist(), state.clamps[0].tolist()


def olive(*, towards_end: float = INF, towards_start: float = INF, station: int = 0) -> Array:
    """(2, 2) travel of an olive at one of two cortices."""
    travel = np.full((2, 2), INF)
    travel[station] = towards_end, towards_start
    return travel


def pushed(held: Held, F: float) -> Array:
    """Newton on the one freedom "station 1 across": its displacement under F."""
    q = np.zeros((1, 18))
    at = 6 + 1
    for _ in range(200):
        state = held.at(q)
        residual = F - state.gradient[0, at]
        if abs(residual) < 1e-9:
            return q
        q[0, at] += np.clip(residual / state.tangent[0, at, at], -0.5, 0.5)
    raise AssertionError("no equilibrium")
