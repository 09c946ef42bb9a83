"""Tap tone of every wire leg, clamp to bone.

The leg is a tensioned beam, clamped at the ring.  At the cortex the bone holds it sideways; "built
in", it holds the slope too, and at a "pivot" the rest of the wire does, as a spring: the span
inside the bone, which itself leans on the other leg,

    k = s_b - c_b² / (s_b + s_o)

with s_b, c_b the direct and carried-over turning stiffness of the span in the bone and s_o that of
the other leg (all under tension).  The rest is taken at rest, as a spring without mass: its own
first tone lies several times higher when the bone is narrower than the legs are long.

Two legs of one length answer together, with two tones up to 3 % to either side of this one; legs
that differ by a third keep theirs to 1 % (``tests/frames/test_tones.py``).  Soft tissue
and the tapping finger add mass that is not in here.
"""

from math import pi

import numpy as np

from fem.algebra import Array
from fem.tone import end_turning_stiffness, span_frequency
from frames.construct import Construct


def leg_tones(place: Construct, tension: Array) -> Array:
    """(w, 2) Hz, start and end leg of each wire at tensions (w,) N."""
    wires = place.wires
    spans = np.array([np.linalg.norm(np.diff(w.stations, axis=0), axis=1) for w in wires])
    d = np.array([w.wire.diameter_mm for w in wires])
    EI = np.array([w.wire.elastic[0] for w in wires]) * pi * d**4 / 64.0
    density = np.array([w.wire.density_kg_per_m3 for w in wires])
    mass = 1e-12 * density * pi * d**2 / 4.0
    built_in = np.array(
        [(w.wire.bone_hold or place.case.model.bone_hold) == "built in" for w in wires]
    )
    in_bone, carried = end_turning_stiffness(spans[:, 1], tension, EI)
    legs, others = spans[:, [0, 2]], spans[:, [2, 0]]
    beyond, _ = end_turning_stiffness(others, tension[:, None], EI[:, None])
    rest = in_bone[:, None] - carried[:, None] ** 2 / (in_bone[:, None] + beyond)
    k = np.where(built_in[:, None], np.inf, rest)
    return span_frequency(legs, tension[:, None], EI[:, None], mass[:, None], k)
