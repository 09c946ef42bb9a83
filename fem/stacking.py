"""Parts that a model's builder has collected, stacked to the arrays of the model.

Ends and stations are node numbers; points (n, 3) mm the places of all nodes, master (n,) and arm
(n, 3) mm from it see ``fem.constraints``. The parts of several designs, whose nodes are numbered
one design after the other, stack in the same way (``fem.side_by_side``).
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fem.algebra import Array
from fem.arc import arc_end_flexibility, check_arcs
from fem.beam import beam_end_flexibility, beam_frames
from fem.chord import Chords, make_chords
from fem.errors import ModelError
from fem.hold import HeldWires, Hold, make_holds
from fem.materials import Material
from fem.member import Members, Shapes
from fem.sections import Section, section_flexibility
from fem.wire import Wires, make_wires


class BeamPart(NamedTuple):
    name: str
    a: str
    b: str
    section: Section
    material: Material
    up: Array | None
    column: bool
    axial: float | None
    ends: Array
    late: bool


class ArcPart(NamedTuple):
    name: str
    a: str
    b: str
    section: Section
    material: Material
    centre: Array
    axis: Array


class WirePart(NamedTuple):
    name: str
    stations: tuple[str, ...]
    turns: tuple[bool, ...]
    EA: float
    EI: float
    hold: Hold | None


def stack_members(
    straight: Sequence[BeamPart],
    curved: Sequence[ArcPart],
    ends: NDArray[np.intp],
    points: Array,
) -> Members:
    """Members in order, straight ones first; ends (m, 2)."""
    names = [*(m.name for m in straight), *(m.name for m in curved)]
    made_of = [
        *((m.section, m.material) for m in straight),
        *((m.section, m.material) for m in curved),
    ]
    A, B = points[ends[:, 0]], points[ends[:, 1]]
    n, count = len(straight), len(names)
    f = _flexibilities(made_of)
    F, frame = np.zeros((count, 6, 6)), np.zeros((count, 3, 3))
    length, angle = np.linalg.norm(B - A, axis=-1), np.zeros(count)
    centre, axis = np.zeros((count, 3)), np.zeros((count, 3))
    joints = np.full((count, 2), np.inf)
    if straight:
        joints[:n] = [m.ends for m in straight]
        frame[:n] = beam_frames(A[:n], B[:n], [m.up for m in straight], names[:n])
        for i, m in enumerate(straight):
            if m.axial is not None:  # spread evenly along it, for recovery
                f[i, 0] = 1.0 / (m.axial * length[i])
        F[:n] = beam_end_flexibility(length[:n], frame[:n], f[:n])
    if curved:
        centre[n:], axis[n:] = [m.centre for m in curved], [m.axis for m in curved]
        angle[n:] = _angles(centre[n:], axis[n:], A[n:], B[n:], names[n:])
        out = A[n:] - centre[n:]
        radius = np.linalg.norm(out, axis=-1)
        length[n:] = radius * angle[n:]
        out = out / radius[:, None]
        frame[n:] = np.stack([np.cross(axis[n:], out), out, axis[n:]], axis=1)
        F[n:] = arc_end_flexibility(centre[n:], axis[n:], A[n:], angle[n:], f[n:])
    sections = tuple(section for section, _ in made_of)
    shapes = Shapes(sections, f, frame, length, angle, centre, axis)
    late = np.array([*(m.late for m in straight), *(False for _ in curved)], dtype=bool)
    return Members(tuple(names), ends, F, B - A, joints, late, shapes)


def _flexibilities(made_of: Sequence[tuple[Section, Material]]) -> Array:
    """(m, 6) of sections, each worked out once: many members share one."""
    number: dict[tuple[int, int], int] = {}
    rows = [number.setdefault((id(s), id(m)), len(number)) for s, m in made_of]
    first = {row: i for i, row in reversed(list(enumerate(rows)))}
    each = [section_flexibility(*made_of[first[row]]) for row in range(len(number))]
    return np.array(each).reshape(-1, 6)[rows]


def stack_chords(
    beams: Sequence[BeamPart],
    ends: NDArray[np.intp],
    points: Array,
    master: NDArray[np.intp],
    arm: Array,
) -> Chords:
    """Chords of the beams that are columns; ends (b, 2) of all beams."""
    columns = [m for m in beams if m.column]
    ends = ends[[m.column for m in beams]]
    reach = points[ends[:, 1]] - points[ends[:, 0]]
    EA = np.array([m.material.E * m.section.area for m in columns])
    k = EA / np.linalg.norm(reach, axis=-1)
    telescopes = [i for i, m in enumerate(columns) if m.axial is not None]
    k[telescopes] = [m.axial for m in columns if m.axial is not None]
    return make_chords(tuple(m.name for m in columns), master[ends], arm[ends], reach, k)


def stack_wires(
    chosen: Sequence[WirePart],
    nodes: NDArray[np.intp],
    points: Array,
    master: NDArray[np.intp],
    arm: Array,
) -> Wires:
    """Wires that run over equally many stations, nodes (w, S)."""
    return make_wires(
        tuple(w.name for w in chosen),
        master[nodes],
        points[nodes],
        arm[nodes],
        np.array([w.turns for w in chosen], dtype=bool),
        np.array([w.EA for w in chosen], dtype=float),
        np.array([w.EI for w in chosen], dtype=float),
    )


def stack_held(
    wires: Sequence[WirePart],
    stations: Sequence[Sequence[int]],
    points: Array,
    master: NDArray[np.intp],
    arm: Array,
) -> HeldWires | None:
    """Wires of the general law over their stations, None without any."""
    if not wires:
        return None
    count = len(wires[0].stations)
    for w in wires:
        if len(w.stations) != count:
            raise ModelError(
                f"wire {w.name!r}: runs over {len(w.stations)} stations and {wires[0].name!r} "
                f"over {count}; all wires with a hold must run over equally many.",
                part=w.name,
            )
    holds = make_holds([w.name for w in wires], count, [w.hold for w in wires if w.hold])
    nodes = np.array(stations, dtype=np.intp)
    return HeldWires(stack_wires(wires, nodes, points, master, arm), holds)


def _angles(centre: Array, axis: Array, a: Array, b: Array, names: list[str]) -> Array:
    """(m,) rad in (0, 2π): turn from a to b about the axis; both must lie on one circle."""
    ra, rb = a - centre, b - centre
    angle = np.arctan2(np.sum(np.cross(ra, rb) * axis, axis=-1), np.sum(ra * rb, axis=-1))
    angle = np.where(angle <= 0.0, angle + 2.0 * np.pi, angle)
    check_arcs(centre, axis, a, angle, names)
    radius = np.linalg.norm(ra, axis=-1)
    off = np.abs(radius - np.linalg.norm(rb, axis=-1))
    for i in np.flatnonzero((off > 1e-6 * radius) | (np.abs(np.sum(rb * axis, axis=-1)) > 1e-6)):
        raise ModelError(
            f"arc {names[i]!r}: its end does not lie on its circle (off by {off[i]:.3g} mm).",
            part=names[i],
        )
    return np.asarray(angle)
