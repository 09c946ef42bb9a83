"""An oblique space frame against an independent solver, the general-purpose package PyNiteFEA."""

import numpy as np
import pytest

from fem import ModelBuilder
from tests.fem.linear_models import STEEL, deflections, plain_section

pynite = pytest.importorskip("Pynite")

POINTS = {
    "foot": [0.0, 0.0, 0.0],
    "knee": [30.0, 80.0, -10.0],
    "elbow": [95.0, 60.0, 40.0],
    "hand": [140.0, -20.0, 70.0],
    "stay": [120.0, 90.0, -80.0],
    "other foot": [-60.0, -10.0, 35.0],
}
MEMBERS = {  # ends, turn of the section about the member in degrees
    "shin": ("foot", "knee", 0.0),
    "arm": ("knee", "elbow", 25.0),
    "hand": ("elbow", "hand", -70.0),
    "brace": ("stay", "elbow", 110.0),
    "leg": ("other foot", "knee", 10.0),
}
LOADS = {
    "hand": np.array([120.0, -340.0, 75.0, 2200.0, -900.0, 4100.0]),
    "knee": np.array([-60.0, 20.0, 510.0, 0.0, 3300.0, -700.0]),
}
HELD = ("foot", "stay", "other foot")
DIRECTIONS = ("FX", "FY", "FZ", "MX", "MY", "MZ")
FREEDOMS = ("DX", "DY", "DZ", "RX", "RY", "RZ")


def test_space_frame_without_shear() -> None:
    """PyNiteFEA has Euler-Bernoulli members: shear areas are infinite here."""
    theirs = pynite.FEModel3D()
    section = plain_section(area=70.0, I_y=146.0, I_z=1143.0, J=450.0)
    theirs.add_material("steel", STEEL.E, STEEL.G, STEEL.nu, 0.0)
    theirs.add_section("bar", section.area, section.I_y, section.I_z, section.J)
    ours = ModelBuilder()
    for name, point in POINTS.items():
        theirs.add_node(name, *point)
        ours.node(name, point)
    for name, (a, b, turn) in MEMBERS.items():
        theirs.add_member(name, a, b, "steel", "bar", rotation=turn)
        up = theirs.members[name].T()[2, :3]
        ours.beam(name, a, b, section, STEEL, up=up)
    for name in HELD:
        theirs.def_support(name, *[True] * 6)
        ours.fix(name)
    for name, load in LOADS.items():
        for direction, value in zip(DIRECTIONS, load, strict=True):
            theirs.add_node_load(name, direction, value)
    theirs.analyze_linear()

    model = ours.build()
    found = deflections(model, LOADS)
    for name in POINTS:
        want = [getattr(theirs.nodes[name], f)["Combo 1"] for f in FREEDOMS]
        assert found[name] == pytest.approx(np.array(want, float), rel=1e-8, abs=1e-12)

    d = np.array([found[n] for n in model.names])[model.members.ends].reshape(-1, 12)
    for name, got in zip(model.members.names, model.members.end_forces(d), strict=True):
        want = theirs.members[name].F("Combo 1").ravel()[6:].astype(float)  # end B, global axes
        assert got == pytest.approx(want, rel=1e-7, abs=1e-6)  # N, N·mm of forces up to 1e3, 1e5
