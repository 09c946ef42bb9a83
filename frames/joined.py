"""Is the frame one piece?  Seen from the parts list, before any arithmetic.

Rings joined by rods form groups.  One group must hold both fragments by wires; any other ring would
only hang on its wires, or on nothing, and carry no load.
"""

from fem import MechanismError
from frames.construct import FRAGMENTS, Construct


def ring_groups(place: Construct) -> list[set[str]]:
    """Names of rings joined by rods, one set per group."""
    groups = [{r.ring.name} for r in place.rings]
    for rod in place.rods:
        hit = [g for g in groups if g & set(rod.rings)]
        groups = [g for g in groups if not g & set(rod.rings)] + [set().union(*hit)]
    return groups


def refuse_loose_parts(place: Construct) -> None:
    """Raise ``MechanismError`` naming the fragment or ring that nothing holds."""
    for fragment in FRAGMENTS:
        if not any(w.fragment == fragment for w in place.wires):
            raise MechanismError(
                f"The {fragment} is held by no wire: it is free to move in every direction. "
                "Add at least two crossing wires to it."
            )
    groups = ring_groups(place)
    held = [{w.fragment for w in place.wires if w.wire.ring in group} for group in groups]
    if not any(len(h) == 2 for h in held):
        per = {
            f: _rings([g for g, h in zip(groups, held, strict=True) if f in h]) for f in FRAGMENTS
        }
        raise MechanismError(
            "The proximal fragment and the distal fragment are not joined: "
            f"{per[FRAGMENTS[1]]} and {per[FRAGMENTS[0]]} hold them, and no rod joins these, so "
            "that the proximal fragment is free to move against the distal fragment in every "
            "direction. Add rods between the rings on both sides of the gap."
        )
    frame = max((g for g, h in zip(groups, held, strict=True) if len(h) == 2), key=len)
    for group in groups:
        if group is frame:
            continue
        wires = [w.wire.name for w in place.wires if w.wire.ring in group]
        plural = "s" if len(wires) > 1 else ""
        free = (
            f"free to move with the bone, on wire{plural} {', '.join(wires)} only"
            if wires
            else "free to move in every direction"
        )
        rings = _rings([group])
        raise MechanismError(
            f"{rings[0].upper()}{rings[1:]} {'are' if len(group) > 1 else 'is'} joined to the "
            f"frame by no rod: {free}, and of no use. Add rods to the neighbouring ring, or take "
            f"{rings} out."
        )


def _rings(groups: list[set[str]]) -> str:
    names = sorted(n for g in groups for n in g)
    return f"ring{'s' if len(names) > 1 else ''} {', '.join(names)}"
