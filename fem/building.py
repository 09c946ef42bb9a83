"""From collected parts to the model: nodes numbered in the order in which they were named."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.constraints import resolve_arms
from fem.contact import ContactPart, make_contacts
from fem.errors import ModelError
from fem.joint import JointPart, make_joints
from fem.late import make_late
from fem.model import Model, Springs
from fem.stacking import (
    ArcPart,
    BeamPart,
    WirePart,
    stack_chords,
    stack_held,
    stack_members,
    stack_wires,
)

SpringPart = tuple[str, str, str | None, Array]
"""Name, ends (None: the ground), stiffness (12, 12)."""


class Collected(NamedTuple):
    """Parts by name: nodes with their places (3,), arms slave → master, fixed freedoms by node."""

    nodes: Mapping[str, Array]
    beams: Sequence[BeamPart]
    arcs: Sequence[ArcPart]
    springs: Sequence[SpringPart]
    arms: Mapping[str, str]
    fixed: Mapping[str, set[int]]
    wires: Sequence[WirePart]
    joints: Sequence[JointPart]
    contacts: Sequence[ContactPart]

    @property
    def number(self) -> dict[str, int]:
        """Of each node."""
        return {name: i for i, name in enumerate(self.nodes)}


def ends_of(
    parts: Sequence[BeamPart] | Sequence[ArcPart], number: Mapping[str, int]
) -> list[tuple[int, int]]:
    """Node numbers of both ends."""
    return [(number[m.a], number[m.b]) for m in parts]


def pairs_of(
    parts: Sequence[JointPart] | Sequence[ContactPart], number: Mapping[str, int]
) -> NDArray[np.intp]:
    """(m, 2) node numbers of both sides of joints or contacts."""
    return np.array([(number[p.a], number[p.b]) for p in parts], dtype=np.intp).reshape(-1, 2)


def spring_ends(springs: Sequence[SpringPart], number: Mapping[str, int]) -> NDArray[np.intp]:
    """(s, 2) node numbers, -1 the ground."""
    ends = [(number[a], -1 if b is None else number[b]) for _, a, b, _ in springs]
    return np.array(ends, dtype=np.intp).reshape(-1, 2)


def stations_of(wires: Sequence[WirePart], number: Mapping[str, int]) -> list[list[int]]:
    """Node numbers along each wire."""
    return [[number[s] for s in w.stations] for w in wires]


def ideal_wires(wires: Sequence[WirePart]) -> list[list[WirePart]]:
    """Ideal wires in sets of equally many stations, fewest first."""
    ideal = [w for w in wires if w.hold is None]
    counts = sorted({len(w.stations) for w in ideal})
    return [[w for w in ideal if len(w.stations) == count] for count in counts]


def build_model(parts: Collected) -> Model:
    """Check and freeze.  Raises ``ModelError``."""
    names, number = tuple(parts.nodes), parts.number
    if not names:
        raise ModelError("the model has no nodes.")
    points = np.array(list(parts.nodes.values()))
    master, arm = resolve_arms(names, points, {number[s]: number[m] for s, m in parts.arms.items()})
    springs = Springs(
        tuple(s[0] for s in parts.springs),
        spring_ends(parts.springs, number),
        np.array([s[3] for s in parts.springs]).reshape(-1, 12, 12),
    )
    wires = tuple(
        stack_wires(own, np.array(stations_of(own, number), dtype=np.intp), points, master, arm)
        for own in ideal_wires(parts.wires)
    )
    general = [w for w in parts.wires if w.hold]
    straight = np.array(ends_of(parts.beams, number), dtype=np.intp).reshape(-1, 2)
    curved = np.array(ends_of(parts.arcs, number), dtype=np.intp).reshape(-1, 2)
    members = stack_members(parts.beams, parts.arcs, np.concatenate([straight, curved]), points)
    return Model(
        names=names,
        points=points,
        master=master,
        arm=arm,
        fixed=_fixed(parts, number),
        members=members,
        springs=springs,
        chords=stack_chords(parts.beams, straight, points, master, arm),
        wires=wires,
        held_wires=stack_held(general, stations_of(general, number), points, master, arm),
        joints=make_joints(parts.joints, pairs_of(parts.joints, number), master, arm),
        contacts=make_contacts(parts.contacts, pairs_of(parts.contacts, number), points, master),
        late=make_late(members, master, arm),
    )


def _fixed(parts: Collected, number: Mapping[str, int]) -> NDArray[np.bool_]:
    fixed = np.zeros((len(parts.nodes), 6), dtype=bool)
    for node, freedoms in parts.fixed.items():
        if node in parts.arms:
            raise ModelError(
                f"node {node!r} hangs on a rigid arm; support its master {parts.arms[node]!r}.",
                part=node,
            )
        fixed[number[node], sorted(freedoms)] = True
    return fixed
