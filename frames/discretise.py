"""From places to the finite-element model, names kept from part to element.

Rings: arcs between neighbouring attachments (``frames.discretise_ring``).  Rods: beams between the
rings they join, hung on the rings by rigid arms from the section's centre line to the hole circle.
Bone: two tubes, nodes at the faces of the gap, at each wire's and pin's level and at the ends.
Wires: four stations, the clamps on arms from their rings or on posts, the cortices on arms from the
bone's axis.  Pins and posts: ``frames.discretise_pins``; callus and contact:
``frames.discretise_gap``.  Nothing is supported here: how the bone is held belongs to the load
(``frames.supports``).

A rod is one continuous bar: its hinges or conical washers are at its two ends, on the outermost
rings that it goes through, and it is held straight by those between. A telescopic rod's axial
stiffness is that of each piece between neighbouring rings.
"""

from dataclasses import dataclass
from itertools import pairwise
from math import inf, pi

from fem import Material, Model, ModelBuilder, solid_circle, tube
from frames.construct import (
    FRAGMENTS,
    STATIONS,
    Construct,
    bone_levels,
    rod_name,
)
from frames.discretise_gap import add_gap
from frames.discretise_pins import add_pin, add_post
from frames.discretise_ring import add_ring
from frames.hold_places import PinPlace, WirePlace, attachment
from frames.holding import hold_of

POINTS = ("knee", "proximal face", "distal face", "ankle")
"""Named points of the bone's axis: its ends and the centres of the fracture faces."""


Part = tuple[str, str]
"""Kind ("ring", "rod", "bone", "pin", "post" or "callus") and name."""


@dataclass(frozen=True)
class Discretised:
    """model; ``owner``: node name → part ("ring R1", "proximal fragment"); ``wire_names`` in the
    model's order; ``point_node``: named point → node; ``members``: (kind, name) of a ring, rod,
    bone fragment, pin, post or the callus → its members in order along it; ``pin_names`` in the
    case file's order."""

    construct: Construct
    model: Model
    owner: dict[str, str]
    wire_names: tuple[str, ...]
    point_node: dict[str, str]
    members: dict[Part, tuple[str, ...]]
    pin_names: tuple[str, ...] = ()


@dataclass(frozen=True)
class LaidOut:
    """A construct as parts of a model that is still to be built; fields as ``Discretised``."""

    construct: Construct
    build: ModelBuilder
    owner: dict[str, str]
    wire_names: tuple[str, ...]
    point_node: dict[str, str]
    members: dict[Part, tuple[str, ...]]
    pin_names: tuple[str, ...]


def discretise(place: Construct) -> Discretised:
    """Build the model of a construct."""
    return built_from(lay_out(place))


def built_from(laid: LaidOut) -> Discretised:
    """Build the model."""
    return Discretised(
        laid.construct,
        laid.build.build(),
        laid.owner,
        laid.wire_names,
        laid.point_node,
        laid.members,
        laid.pin_names,
    )


def lay_out(place: Construct) -> LaidOut:
    """Nodes, members and wires of a construct by name."""
    build = ModelBuilder()
    owner: dict[str, str] = {}
    members: dict[Part, tuple[str, ...]] = {}
    for ring in place.rings:
        members["ring", ring.ring.name] = add_ring(build, ring, owner)
    members |= _rods(build, place)
    points: dict[str, str] = {}
    for fragment in FRAGMENTS:
        points |= _fragment(build, place, fragment, owner, members)
    callus = add_gap(build, place, points["distal face"], points["proximal face"])
    if callus:
        members["callus", "callus"] = callus
    for w in place.wires:
        _wire(build, place, w)
    return LaidOut(
        place,
        build,
        owner,
        tuple(w.wire.name for w in place.wires),
        points,
        members,
        tuple(p.pin.name for p in place.pins),
    )


