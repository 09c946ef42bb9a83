"""A mechanism in words: which part can move how, and what would stop it.

The kernel gives free motions as displacements of nodes.  For each part (fragment, ring) the rigid
motion nearest to its nodes' displacements is taken, against the motion of the rings on the whole,
or of one of them when they come apart; the part that moves most is named. With several free motions
the space of that part's motions is put in simplest form: pure shifts first, then turns.
"""

import numpy as np

from fem import MechanismError
from fem.algebra import Array, skew
from frames.construct import FRAGMENTS, Construct
from frames.discretise import Discretised
from frames.wire_line import bearing_about

_SMALL = 1e-4


def explained(error: MechanismError, parts: Discretised) -> MechanismError:
    """The same error in words of the frame."""
    if not error.motions:
        return error
    part, motions, centre = _culprit(error.motions, parts)
    ways = _simplest(motions, parts.model.points.std())
    words = " and ".join(_way(w, centre, parts.construct) for w in ways)
    if part in FRAGMENTS:
        held = f"It is held by {_held_by(parts.construct, part)}. "
        advice = (
            "Add a wire that crosses these, at another level if it turns, or hold the bone on "
            "another ring."
        )
    else:
        held, advice = "", "Join it to its neighbours with more rods, at different bearings."
        if any(r.rod.end_stiffness == 0.0 and _joins(r.rings, part) for r in parts.construct.rods):
            advice = "Join it to its neighbours with rods whose ends are fixed, or with struts."
    return MechanismError(
        f"{part[0].upper()}{part[1:]} is free to move ({error.state}): it can {words}. "
        f"{held}{advice}",
        motions=error.motions,
        state=error.state,
    )


def _joins(rings: tuple[str, ...], part: str) -> bool:
    return any(part == f"ring {name}" for name in rings)


def _held_by(place: Construct, fragment: str) -> str:
    """Number and names of the wires and pins of a fragment: ``2 wires (W1, W2) and 1 pin (P1)``."""
    found = {
        "wire": [w.wire.name for w in place.wires if w.fragment == fragment],
        "pin": [p.pin.name for p in place.pins if p.fragment == fragment],
    }
    return " and ".join(
        f"{len(names)} {kind}{'s' if len(names) != 1 else ''} ({', '.join(names)})"
        for kind, names in found.items()
        if names
    )


def _culprit(motions: list[dict[str, Array]], parts: Discretised) -> tuple[str, Array, Array]:
    """Part that moves most against the rings; its (k, 6) motions about its centre (3,).

    When the rings themselves come apart, it is the ring that moves most against that one which
    moves with the most others.
    """
    known = set(motions[0])
    bodies: dict[str, list[str]] = {}
    for node, body in parts.owner.items():
        if node in known:
            bodies.setdefault(body, []).append(node)
    centres = {
        body: np.mean([parts.model.points[parts.model.node(n)] for n in nodes], axis=0)
        for body, nodes in bodies.items()
    }
    origin = np.zeros(3)
    rigid = {
        body: np.array([_rigid(m, nodes, parts, origin) for m in motions])
        for body, nodes in bodies.items()
    }
    rings = [body for body in bodies if body.startswith("ring ")]

    def against(body: str, base: Array) -> Array:
        """(k, 6) motions of a body about its centre, less those of the base."""
        less = rigid[body] - base
        less[:, :3] += np.cross(less[:, 3:], centres[body])
        return less

    def size(motion: Array) -> float:
        return float(np.linalg.norm(motion * np.array([1, 1, 1, 50, 50, 50])))

    chosen = list(bodies)
    # one base for all: the motion of all rings together
    base = np.array(
        [_rigid(m, [n for b in rings for n in bodies[b]], parts, origin) for m in motions]
    )
    if rings:
        middle = min(rings, key=lambda r: sum(size(against(o, rigid[r])) for o in rings))
        apart = [size(against(r, rigid[middle])) for r in rings]
        if max(apart) > _SMALL * max(size(against(b, rigid[middle])) for b in bodies):
            base, chosen = rigid[middle], rings
    best = chosen[0]
    for body in chosen[1:]:
        if size(against(body, base)) > size(against(best, base)) * (1 + 1e-6):
            best = body
    return best, against(best, base), centres[best]


def _rigid(motion: dict[str, Array], nodes: list[str], parts: Discretised, centre: Array) -> Array:
    """(6,) rigid motion about ``centre`` nearest to the displacements of nodes (least squares)."""
    if not nodes:
        return np.zeros(6)
    model = parts.model
    rows, right = [], []
    for n in nodes:
        arm = model.points[model.node(n)] - centre
        known = np.isfinite(motion[n])  # rotations of some nodes were condensed
        block = np.block([[np.eye(3), -skew(arm)], [np.zeros((3, 3)), 30.0 * np.eye(3)]])
        rows.append(block[known])
        right.append((motion[n] * np.array([1, 1, 1, 30, 30, 30]))[known])
    return np.asarray(np.linalg.lstsq(np.concatenate(rows), np.concatenate(right), rcond=None)[0])


def _simplest(motions: Array, length: float) -> list[Array]:
    """Independent motions of the part: pure shifts, then turns, each of unit size."""
    scaled = motions * np.array([1, 1, 1, length, length, length])
    _, s, vt = np.linalg.svd(scaled)
    basis = vt[: int((s > 1e-6 * s[0]).sum())]
    _, s_turn, v = np.linalg.svd(basis[:, 3:].T)
    rank = int((s_turn > _SMALL).sum())
    shifts = v[rank:] @ basis
    turns = v[:rank] @ basis
    if len(shifts):  # take the shifts out of the turns
        _, _, w = np.linalg.svd(shifts[:, :3])
        for row in turns:
            for shift in w[: len(shifts)]:
                row[:3] -= shift * (shift @ row[:3])
    out = [*shifts, *turns]
    return [m / np.array([1, 1, 1, length, length, length]) for m in out]


def _way(motion: Array, centre: Array, place: Construct) -> str:
    shift, turn = motion[:3], motion[3:]
    if np.linalg.norm(turn) * 50.0 < 1e-2 * np.linalg.norm(shift):
        return f"slide {_direction(shift, place)}"
    axis = turn / np.linalg.norm(turn)
    through = centre + np.cross(turn, shift) / float(turn @ turn)
    where = f" through level {through[2]:.0f} mm" if abs(axis[2]) < 0.9 else ""
    return f"turn about an axis {_direction(axis, place)}{where}"


def _direction(v: Array, place: Construct) -> str:
    v = v / np.linalg.norm(v)
    if abs(v[2]) > 0.95:
        return "along the bone"
    flat = bearing_about(place.sign, (0.0, 0.0), (float(v[0]), float(v[1]))) % 180.0
    line = f"along bearing {round(flat) % 180}°"
    return (
        line
        if abs(v[2]) < 0.2
        else f"{line}, tilted {np.degrees(np.arcsin(abs(v[2]))):.0f}° to the bone's axis"
    )
