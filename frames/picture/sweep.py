"""Solid surfaces of parts: a section swept along a line, as quadrilaterals.

At each point of the line stand two unit vectors u and v across it, with (u, v, tangent)
right-handed. Outlines run anticlockwise in (u, v), so every quadrilateral's normal points out
of the solid. A ring keeps v along the normal of its own plane; on any other line u is carried
from point to point with the least turning, so that a round section does not twist.

Lines are cut into short pieces first: neither engine then shows a seam, and the painter, who
sorts whole faces by depth, has none so long that it belongs both in front and behind.
"""

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frames.picture.scene import TUBES, Floats, Strand

STEP = 4.0  # mm, longest piece of a line and longest edge of a flat section
SIDES = {
    **dict.fromkeys(("rod", "post", "arm", "pin", "joint"), 16),
    **dict.fromkeys(("bone", "callus"), 48),
    "wire": 12,
    "olive": 20,
    "hinge": 24,
}
BEAD = 2.5  # a bead is at least so many times as thick as the thinnest wire
BLUNT = 0.95  # share of an ellipsoid's half length at which the ends of a bead are cut off


@dataclass(frozen=True)
class Surface:
    """Closed surface of one part.

    corners : (p, 3) mm; quads : (k, 4) indices of corners, normal outwards (a quadrilateral may
    have two equal corners); ends : (k,) whether it is part of an end face; value : (p,) the scene's
    quantity, or None.
    """

    corners: Floats
    quads: NDArray[np.intp]
    ends: NDArray[np.bool_]
    value: Floats | None

    def normals(self) -> Floats:
        """(k, 3) unit outward normals of the quadrilaterals."""
        a, b, c, d = (self.corners[self.quads[:, i]] for i in range(4))
        normal = np.cross(c - a, d - b)
        length = np.linalg.norm(normal, axis=1, keepdims=True)
        return normal / np.where(length > 0.0, length, 1.0)


def surface(strand: Strand, line: Floats, diameter_at_least: float = 0.0) -> Surface:
    """Solid of ``strand`` swept along ``line``.

    line : (n, 3) mm, drawn positions of its points, in order.
    diameter_at_least : mm, thinnest that a wire is drawn, so that it stays visible; a bead is
        then enlarged as much more as it is thicker than its wire.
    """
    line, value = short_pieces(line, strand.value, strand.closed)
    u, v = across(line, strand.closed, planar=strand.kind == "ring")
    outline, hole = outlines(strand, diameter_at_least)
    shells = [outline] if hole is None else [outline, hole[::-1]]
    thick = bead(line) if strand.kind == "olive" else np.ones(len(line))
    corners: list[Floats] = []
    quads: list[NDArray[np.intp]] = []
    for shell in shells:
        start = sum(len(c) for c in corners)
        corners.append(slanted(strand, line, place(line, u, v, shell, thick)))
        quads.append(start + shell_quads(len(line), len(shell), strand.closed))
    if not strand.closed:
        inner = np.zeros_like(outline) if hole is None else hole
        for end, turned in ((0, True), (len(line) - 1, False)):
            start = sum(len(c) for c in corners)
            at = slice(end, end + 1)
            both = np.concatenate([outline, inner])
            cap = place(line[at], u[at], v[at], both, thick[at])
            corners.append(slanted(strand, line, cap, 1) if turned else cap)
            quads.append(start + cap_quads(len(outline), turned))
    points = np.concatenate(corners)
    of_corner = None
    if value is not None:
        sections = [np.repeat(value, len(shell)) for shell in shells]
        if not strand.closed:
            sections += [np.full(2 * len(outline), value[i]) for i in (0, -1)]
        of_corner = np.concatenate(sections)
    faces = np.concatenate(quads)
    ends = np.arange(len(faces)) >= sum(len(q) for q in quads[: len(shells)])
    return Surface(points, faces, ends, of_corner)


def short_pieces(line: Floats, value: Floats | None, closed: bool) -> tuple[Floats, Floats | None]:
    """``line`` (n, 3) and ``value`` (n,) with points put in, so that no piece is over STEP mm."""
    if closed and np.allclose(line[0], line[-1], rtol=0.0, atol=1e-9):
        line, value = line[:-1], None if value is None else value[:-1]
    if closed:
        line = np.concatenate([line, line[:1]])
        value = None if value is None else np.concatenate([value, value[:1]])
    length = np.linalg.norm(np.diff(line, axis=0), axis=1)
    pieces = np.maximum(1, np.ceil(length / STEP).astype(int))
    at = np.concatenate([i + np.arange(k) / k for i, k in enumerate(pieces)])
    if not closed:
        at = np.append(at, len(line) - 1.0)
    known = np.arange(len(line))
    finer = np.stack([np.interp(at, known, line[:, i]) for i in range(3)], axis=1)
    return finer, None if value is None else np.interp(at, known, value)


