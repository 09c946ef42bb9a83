"""The scene of a checked frame for ``frames.picture``: parts where they were built and where a load
moves them."""

import numpy as np

from fem import node_displacements
from fem.algebra import Array
from fem.recovery import Along, along_members
from fem.wire import WireState
from fem.wire_bending import span_deflection
from frames.caution import CAUTION
from frames.checking import Checked
from frames.construct import FRAGMENTS, rod_name
from frames.picture import Scene, Strand

_PER_ARC = 9
_PER_SPAN = 13
_LARGEST_DRAWN_MM = 12.0
_SCALES = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)


def frame_scene(checked: Checked, load: str | None = None) -> Scene:
    """Scene under one load (its name); by default the load that moves the gap most and leaves it
    open, or, when every load closes it, the one that moves it least; at pretension when there are
    no loads.

    Movement is enlarged in steps up to what can be told apart, and not so far that the drawn gap
    would close.
    """
    result, pre = checked.result, checked.pre
    names = [r.name for r in result.loads]
    gap = pre.parts.construct.case.bone.gap_mm
    if load is None and names:
        by_size = sorted(result.loads, key=lambda r: abs(r.closing_mm) + r.shear_mm)
        open_ones = [r for r in by_size if r.closing_mm < gap]
        load = (open_ones[-1] if open_ones else by_size[0]).name
    if load is None:
        u, response, what = pre.u[None], pre.response, "pretension, no load"
        state = response.wires[0]
        row: tuple[int, ...] = ()
    else:
        result.load(load)  # says which loads there are when this one is not among them
        assert checked.solution is not None
        i = names.index(load)
        u, state, row = checked.solution.u[i][None], checked.solution.response.wires[0], (i,)
        axial = result.loads[i].axial_N
        what = f"load: {load}" + (f", {axial:.0f} N along the bone" if axial is not None else "")
    moved = node_displacements(pre.system, u)[0]
    along = along_members(pre.parts.model, moved, _PER_ARC)
    strands = (
        *_members(checked, along),
        *_wires(checked, moved, state, row),
    )
    largest = max(float(np.linalg.norm(s.moved - s.points, axis=1).max()) for s in strands)
    closing = result.load(load).closing_mm if load is not None else 0.0
    fitting = [m for m in _SCALES if m * largest <= _LARGEST_DRAWN_MM and m * closing < gap]
    magnification = max(fitting, default=1.0)
    return Scene(
        title=result.title,
        side=result.side,
        strands=strands,
        quantity="wire tension",
        unit="N",
        magnification=magnification,
        marks=(_gap_mark(strands, magnification),),
        notes=(what, CAUTION),
    )


def _gap_mark(
    strands: tuple[Strand, ...], magnification: float
) -> tuple[tuple[float, float, float], str]:
    """Middle of the gap as it is drawn, and how wide it truly is along the bone."""
    bones = [s for s in strands if s.kind == "bone"]
    faces = [s.drawn(magnification)[0] for s in bones]  # strands of bone begin at the gap
    width = abs(float(bones[0].moved[0, 2] - bones[1].moved[0, 2]))
    x, y, z = np.mean(faces, axis=0).tolist()
    return (x, y, z), f"gap {width:.1f} mm"


def _members(checked: Checked, along: Along) -> list[Strand]:
    place = checked.pre.parts.construct
    parts = checked.pre.parts
    row = {name: i for i, name in enumerate(parts.model.members.names)}
    rows_of = {part: [row[n] for n in names] for part, names in parts.members.items()}
    strands = []

    def joined(rows: list[int]) -> tuple[Array, Array]:
        """Members one after the other, as points and displacements, joints once."""
        points: list[Array] = []
        shift: list[Array] = []
        for row in rows:
            skip = 1 if points else 0
            points += list(along.points[row][skip:])
            shift += list(along.displacement[row][skip:])
        return np.array(points), np.array(shift)

    def strand(
        name: str, kind: str, size: tuple[float, ...], rows: list[int], closed: bool
    ) -> Strand:
        points, shift = joined(rows)
        if closed:
            points, shift = points[:-1], shift[:-1]
        return Strand(name, kind, points, points + shift, size, None, closed)  # type: ignore[arg-type]

    for ring in place.rings:
        rows = rows_of["ring", ring.ring.name]
        if rows:
            size = (ring.ring.width_mm, ring.ring.thickness_mm)
            full = len(rows) == len(ring.angles)
            in_order = rows if full else _open(rows, ring.spans())
            strands.append(strand(ring.ring.name, "ring", size, in_order, full))
    for number, rod in enumerate(place.rods):
        name = rod_name(number, rod)
        size_ = (rod.rod.effective_diameter_mm,)
        strands.append(strand(name, "rod", size_, rows_of["rod", name], False))
    bone = (place.case.bone.outer_mm, place.case.bone.inner_mm)
    for fragment in FRAGMENTS:
        strands.append(strand(fragment, "bone", bone, rows_of["bone", fragment], False))
    return strands


def _open(rows: list[int], spans: list[tuple[int, int]]) -> list[int]:
    """Pieces of an open ring in order along it: the one after the opening first."""
    starts = {i for i, _ in spans}
    ends = {j for _, j in spans}
    first = next((k for k, (i, _) in enumerate(spans) if i not in ends), 0) if starts != ends else 0
    return rows[first:] + rows[:first]


def _wires(checked: Checked, moved: Array, state: WireState, row: tuple[int, ...]) -> list[Strand]:
    parts = checked.pre.parts
    wires = parts.model.wires[0]
    spans = wires.spans.shape[1]
    slopes = state.bending.slopes[row]  # (w, plane, z)
    chord, phi = slopes[..., :spans], slopes[..., spans:]
    t = np.linspace(0.0, 1.0, _PER_SPAN)
    strands = []
    for w, place in enumerate(parts.construct.wires):
        nodes = [
            parts.model.node(f"{place.wire.name} {s}")
            for s in ("start clamp", "start cortex", "end cortex", "end clamp")
        ]
        at = parts.model.points[nodes]
        shift = moved[nodes, :3]
        T = state.tension[row][w]
        points: list[Array] = []
        away: list[Array] = []
        for k in range(spans):
            line = at[k] + t[:, None] * (at[k + 1] - at[k])
            carried = shift[k] + t[:, None] * (shift[k + 1] - shift[k])
            bent = span_deflection(
                phi[w, :, k] - chord[w, :, k],
                phi[w, :, k + 1] - chord[w, :, k],
                np.full(2, T),
                np.full(2, wires.EI[w]),
                np.full(2, wires.spans[w, k]),
                t,
            )
            skip = 1 if points else 0
            points += list(line[skip:])
            away += list((carried + bent.T @ wires.across[w])[skip:])
        line = np.array(points)
        strands.append(
            Strand(
                place.wire.name,
                "wire",
                line,
                line + np.array(away),
                (place.wire.diameter_mm,),
                np.full(len(line), T),
                False,
            )
        )
    return strands
