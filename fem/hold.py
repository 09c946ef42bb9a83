"""What holds one wire of the general law, as the model's builder collects it."""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from math import inf

import numpy as np
from numpy.typing import NDArray

from fem.errors import ModelError
from fem.wire import Wires
from fem.wire_holds import Hinges, WireHolds


@dataclass(frozen=True)
class Hold:
    """One wire over S stations; see ``fem.wire_holds`` for the meaning.

    grip : (S-2,) N. slip : (start, end) N. travel : (S-2,) pairs (to the end, to the start), mm.
    hinges : of this wire alone (``fem.plastic_hinge.hinges``), None: elastic steel.
    """

    grip: tuple[float, ...]
    slip: tuple[float, float] = (inf, inf)
    travel: tuple[tuple[float, float], ...] = ()
    hinges: Hinges | None = None


@dataclass(frozen=True)
class HeldWires:
    """Wires of the general law: kinematics and holds."""

    wires: Wires
    holds: WireHolds

    def take(self, cases: NDArray[np.intp]) -> "HeldWires":
        """Of wires of several designs: some load cases."""
        return HeldWires(self.wires.take(cases), self.holds.each(lambda v: v[cases]))


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
    yields = [h.hinges for h in holds]
    return WireHolds(
        grip=np.array([h.grip for h in holds], float),
        slip=np.array([h.slip for h in holds], float),
        travel=travel.reshape(len(holds), stations - 2, 2),
        hinges=None if all(y is None for y in yields) else _stacked(yields),
    )


def _stacked(yields: Sequence[Hinges | None]) -> Hinges:
    """Hinges of all wires; those that stay elastic get an infinite strength."""
    elastic = Hinges(M_y=np.array(inf), N_y=np.array(inf), H=np.array(0.0), spread=np.array(1.0))
    every = [y or elastic for y in yields]
    return Hinges(
        *(
            np.array([float(np.asarray(getattr(y, f.name)).ravel()[0]) for y in every])
            for f in fields(Hinges)
        )
    )
