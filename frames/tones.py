"""Tap tone of every wire leg, clamp to bone.

The leg is a tensioned beam, clamped at the ring.  At the cortex the bone holds it sideways; "built
in", it holds the slope too, and at a "pivot" the rest of the wire does, as a spring: the span
inside the bone, which itself leans on the other leg,

    k = s_b - c_b² / (s_b + s_o)

with s_b, c_b the direct and carried-over turning stiffness of the span in the bone and s_o that of
the other leg (all under tension).  The rest is taken at rest, as a spring without mass: its own
first tone lies several times higher when the bone is narrower than the legs are long.

Soft tissue.  Skin and muscle damp the part of a leg that lies in them.  With ``free_share`` g of
the wire below 1, only g ℓ of a leg ℓ sounds, from the clamp to where the tissue begins; the tissue
holds the wire sideways there and its remainder still.  At that point the wire turns against the
remainder, (1 - g) ℓ long, which leans on the cortex, and so on through bone and other leg, held by
the tissue in the same way: the turning stiffness K of each piece goes from the far end to the near
one by

    K' = s - c² / (s + K)

(infinite K: built in), from K = s_o of the other leg's free part over its remainder and the bone to
the remainder of this leg: one formula for both cases, with g = 1 there is no remainder and k is the
one above.  A remainder however short holds the wire at two places, and with them nearly its slope.
So a share just below 1 sounds like a wire built into the bone, 4 to 13 % higher than share 1 (500
to 1275 N, bones of 14 to 40 mm), and skin too thin to hold a wire is share 1.  Where the remainder
is much shorter than the free part it hardly matters that it is still: 1 % in the tone for g from
0.7 on.

Tension.  The two legs of a wire that an olive or the grip of the bone holds along its axis carry
different tensions; the span inside the bone then carries something between: their mean unless it is
given.

Two legs of one length answer together, with two tones up to 3 % to either side of this one (5 %
when nearly slack); legs that differ by a third keep theirs to 1 % (``tests/frames/test_tones.py``).
A finger on the other leg keeps it still.  Ringing together, equal legs turn the span in the bone by
as much at its other end, against or with them: k = s_b - c_b for the low tone, s_b + c_b for the
high one.  The mass of soft tissue and of the tapping finger is not in here.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import ArrayLike

from fem.algebra import Array
from fem.errors import ModelError
from fem.tone import end_turning_stiffness, passed_on, span_frequency
from frames.construct import Construct
from frames.hold_places import WirePlace

FREE_SHARE = (0.1, 1.0)
"""Limits of the share of a leg that is free to sound."""


@dataclass(frozen=True)
class Legs:
    """Legs as beams; all arrays broadcast, to whatever shape is worked with.

    free, tissue : mm, length that sounds, from the clamp, and that which soft tissue holds.
    bone : mm, between the cortices.  other_free, other_tissue : of the leg on the other side.
    EI : N·mm².  mass : tonne/mm.  built_in : the bone turns the wire.
    """

    free: Array
    tissue: Array
    bone: Array
    other_free: Array
    other_tissue: Array
    EI: Array
    mass: Array
    built_in: Array

    def spring(self, T: Array, T_bone: Array, T_other: Array) -> Array:
        """N·mm/rad, what the near end turns against, the rest still; tensions of this leg, of the
        span in the bone and of the other leg, N."""
        other, _ = end_turning_stiffness(self.other_free, T_other, self.EI)
        behind = passed_on(self.other_tissue, T_other, self.EI, other)
        cortex = passed_on(self.bone, T_bone, self.EI, behind)
        return self._at_cortex(T, cortex)

    def together(self, T: Array) -> tuple[Array, Array]:
        """The same for two equal legs at one tension that sound together: turning to opposite
        sides (the low tone) and to the same side (the high one)."""
        s, c = end_turning_stiffness(self.bone, T, self.EI)
        return self._at_cortex(T, s - c), self._at_cortex(T, s + c)

    def _at_cortex(self, T: Array, cortex: Array) -> Array:
        return passed_on(self.tissue, T, self.EI, np.where(self.built_in, np.inf, cortex))


def legs_of(
    place: Construct, wires: Sequence[WirePlace], free_share: ArrayLike | None = None
) -> Legs:
    """Start and end leg, arrays (w, 2) or (w, 1), of wires of a construct.

    free_share : (w,), or one for all, in place of that of the wires.  Raises ``ModelError`` for one
    outside 0.1 to 1.
    """
    spans = np.array([np.linalg.norm(np.diff(w.stations, axis=0), axis=1) for w in wires])
    spans = spans.reshape(len(wires), 3)
    d = np.array([w.wire.diameter_mm for w in wires])
    EI = np.array([w.wire.elastic[0] for w in wires]) * pi * d**4 / 64.0
    density = np.array([w.wire.density_kg_per_m3 for w in wires])
    mass = 1e-12 * density * pi * d**2 / 4.0
    built_in = np.array(
        [(w.wire.bone_hold or place.case.model.bone_hold) == "built in" for w in wires], dtype=bool
    )
    share = _share(wires, free_share)[:, None]
    legs = spans[:, [0, 2]]
    free = share * legs
    tissue = legs - free
    return Legs(
        free=free,
        tissue=tissue,
        bone=spans[:, 1:2],
        other_free=free[:, ::-1],
        other_tissue=tissue[:, ::-1],
        EI=EI[:, None],
        mass=mass[:, None],
        built_in=built_in[:, None],
    )


def _share(wires: Sequence[WirePlace], given: ArrayLike | None) -> Array:
    own = [w.wire.free_share for w in wires]
    share = np.array(own if given is None else np.broadcast_to(given, len(wires)), dtype=float)
    low, high = FREE_SHARE
    for w, s in zip(wires, share, strict=True):
        if not low <= s <= high:
            raise ModelError(
                f"Wire {w.wire.name}: free_share must be {low:g} to {high:g} (got {s:g}): the "
                "share of the length from clamp to bone, from the clamp, that is free to sound.",
                part=w.wire.name,
            )
    return share


def leg_tones(
    place: Construct,
    tension: ArrayLike,
    *,
    in_bone: ArrayLike | None = None,
    free_share: ArrayLike | None = None,
) -> Array:
    """(w, 2) Hz, start and end leg of each wire.

    tension : (w,) N, or (w, 2) where start and end leg carry different ones.
    in_bone : (w,) N, tension of the span between the cortices; the mean of the legs unless given.
    free_share : (w,), or one for all, in place of ``free_share`` of the wires.
    Raises ``ModelError`` naming the wire whose tension is negative or no number.
    """
    wires = place.wires
    T = _tensions("tension", tension, wires, ((len(wires),), (len(wires), 2)))
    T = np.repeat(T[:, None], 2, axis=1) if T.ndim == 1 else T
    if in_bone is None:
        T_bone = T.mean(axis=1)
    else:
        T_bone = _tensions("tension in the bone", in_bone, wires, ((len(wires),),))
    legs = legs_of(place, wires, free_share)
    k = legs.spring(T, T_bone[:, None], T[:, ::-1])
    return span_frequency(legs.free, T, legs.EI, legs.mass, k)


def _tensions(
    what: str, given: ArrayLike, wires: Sequence[WirePlace], shapes: tuple[tuple[int, ...], ...]
) -> Array:
    T = np.asarray(given, dtype=float)
    if T.shape not in shapes:
        allowed = " or ".join(str(s) for s in shapes)
        raise ModelError(f"{what}: needs shape {allowed} for {len(wires)} wires (got {T.shape}).")
    for w, t in zip(wires, T, strict=True):
        if not (np.isfinite(t) & (t >= 0.0)).all():
            raise ModelError(
                f"Wire {w.wire.name}: {what} must be a number of at least 0 N (got {t}).",
                part=w.wire.name,
            )
    return T
