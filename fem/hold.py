"""What holds one wire of the general law, as the model's builder collects it."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from fem.errors import ModelError
from fem.wire import Wires
from fem.wire_holds import Hinges, WireHolds


@dataclass(frozen=True)
class Hold:
    """One wire over S stations; see ``fem.wire_holds`` for the meaning.

    grip : (S-2,) N. slip : (start, end) N. travel : (S-2,) pairs (to the end, to the start), mm.
    M_y (N·mm), N_y (N), H (N·mm/rad): plastic hinges; infinite M_y: elastic steel.
    """

    grip: tuple[float, ...]
    slip: tuple[float, float] = (inf, inf)
    travel: tuple[tuple[float, float], ...] = ()
    M_y: float = inf
    N_y: float = inf
    H: float = 0.0


@dataclass(frozen=True)
class HeldWires:
    """Wires of the general law: kinematics and holds."""

    wires: Wires
    holds: WireHolds


def make_holds(names: Sequence[str], stations: int, holds: Sequence[Hold]) -> WireHolds:
    """Stack the holds of wires that run over ``stations`` stations each."""
    for name, hold in zip(names, holds, strict=True):
        if len(hold.grip) != stations - 2 or len(hold.travel) not in (0, stations - 2):
            raise ModelError(
                f"wire {name!r}: has {stations - 2} inner stations, but grips for "
                f"{len(hold.grip)} and travels for {len(hold.travel)}.",
                part=name,
            )
    free = ((inf, inf),) * (stations - 2)
    travel = np.array([h.travel or free for h in holds], float)
    M_y = np.array([h.M_y for h in holds])
    hinges = None
    if np.isfinite(M_y).any():
        hinges = Hinges(M_y, np.array([h.N_y for h in holds]), np.array([h.H for h in holds]))
    return WireHolds(
        grip=np.array([h.grip for h in holds], float),
        slip=np.array([h.slip for h in holds], float),
        travel=travel.reshape(len(holds), stations - 2, 2),
        hinges=hinges,
    )
