"""The scene of a checked frame for ``frames.picture``: parts where they were built and where a load
moves them.

Movement is drawn from where the frame was built or, when nuts were turned, from where it stood
before the load, so that what the nuts moved is not enlarged.
"""

from dataclasses import dataclass, replace

import numpy as np

from fem import node_displacements
from fem.algebra import Array
from fem.recovery import along_members
from fem.system import Response
from frames.caution import CAUTION
from frames.checking import Checked
from frames.gap import gap_directions
from frames.picture import Scene, Strand
from frames.pretension import Pretensioned
from frames.scene_members import member_strands, places_on
from frames.scene_wires import wire_strands

_LARGEST_DRAWN_MM = 12.0
_SCALES = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
_CLOSED_MM = 0.005


@dataclass(frozen=True)
class _Shown:
    """What is drawn: u (n,), the response that it belongs to and its load case there (() where the
    response has no axis of cases), and what it is in words."""

    u: Array
    response: Response
    case: tuple[int, ...]
    what: str


def frame_scene(checked: Checked, load: str | None = None) -> Scene:
    """Scene under one load (its name); by default the load that moves the gap most and leaves it
    open, or, when every load closes it, the one that moves it least; at pretension when there are
    no loads.

    Movement is enlarged in steps up to what can be told apart, and not so far that the drawn gap
    would close.
    """
    pre, bone = checked.pre, checked.pre.parts.construct.case.bone
    shown = _shown(checked, load)
    strands = _strands(pre, shown)
    if pre.parts.construct.case.nut_turn:
        rest = _strands(pre, _Shown(pre.u, pre.response, (), ""))
        strands = tuple(replace(s, points=r.moved) for s, r in zip(strands, rest, strict=True))
    magnification = _magnification(strands)
    width = bone.gap_mm - _closed_mm(pre, shown.u)
    return Scene(
        title=checked.result.title,
        side=checked.result.side,
        strands=strands,
        quantity="wire tension",
        unit="N",
        magnification=magnification,
        marks=(_gap_mark(strands, magnification, width),),
        notes=(shown.what, *_faces_note(shown), CAUTION),
    )


def _shown(checked: Checked, load: str | None) -> _Shown:
    """The load to draw."""
    result, pre = checked.result, checked.pre
    gap = pre.parts.construct.case.bone.gap_mm - _closed_mm(pre, pre.u)
    if load is None and result.loads:
        by_size = sorted(result.loads, key=lambda r: abs(r.closing_mm) + r.shear_mm)
        open_ones = [r for r in by_size if r.closing_mm < gap]
        load = (open_ones[-1] if open_ones else by_size[0]).name
    if load is None:
        return _Shown(pre.u, pre.response, (), "pretension, no load")
    axial = result.load(load).axial_N  # says which loads there are when this one is not among them
    assert checked.solution is not None
    i = [r.name for r in result.loads].index(load)
    what = f"load: {load}" + (f", {axial:.0f} N along the bone" if axial is not None else "")
    return _Shown(checked.solution.u[i], checked.solution.response, (i,), what)


def _closed_mm(pre: Pretensioned, u: Array) -> float:
    """How much narrower than in the case file the gap is at u (n,), mm."""
    axial = gap_directions(pre.parts, pre.system)[:, 2]
    return -float(axial @ (u - pre.gap_from))


def _strands(pre: Pretensioned, shown: _Shown) -> tuple[Strand, ...]:
    """Every part as built and as it stands at what is shown."""
    moved = node_displacements(pre.system, shown.u[None])[0]
    along = along_members(pre.parts.model, moved, places_on(pre.parts.model))
    return (
        *member_strands(pre.parts, along, moved),
        *wire_strands(pre.parts, moved, shown.response, shown.case),
    )


def _magnification(strands: tuple[Strand, ...]) -> float:
    """Largest step that keeps the drawing readable and the drawn gap open."""
    largest = max(float(np.linalg.norm(s.moved - s.points, axis=1).max()) for s in strands)
    lower, upper = (s for s in strands if s.kind == "bone")
    square = np.array(lower.cut or (0.0, 0.0, 1.0))  # to the faces, from distal to proximal
    gap, left = (
        float(square @ (b[0] - a[0]))
        for a, b in ((lower.points, upper.points), (lower.moved, upper.moved))
    )
    closing = gap - left
    fitting = [m for m in _SCALES if m * largest <= _LARGEST_DRAWN_MM]
    if gap > _CLOSED_MM:  # nuts may have closed it before
        fitting = [m for m in fitting if m * closing < gap]
    return max(fitting, default=1.0)


def _gap_mark(
    strands: tuple[Strand, ...], magnification: float, width: float
) -> tuple[tuple[float, float, float], str]:
    """Middle of the gap as it is drawn, and how wide it truly is along the bone."""
    bones = [s for s in strands if s.kind == "bone"]
    faces = [s.drawn(magnification)[0] for s in bones]  # strands of bone begin at the gap
    x, y, z = np.mean(faces, axis=0).tolist()
    return (x, y, z), f"gap {width:.1f} mm" if width > _CLOSED_MM else "gap closed"


def _faces_note(shown: _Shown) -> tuple[str, ...]:
    """What the picture does not show of fracture faces that may touch."""
    faces = shown.response.contacts
    if faces is None:
        return ()
    pressure = faces.pressure[shown.case]
    if not (pressure > 0.0).any():
        return ("fracture faces may touch; they do not here",)
    share = float((pressure > 0.0).mean())
    return (
        f"fracture faces touch at {share:.0%} of their points, pressed together by "
        f"{float(pressure.sum()):.0f} N",
    )
