"""An invented frame for the tests of pictures: four rings, rods, eight wires, a broken bone."""

import numpy as np

from frames.picture import Scene, Strand


def ring(name: str, level: float, moved_by) -> Strand:
    bearing = np.linspace(0.0, 2.0 * np.pi, 96, endpoint=False)
    points = np.stack([87.0 * np.cos(bearing), 87.0 * np.sin(bearing), 0 * bearing + level], axis=1)
    return Strand(name, "ring", points, moved_by(points), (14.0, 5.0), None, True)


def rod(name: str, low: float, high: float, bearing: float, moved_by) -> Strand:
    at = np.deg2rad(bearing)
    level = np.linspace(low - 12.0, high + 12.0, 9)
    points = np.stack([0 * level + 87.0 * np.cos(at), 0 * level + 87.0 * np.sin(at), level], axis=1)
    return Strand(name, "rod", points, moved_by(points), (6.0,))


def wire(name: str, level: float, bearing: float, tension: float, bone, frame) -> Strand:
    """Straight as built; under load its middle goes with the bone, its ends with the frame."""
    at = np.deg2rad(bearing)
    along = np.linspace(-87.0, 87.0, 41)
    points = np.stack([along * np.cos(at), along * np.sin(at), 0 * along + level], axis=1)
    share = np.clip((87.0 - np.abs(along)) / (87.0 - 13.0), 0.0, 1.0)[:, None]
    moved = share * bone(points) + (1.0 - share) * frame(points)
    return Strand(name, "wire", points, moved, (1.8,), np.full(41, tension))


def bone(name: str, low: float, high: float, moved_by) -> Strand:
    level = np.linspace(low, high, 12)
    points = np.stack([0 * level, 0 * level, level], axis=1)
    return Strand(name, "bone", points, moved_by(points), (26.0, 14.0))


def proximal_bone(points):
    """Sinks by 0.5 mm and leans a little backwards."""
    return points + np.array([0.0, 0.0, -0.5]) + 0.004 * points[:, 2:] * np.array([-1.0, 0.3, 0.0])


def proximal_frame(points):
    return points + np.array([0.0, 0.0, -0.12]) + 0.0006 * points[:, 2:] * np.array([-1.0, 0, 0])


def at_rest(points):
    return points


def scene(**changes) -> Scene:
    levels = {"R1": 140.0, "R2": 60.0, "R3": -60.0, "R4": -140.0}
    strands = []
    for name, level in levels.items():
        strands.append(ring(name, level, proximal_frame if level > 0 else at_rest))
    for pair, (low, high) in enumerate(((60.0, 140.0), (-60.0, 60.0), (-140.0, -60.0))):
        for k in range(4):
            moved = proximal_frame if low > 0 else at_rest
            strands.append(rod(f"T{pair}{k}", low, high, 45.0 + 90.0 * k, moved))
    for number, (level, bearing) in enumerate(
        (z + lift, b) for z in levels.values() for lift, b in ((3.4, 60.0), (-3.4, 120.0))
    ):
        holds, frame = (proximal_bone, proximal_frame) if level > 0 else (at_rest, at_rest)
        tension = 900.0 + 45.0 * number
        strands.append(wire(f"W{number + 1}", level, bearing, tension, holds, frame))
    strands.append(bone("proximal fragment", 2.0, 170.0, proximal_bone))
    strands.append(bone("distal fragment", -170.0, -2.0, at_rest))
    whole = dict(
        title="Tibia, four rings, eight wires",
        side="left",
        strands=tuple(strands),
        quantity="wire tension",
        unit="N",
        magnification=5.0,
        notes=(
            "Load: standing, 700 N along the line from knee to ankle.",
            "A calculation aid for trained people. It does not replace the judgement of the "
            "clinician in charge, who decides parts, tensions and weight bearing. "
            "Not a certified medical device.",
        ),
    )
    return Scene(**whole | changes)
