"""Is the frame one piece?  Seen from the parts list, before any arithmetic.

Rings joined by rods or struts form groups (a ring in halves is one ring).  One group must hold both
fragments by wires or pins; any other ring would only hang on its wires and pins, or on nothing, and
carry no load.

Callus joins the fragments by itself, so that rods across the gap may be away, and even the wires of
a fragment; then only a ring that hangs on nothing is refused.
"""

from collections.abc import Sequence

from fem import MechanismError
from frames.construct import FRAGMENTS, Construct
from frames.hold_places import PinPlace, WirePlace


def ring_groups(place: Construct) -> list[set[str]]:
    """Names of rings joined by rods, one set per group."""
    groups = [{r.ring.name} for r in place.rings]
    for rod in place.rods:
        hit = [g for g in groups if g & set(rod.rings)]
        groups = [g for g in groups if not g & set(rod.rings)] + [set().union(*hit)]
    return groups


def leans_on_callus(place: Construct) -> bool:
    """Whether rods, wires and pins alone would leave a fragment loose, and callus bridges the gap:
    a frame partly taken off.
    """
    if place.case.bone.callus is None:
        return False
    held = [
        {h.fragment for h in place.holders if h.part.ring in group} for group in ring_groups(place)
    ]
    return not any(len(fragments) == 2 for fragments in held)


def refuse_loose_parts(place: Construct) -> None:
    """Raise ``MechanismError`` naming the fragment or ring that nothing holds."""
    groups = ring_groups(place)
    held = [{h.fragment for h in place.holders if h.part.ring in group} for group in groups]
    if place.case.bone.callus is not None:
        for group, fragments in zip(groups, held, strict=True):
            if not fragments:
                raise _loose_rings(place, group)
        return
    for fragment in FRAGMENTS:
        if not any(fragment in fragments for fragments in held):
            raise MechanismError(
                f"The {fragment} is held by no wire and no pin: it is free to move in every "
                "direction. Add at least two crossing wires to it, or pins."
            )
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
        if group is not frame:
            raise _loose_rings(place, group)


def _loose_rings(place: Construct, group: set[str]) -> MechanismError:
    own = [h for h in place.holders if h.part.ring in group]
    free = (
        f"free to move with the bone, on {' and '.join(by_kind(own))} only"
        if own
        else "free to move in every direction"
    )
    rings = _rings([group])
    return MechanismError(
        f"{rings[0].upper()}{rings[1:]} {'are' if len(group) > 1 else 'is'} joined to the "
        f"frame by no rod: {free}, and of no use. Add rods to the neighbouring ring, or take "
        f"{rings} out."
    )


def by_kind(holders: Sequence[WirePlace | PinPlace]) -> list[str]:
    """Wires and pins in words: ``["wires W1, W2", "pin P1"]``."""
    names = {
        "wire": [h.part.name for h in holders if isinstance(h, WirePlace)],
        "pin": [h.part.name for h in holders if isinstance(h, PinPlace)],
    }
    return [
        f"{kind}{'s' if len(found) > 1 else ''} {', '.join(found)}"
        for kind, found in names.items()
        if found
    ]


def _rings(groups: list[set[str]]) -> str:
    names = sorted(n for g in groups for n in g)
    return f"ring{'s' if len(names) > 1 else ''} {', '.join(names)}"