def _wire(build: ModelBuilder, place: Construct, w: WirePlace) -> None:
    """Hand a wire to the model; its stations are there already."""
    hold = (w.wire.bone_hold or place.case.model.bone_hold) == "built in"
    E, _ = w.wire.elastic
    d = w.wire.diameter_mm
    build.wire(
        w.wire.name,
        [attachment(w.wire.name, s) for s in STATIONS],
        (True, hold, hold, True),
        EA=E * pi * d**2 / 4.0,
        EI=E * pi * d**4 / 64.0,
        hold=hold_of(w.wire, place.case),
    )


def _rods(build: ModelBuilder, place: Construct) -> dict[Part, tuple[str, ...]]:
    members: dict[Part, tuple[str, ...]] = {}
    ring_place = {r.ring.name: r for r in place.rings}
    for number, r in enumerate(place.rods):
        name = rod_name(number, r)
        section = solid_circle(r.rod.effective_diameter_mm, r.rod.elastic[1], name)
        material = Material(E=r.rod.elastic[0], nu=r.rod.elastic[1], name=name)
        nodes = []
        for ring, point in zip(r.rings, r.points, strict=True):
            here = attachment(name, f"in {ring}")
            nodes.append(build.node(here, point))
            build.arm(here, ring_place[ring].holder(here))
        pieces = [f"{name}, {a} to {b}" for a, b in pairwise(r.rings)]
        for k, (piece, (a, b)) in enumerate(zip(pieces, pairwise(nodes), strict=True)):
            ends = (
                r.rod.end_stiffness if k == 0 else inf,
                r.rod.end_stiffness if k == len(pieces) - 1 else inf,
            )
            axial = r.rod.axial_N_per_mm
            build.beam(piece, a, b, section, material, column=True, axial=axial, ends=ends)
        members["rod", name] = tuple(pieces)
    return members


def _fragment(
    build: ModelBuilder,
    place: Construct,
    fragment: str,
    owner: dict[str, str],
    members: dict[Part, tuple[str, ...]],
) -> dict[str, str]:
    """A fragment with what holds it; named points of the bone → nodes."""
    bone = place.case.bone
    levels, node_of = bone_levels(place, fragment)
    nodes = [
        build.node(f"{fragment} at {level:.2f} mm ({i + 1})", (0.0, 0.0, level))
        for i, level in enumerate(levels)
    ]
    owner |= dict.fromkeys(nodes, fragment)
    section = tube(bone.outer_mm, bone.inner_mm, bone.nu, fragment)
    material = Material(E=bone.E_MPa, nu=bone.nu, name=fragment)
    names = [
        f"{fragment} from {levels[i]:.2f} to {levels[i + 1]:.2f} mm ({i + 1})"
        for i in range(len(nodes) - 1)
    ]
    for i, name in enumerate(names):
        build.beam(name, nodes[i], nodes[i + 1], section, material, column=True)
    members["bone", fragment] = tuple(names)
    for w in place.wires:
        if w.fragment != fragment:
            continue
        for k in (1, 2):
            cortex = build.node(attachment(w.wire.name, STATIONS[k]), w.stations[k])
            build.arm(cortex, nodes[node_of[w.wire.name]])
        _clamps(build, place, w, members)
    for p in place.pins:
        if p.fragment != fragment:
            continue
        _clamps(build, place, p, members)
        own = add_pin(build, p, bone, nodes[node_of[p.pin.name]])
        members["pin", p.pin.name] = own
    face, end = ("proximal face", "knee") if fragment == FRAGMENTS[1] else ("distal face", "ankle")
    return {face: nodes[0], end: nodes[-1]}


def _clamps(
    build: ModelBuilder,
    place: Construct,
    holder: WirePlace | PinPlace,
    members: dict[Part, tuple[str, ...]],
) -> None:
    """Clamps of a wire or pin, on their ring or on posts."""
    ring = place.ring(holder.part.ring)
    posts = {post.clamp: post for post in holder.posts}
    for clamp, at in holder.clamps.items():
        if clamp in posts:
            post = posts[clamp]
            members["post", clamp] = (add_post(build, post, ring.holder(clamp)),)
        else:
            build.node(clamp, at)
            build.arm(clamp, ring.holder(clamp))