def across(line: Floats, closed: bool, planar: bool) -> tuple[Floats, Floats]:
    """Unit vectors u and v (n, 3 each) across ``line``, (u, v, tangent) right-handed."""
    if closed:
        tangent = np.roll(line, -1, axis=0) - np.roll(line, 1, axis=0)
    else:
        tangent = np.gradient(line, axis=0)
    tangent = unit(tangent)
    if planar:
        # the direction in which the points spread least is the normal of their plane
        normal = np.linalg.svd(line - line.mean(axis=0), full_matrices=False)[2][2]
        v = unit(normal - np.outer(tangent @ normal, np.ones(3)) * tangent)
        return np.cross(v, tangent), v
    u = np.empty_like(line)
    carried = np.eye(3)[np.argmin(np.abs(tangent[0]))]
    for i, t in enumerate(tangent):
        carried = unit(carried - (carried @ t) * t)
        u[i] = carried
    return u, np.cross(tangent, u)


def unit(vectors: Floats) -> Floats:
    return vectors / np.linalg.norm(vectors, axis=-1, keepdims=True)


def outlines(strand: Strand, diameter_at_least: float) -> tuple[Floats, Floats | None]:
    """Outline (m, 2) of the section in (u, v), mm, anticlockwise; and that of its hole, or None."""
    if strand.kind == "ring":
        return rectangle(*strand.size), None
    sides = SIDES[strand.kind]
    if strand.kind in TUBES:
        outer, inner = strand.size
        return circle(outer, sides), circle(inner, sides) if inner > 0.0 else None
    least = {"wire": 1.0, "olive": BEAD}.get(strand.kind, 0.0) * diameter_at_least
    return circle(max(strand.size[0], least), sides), None


def circle(diameter: float, sides: int) -> Floats:
    angle = 2.0 * np.pi * np.arange(sides) / sides
    return 0.5 * diameter * np.stack([np.cos(angle), np.sin(angle)], axis=1)


def rectangle(width: float, thickness: float) -> Floats:
    """Outline of width along u by thickness along v, cut into edges of at most STEP mm."""
    a, b = 0.5 * width, 0.5 * thickness
    corners = np.array([[a, -b], [a, b], [-a, b], [-a, -b], [a, -b]])
    edges = []
    for first, second in itertools.pairwise(corners):
        pieces = max(1, int(np.ceil(np.linalg.norm(second - first) / STEP)))
        part = np.arange(pieces)[:, None] / pieces
        edges.append(first + part * (second - first))
    return np.concatenate(edges)


def bead(line: Floats) -> Floats:
    """(n,) thickness of a bead along ``line`` (n, 3), 1 in its middle: an ellipsoid, ends cut."""
    length = np.append(0.0, np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1)))
    return np.asarray(np.sqrt(1.0 - (BLUNT * (2.0 * length / length[-1] - 1.0)) ** 2))


def slanted(strand: Strand, line: Floats, corners: Floats, sections: int | None = None) -> Floats:
    """``corners`` (k*m, 3) at the first k = ``sections`` points of ``line`` (n, 3), at all unless
    given, with the first end cut in the plane of the strand's ``cut``.

    With the normal c and the tangent t there, a corner at r from the line is shifted along t to
    c·(r + shift) = 0; farther on the shift fades, over twice the largest, so that no section
    overtakes the next.
    """
    if strand.cut is None:
        return corners
    way, normal = unit(line[1] - line[0]), np.array(strand.cut)
    at = line[:sections, None]
    slope = -(corners.reshape(len(at), -1, 3) - at) @ normal / (normal @ way)
    far = (at[:, 0] - line[0]) @ way / max(2.0 * float(np.abs(slope).max()), 1e-9)
    shift = slope * np.clip(1.0 - far, 0.0, 1.0)[:, None]
    return np.asarray(corners + (shift[..., None] * way).reshape(-1, 3))


def place(line: Floats, u: Floats, v: Floats, outline: Floats, thick: Floats) -> Floats:
    """(n*m, 3) corners of ``outline`` (m, 2) at every point of ``line`` (n, 3), ``thick`` (n,)
    times as large.
    """
    u, v = u * thick[:, None], v * thick[:, None]
    corners = line[:, None] + outline[None, :, :1] * u[:, None] + outline[None, :, 1:] * v[:, None]
    return corners.reshape(-1, 3)


def shell_quads(sections: int, sides: int, closed: bool) -> NDArray[np.intp]:
    i = np.arange(sections if closed else sections - 1)[:, None]
    j = np.arange(sides)[None, :]
    i_next, j_next = (i + 1) % sections, (j + 1) % sides
    ring = [
        i * sides + j,
        i * sides + j_next,
        i_next * sides + j_next,
        i_next * sides + j,
    ]
    return np.stack(ring, axis=-1).reshape(-1, 4)


def cap_quads(sides: int, turned: bool) -> NDArray[np.intp]:
    """End face between an outline (first ``sides`` corners) and the hole or the centre."""
    j = np.arange(sides)
    j_next = (j + 1) % sides
    quads = np.stack([j, j_next, sides + j_next, sides + j], axis=1)
    return quads[:, ::-1] if turned else quads
