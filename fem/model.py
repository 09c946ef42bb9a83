"""The model: nodes with six freedoms, members, springs, rigid arms, wires, supports; all by name.

Build with ``fem.builder.ModelBuilder`` and read back as a frozen ``Model``. Units N, mm, MPa, rad;
global axes; freedoms of a node in the order ux, uy, uz, rx, ry, rz.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.chord import Chords
from fem.contact import Contacts
from fem.errors import ModelError
from fem.hold import HeldWires
from fem.joint import Joints
from fem.late import LateMembers
from fem.member import Members
from fem.wire import Wires

FREEDOMS = ("ux", "uy", "uz", "rx", "ry", "rz")


@dataclass(frozen=True)
class Springs:
    """names (s,), ends (s, 2) node numbers (-1: ground), stiffness (s, 12, 12)."""

    names: tuple[str, ...]
    ends: NDArray[np.intp]
    stiffness: Array


@dataclass(frozen=True)
class Model:
    """Frozen model. names (n,), points (n, 3) mm, master (n,) and arm (n, 3) of every node (itself
    and 0 when free), fixed (n, 6) supported freedoms, members, springs, chords of the columns,
    ideal wires (one set per number of stations), wires of the general law (None: there are none),
    joints with play, contact points, members that join later.
    """

    names: tuple[str, ...]
    points: Array
    master: NDArray[np.intp]
    arm: Array
    fixed: NDArray[np.bool_]
    members: Members
    springs: Springs
    chords: Chords
    wires: tuple[Wires, ...]
    held_wires: HeldWires | None
    joints: Joints
    contacts: Contacts
    late: LateMembers

    def node(self, name: str) -> int:
        """Number of the node called ``name``."""
        try:
            return self.names.index(name)
        except ValueError:
            raise ModelError(f"no node is called {name!r}.", part=name) from None
