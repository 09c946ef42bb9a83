"""Half-pins, posts, and how bone holds a pin.

A pin is a beam of its round section from its clamp to the middle of the near cortex's wall and,
when it holds in the far cortex too, on to the middle of that one's. Each cortex that it engages is
an elastic foundation along the thickness t of the wall: a millimetre of wall gives back, per
millimetre of sideways movement, a force of the order of its own modulus E_bone (own
simplification). Spread evenly over t that makes, about the middle of the wall,

    translations      E_bone t                      N/mm, in every direction
    rotations across  E_bone ∫ x² dx = E_bone t³/12  N·mm/rad
    about the pin     E_bone t (d/2)²               N·mm/rad, the thread's grip at its radius d/2

as springs between the pin's node and one at the same place on a rigid arm from the bone's axis.
Half or twice the modulus changes the six stiffnesses of a frame of two pins of 6 mm and two wires
by 0.7 % at most when the pins hold in both cortices; with one cortex each, by 9 % in torsion and
5 % at most in the others (``tests/frames/test_pins.py``). Clamps hold a pin rigidly, unless they
stand on posts: a frame on pins comes out as stiff as it can be.

A post is a cantilever of a solid round section, stainless steel, from the hole in the ring's
mid-plane to the clamp.
"""

import numpy as np

from fem import Material, ModelBuilder, solid_circle
from fem.algebra import Array
from frames.casefile.bone import Bone
from frames.casefile.lines import wall_mm
from frames.hold_places import PinPlace, PostPlace
from frames.sizes import DEFAULT_MATERIAL, MATERIALS


def add_post(build: ModelBuilder, post: PostPlace, ring_node: str) -> str:
    """The clamp's node on a post that stands on a ring's node; the name of the post's member."""
    steel = MATERIALS[DEFAULT_MATERIAL]
    foot = build.node(f"{post.name}, foot", post.points[0])
    build.arm(foot, ring_node)
    build.node(post.clamp, post.points[1])
    section = solid_circle(post.diameter_mm, steel.nu, post.name)
    build.beam(post.name, foot, post.clamp, section, Material(steel.E_MPa, steel.nu, post.name))
    return post.name


def pin_members(place: PinPlace) -> tuple[str, ...]:
    """Names of a pin's members, from the clamp inwards."""
    name = place.pin.name
    return (f"pin {name}, clamp to bone", f"pin {name}, in the bone")[: len(place.names) - 1]


def add_pin(build: ModelBuilder, place: PinPlace, bone: Bone, bone_node: str) -> tuple[str, ...]:
    """A pin from its clamp's node, which is there already, into the bone; names of its members."""
    pin = place.pin
    E, nu = pin.elastic
    section = solid_circle(pin.diameter_mm, nu, f"pin {pin.name}")
    material = Material(E, nu, f"pin {pin.name}")
    hold = cortex_hold(bone, pin.diameter_mm, place.direction)
    for name, at in zip(place.names[1:], place.stations[1:], strict=True):
        build.node(name, at)
        wall = build.node(f"{name}, wall", at)
        build.arm(wall, bone_node)
        build.spring(f"{name}, hold", wall, name, hold)
    members = pin_members(place)
    for k, member in enumerate(members):
        build.beam(member, place.names[k], place.names[k + 1], section, material)
    return members


def cortex_hold(bone: Bone, diameter_mm: float, direction: Array) -> Array:
    """(6, 6) stiffness with which one cortex holds a pin; direction (3,) unit, along it."""
    t, E = wall_mm(bone), bone.E_MPa
    along = np.outer(direction, direction)
    out = np.zeros((6, 6))
    out[:3, :3] = E * t * np.eye(3)
    out[3:, 3:] = E * t**3 / 12.0 * (np.eye(3) - along) + E * t * (diameter_mm / 2.0) ** 2 * along
    return out
