"""Frames on half-pins against an independent general-purpose solver (openseespy), linear beams: the
six by six compliance at the gap with tilted rings, rings in halves, struts with three kinds of
ends, posts, pins in one and two cortices, callus.

The polygon of 2° that stands for a ring leaves 0.02 %; agreement is held to 0.1 %.
"""

import copy
from typing import Any

import numpy as np
import pytest

from frames.gap import mirror
from tests.frames import cases
from tests.frames.at_rest import at_rest
from tests.frames.cases import Raw
from tests.published.pin_frame_model import PinFrame

AGREEMENT = 1e-3


def pin(name: str, on: str, bearing: float, height: float, **other: Any) -> Raw:
    place = {"bearing_deg": bearing, "height_mm": height, "diameter_mm": 6.0}
    return {"name": name, "ring": on, **place, **other}


def plain(side: str = "right") -> Raw:
    """Square rings, straight rods, three pins in each fragment."""
    raw = cases.frame(levels=(70.0, -70.0), side=side)
    raw["wire"] = []
    raw["rod"] = [
        {"rings": ["R1", "R2"], "bearings_deg": [b, b], "diameter_mm": 6.0, "ends": "fixed"}
        for b in (30.0, 150.0, 210.0, 330.0)
    ]
    raw["pin"] = [
        pin(f"{on}{i}", on, b, h if on == "R1" else -h)
        for on in ("R1", "R2")
        for i, (b, h) in enumerate(((10.0, -14.0), (95.0, 14.0), (50.0, 30.0)))
    ]
    return raw


def oblique(side: str = "right") -> Raw:
    """Nothing square: tilted rings off the axis, tilted and offset pins, posts, mixed struts."""
    raw = plain(side)
    raw["ring"][0].update(tilt_deg=14.0, tilt_bearing_deg=40.0, centre_mm=[-9.0, 4.0])
    raw["ring"][1].update(tilt_deg=-9.0, tilt_bearing_deg=110.0)
    raw["rod"] = [
        {
            "rings": ["R1", "R2"],
            "bearings_deg": [a + d, a - d],
            "diameter_mm": 7.0,
            "ends": ends,
            "end_Nm_per_deg": 3.0,
        }
        for a in (0.0, 120.0, 240.0)
        for d, ends in ((20.0, "hinged"), (-20.0, "conical washers"))
    ]
    for rod in raw["rod"]:
        if rod["ends"] == "hinged":
            del rod["end_Nm_per_deg"]
    for part, change in zip(
        raw["pin"],
        (
            {"tilt_deg": 12.0, "post_diameter_mm": 9.0},
            {"offset_mm": 4.0, "diameter_mm": 5.0},
            {"cortices": 1},
            {"tilt_deg": -8.0, "offset_mm": -3.0},
            {"post_diameter_mm": 8.0},
            {"cortices": 1, "tilt_deg": 5.0, "post_diameter_mm": 10.0},
        ),
        strict=True,
    ):
        part.update(change)
    return raw


def in_halves(side: str = "left") -> Raw:
    """The oblique frame with rings in halves and soft callus."""
    raw = oblique(side)
    raw["ring"][0].update(halves="hinged", split_bearing_deg=75.0, joint_Nm_per_deg=40.0)
    raw["ring"][1].update(halves="bolted", split_bearing_deg=172.0, joint_Nm_per_deg=15.0)
    raw["bone"]["callus"] = {"E_MPa": 0.5}
    return raw


@pytest.mark.parametrize("side", ["right", "left"])
@pytest.mark.parametrize("frame", [plain, oblique, in_halves])
def test_compliance_of_the_gap(frame: Any, side: str) -> None:
    raw = frame(side)
    reference = PinFrame(copy.deepcopy(raw)).compliance()
    found = at_rest(raw)
    flip = mirror(found.parts.construct.sign)
    ours = flip[:, None] * found.compliance * flip
    scale = np.sqrt(np.diag(reference))
    assert np.abs((reference - reference.T) / np.outer(scale, scale)).max() < 1e-6
    assert np.abs((ours - reference) / np.outer(scale, scale)).max() < AGREEMENT
    np.testing.assert_allclose(np.diag(ours), np.diag(reference), rtol=AGREEMENT)
