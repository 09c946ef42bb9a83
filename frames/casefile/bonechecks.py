"""Checks on the bone: does its tube have a wall, do its ends lie past the gap, what fills it?"""

import math
from collections.abc import Iterator

from frames.casefile.bone import Bone
from frames.casefile.problems import Problem, plain_number
from frames.casefile.tables import Tables


def _bore(tables: Tables, bone: Bone, place: str) -> Iterator[Problem]:
    if bone.inner_mm >= bone.outer_mm:
        outer = plain_number(bone.outer_mm)
        yield Problem(
            f"{place}, inner_mm",
            f"must be less than outer_mm ({outer})",
            bone.inner_mm,
            f"less than {outer}",
        )


def _proximal_end(tables: Tables, bone: Bone, place: str) -> Iterator[Problem]:
    face = bone.gap_mm / 2
    if bone.proximal_end_mm <= face:
        yield Problem(
            f"{place}, proximal_end_mm",
            f"must lie above the proximal face of the gap, at {plain_number(face)}",
            bone.proximal_end_mm,
            f"more than {plain_number(face)}",
        )


def _distal_end(tables: Tables, bone: Bone, place: str) -> Iterator[Problem]:
    face = -bone.gap_mm / 2
    if bone.distal_end_mm >= face:
        yield Problem(
            f"{place}, distal_end_mm",
            f"must lie below the distal face of the gap, at {plain_number(face)}",
            bone.distal_end_mm,
            f"less than {plain_number(face)}",
        )


def rise(bone: Bone) -> float:
    """Rise (mm) of an oblique fracture plane from the bone axis to the bone's outer surface."""
    if bone.contact is None:
        return 0.0
    return bone.outer_mm / 2 * math.tan(math.radians(bone.contact.obliquity_deg))


def _oblique_plane(tables: Tables, bone: Bone, place: str) -> Iterator[Problem]:
    """The faces of an oblique fracture end on the shaft, not past the end of the bone."""
    room = min(bone.proximal_end_mm, -bone.distal_end_mm)
    needed = rise(bone) + bone.gap_mm / 2
    if bone.contact is not None and rise(bone) > 0 and 0 < room <= needed:
        yield Problem(
            f"{place}.contact, obliquity_deg",
            f"the fracture plane rises {plain_number(rise(bone))} mm from the bone axis to its "
            f"surface, and the nearer end of the bone is {plain_number(room)} mm away: make the "
            "plane less oblique or the bone longer",
            bone.contact.obliquity_deg,
        )


def _callus_bore(tables: Tables, bone: Bone, place: str) -> Iterator[Problem]:
    callus = bone.callus
    if callus is None or (callus.outer_mm is None and callus.inner_mm is None):
        return  # the bone's own diameters are checked with the bone
    outer, inner, _ = bone.callus_tube
    if inner < outer:
        return
    if callus.inner_mm is not None:
        whose = "the callus's" if callus.outer_mm is not None else "the bone's"
        said = f"must be less than {whose} outer_mm ({plain_number(outer)})"
        yield Problem(f"{place}.callus, inner_mm", said, callus.inner_mm)
    else:
        said = f"must be more than the bone's inner_mm ({plain_number(inner)})"
        yield Problem(f"{place}.callus, outer_mm", said, callus.outer_mm)


BONE_CHECKS = (_bore, _proximal_end, _distal_end, _oblique_plane, _callus_bore)
