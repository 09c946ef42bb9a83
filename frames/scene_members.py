"""What is drawn of rings, rods, bone, callus, half-pins and posts, and of the joints of rings in
halves.

Joints are marked, not drawn to scale (own choice): bolts by a bar across the ring, a hinge by a
barrel along the ring's axis. Where a clamp stands off its ring on nothing that gives, a thin bar
shows what holds it there.
"""

from dataclasses import dataclass, replace

import numpy as np

from fem import Model
from fem.algebra import Array
from fem.recovery import Along
from frames.construct import FRAGMENTS, rod_name
from frames.discretise import Discretised, Part
from frames.discretise_gap import fracture_normal
from frames.hold_places import PinPlace, WirePlace
from frames.picture import Strand
from frames.picture.scene import Kind
from frames.ring_nodes import RingPlace

_PER_PIECE = 9
_LARGEST_TURN = np.radians(9.0)
"""A ring is drawn by chords that turn no more than this."""

_BAR_MM = (2.0, 4.0)
"""A bar across a ring: how much its diameter exceeds the ring's thickness, its length the width."""
_BARREL_MM = 14.0
"""A hinge's barrel: how much its length exceeds the ring's thickness."""
_BARREL_SHARE = 0.7
"""A hinge's barrel: its diameter as a share of the ring's width."""
_ARM_MM = 3.0
"""Diameter of the bar that stands for a clamp that does not give."""
_ON_RING_MM = 1.0
"""A wire or pin no farther than this from a face of its ring lies on it."""


@dataclass(frozen=True)
class _Lines:
    """The lines of members: parts; along: their points and displacements; moved (n, 6): those of
    all nodes."""

    parts: Discretised
    along: Along
    moved: Array

    def rows(self, part: Part) -> list[int]:
        """Rows of a part's members in the model."""
        row = {name: i for i, name in enumerate(self.parts.model.members.names)}
        return [row[name] for name in self.parts.members[part]]

    def strand(
        self, name: str, kind: Kind, size: tuple[float, ...], rows: list[int], closed: bool = False
    ) -> Strand:
        """Members one after the other, places where they meet once."""
        points, shift = (
            np.concatenate([of[r][1 if k else 0 :] for k, r in enumerate(rows)])
            for of in (self.along.points, self.along.displacement)
        )
        if closed:
            points, shift = points[:-1], shift[:-1]
        return Strand(name, kind, points, points + shift, size, None, closed)

    def carried(
        self, name: str, kind: Kind, diameter: float, points: Array, at: Array, motion: Array
    ) -> Strand:
        """A straight mark with ends (2, 3), moved as a body with the motion (6,) of a place
        (3,)."""
        points = points[0] + np.linspace(0.0, 1.0, 5)[:, None] * (points[1] - points[0])
        shift = motion[:3] + np.cross(motion[3:], points - at)
        return Strand(name, kind, points, points + shift, (diameter,))


def places_on(model: Model) -> int:
    """Places along every member that draw it smooth."""
    return max(_PER_PIECE, 1 + int(np.ceil(model.members.shapes.angle.max() / _LARGEST_TURN)))


def member_strands(parts: Discretised, along: Along, moved: Array) -> list[Strand]:
    """Strands of all parts that are members, and of joints of rings.

    along : the members at ``places_on`` places. moved : (n, 6) displacements of the nodes.
    """
    lines, place = _Lines(parts, along, moved), parts.construct
    strands = []
    for ring in place.rings:
        strands += _ring(lines, ring)
    for number, rod in enumerate(place.rods):
        name = rod_name(number, rod)
        size = (rod.rod.effective_diameter_mm,)
        strands.append(lines.strand(name, "rod", size, lines.rows(("rod", name))))
    bone = place.case.bone
    cut = None
    if bone.contact is not None and bone.contact.obliquity_deg:
        x, y, z = fracture_normal(bone.contact, place.sign).tolist()
        cut = (x, y, z)
    for fragment in FRAGMENTS:
        size_ = (bone.outer_mm, bone.inner_mm)
        whole = lines.strand(fragment, "bone", size_, lines.rows(("bone", fragment)))
        strands.append(replace(whole, cut=cut))
    if ("callus", "callus") in parts.members:
        tube = bone.callus_tube[:2]
        strands.append(lines.strand("callus", "callus", tube, lines.rows(("callus", "callus"))))
    for pin in place.pins:
        rows = lines.rows(("pin", pin.pin.name))
        strands.append(lines.strand(pin.pin.name, "pin", (pin.pin.diameter_mm,), rows))
    for post in place.posts:
        rows = lines.rows(("post", post.clamp))
        strands.append(lines.strand(post.name, "post", (post.diameter_mm,), rows))
    for holder in place.holders:
        strands += _arms(lines, holder, place.ring(holder.part.ring))
    return strands


def _ring(lines: _Lines, place: RingPlace) -> list[Strand]:
    """A ring, whole or open, and marks where its halves are joined."""
    ring, rows = place.ring, lines.rows(("ring", place.ring.name))
    if not rows:
        return []
    full = len(rows) + len(place.joints) == len(place.angles)
    size = (ring.width_mm, ring.thickness_mm)
    in_order = rows if full else _open(rows, place.spans())
    strands = [lines.strand(ring.name, "ring", size, in_order, full)]
    for number, pair in enumerate(place.joints):
        nodes = [lines.parts.model.node(place.node_name(k)) for k in pair]
        at = place.point(pair[0])
        hinged = ring.halves == "hinged" and number == 0
        if hinged:
            diameter = _BARREL_SHARE * ring.width_mm
            half = 0.5 * (ring.thickness_mm + _BARREL_MM) * place.normal
        else:
            diameter = ring.thickness_mm + _BAR_MM[0]
            half = 0.5 * (ring.width_mm + _BAR_MM[1]) * place.outward(pair[0])
        strands.append(
            lines.carried(
                f"{ring.name} {'hinge' if hinged else 'joint'}",
                "hinge" if hinged else "joint",
                diameter,
                np.array([at - half, at + half]),
                at,
                lines.moved[nodes].mean(axis=0),
            )
        )
    return strands


def _open(rows: list[int], spans: list[tuple[int, int]]) -> list[int]:
    """Pieces of an open ring in order along it: the one after the opening first."""
    starts = {i for i, _ in spans}
    ends = {j for _, j in spans}
    first = next((k for k, (i, _) in enumerate(spans) if i not in ends), 0) if starts != ends else 0
    return rows[first:] + rows[:first]


def _arms(lines: _Lines, holder: WirePlace | PinPlace, ring: RingPlace) -> list[Strand]:
    """Bars from ring to clamp for clamps that stand off it without posts."""
    strands = []
    posts = {post.clamp for post in holder.posts}
    lying = 0.5 * (ring.ring.thickness_mm + holder.part.diameter_mm)
    for clamp, at in holder.clamps.items():
        height = float((at - ring.centre) @ ring.normal)
        if clamp in posts or abs(height) <= lying + _ON_RING_MM:
            continue
        foot = at - height * ring.normal
        motion = lines.moved[lines.parts.model.node(clamp)]
        points = np.array([foot, at])
        strands.append(lines.carried(f"arm of {clamp}", "arm", _ARM_MM, points, at, motion))
    return strands
