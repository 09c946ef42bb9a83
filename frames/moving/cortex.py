"""Movement of the bone ends at the points round the cortex.

The proximal face moves against the distal one by d = (anterior, medial, proximal) at the gap's
centre and turns by θ (``frames.gap``: anatomical axes, in which both legs look like a right one).
A point of the cortex at the bearing β and the radius r, in a fracture plane that rises by the angle
φ towards the bearing β0, stands at

    x = (r cos β, r sin β, tan φ · r cos(β - β0)),

and the ends move against each other there by

    w = d + θ × x.

With the plane's normal n = (-sin φ cos β0, -sin φ sin β0, cos φ), from the distal to the proximal
end, the ends close by -n·w across the plane and shift by |w - n (n·w)| along it. The gap is
g cos φ wide across the plane, g the case's gap along the bone; strain is movement over that width
(definition: interfragmentary strain = movement of the gap / its width).

The movement is that of rigid bone ends: bone itself gives a thousandth of it.
"""

from dataclasses import dataclass

import numpy as np

from fem.algebra import Array
from frames.casefile import Bone
from frames.result_parts import MOVEMENTS


@dataclass(frozen=True)
class CortexMovement:
    """closing_mm, shift_mm (k,) at each point: across the fracture plane (closing positive) and
    along it; width_mm of the gap across the plane."""

    closing_mm: Array
    shift_mm: Array
    width_mm: float

    @property
    def measures(self) -> dict[str, Array]:
        """What a window may bound, (k,) each: sizes of movement (mm) and of strain (percent)."""
        across = np.abs(self.closing_mm)
        return {
            "axial_mm": across,
            "shear_mm": self.shift_mm,
            "axial_strain_percent": 100.0 * across / self.width_mm,
            "shear_strain_percent": 100.0 * self.shift_mm / self.width_mm,
        }


def cortex_movement(
    bone: Bone, gap_movement: dict[str, float], bearing_deg: Array, radius_mm: float
) -> CortexMovement:
    """At bearings (k,) and one radius; gap_movement: by the names ``MOVEMENTS``, turns in
    degrees."""
    move = np.array([gap_movement[name] for name in MOVEMENTS])
    d, theta = move[:3], np.radians(move[3:])
    tilt, towards = 0.0, 0.0
    if bone.contact is not None:
        tilt = np.radians(bone.contact.obliquity_deg)
        towards = np.radians(bone.contact.obliquity_bearing_deg)
    b = np.radians(bearing_deg)
    rise = np.tan(tilt) * np.cos(b - towards)
    x = radius_mm * np.stack([np.cos(b), np.sin(b), rise], axis=-1)
    w = d + np.cross(theta, x)
    n = np.array([-np.sin(tilt) * np.cos(towards), -np.sin(tilt) * np.sin(towards), np.cos(tilt)])
    across = w @ n
    shift = np.linalg.norm(w - across[:, None] * n, axis=-1)
    return CortexMovement(-across, shift, float(bone.gap_mm * np.cos(tilt)))
