"""Editing the demo case or one that has every key, and collecting what is told about it."""

import copy
import tomllib
from importlib.resources import files
from typing import Any

import pytest

from frames.casefile import CaseError, case_from_dict
from frames.casefile.tables import REPEATED, SINGLE

Raw = dict[str, Any]
DEMO: Raw = tomllib.loads(
    (files("frames") / "demo" / "four_rings.toml").read_text(encoding="utf-8")
)
OUT = object()
KNOWN_TABLES = ", ".join([*(f"[{kind}]" for kind in SINGLE), *(f"[[{kind}]]" for kind in REPEATED)])


def changed(*edits: tuple[str, Any], base: Raw = DEMO) -> Raw:
    """A case, the demo unless another is given, with some values set, or taken out; paths count
    parts from 0."""
    raw = copy.deepcopy(base)
    for path, value in edits:
        *way, last = [int(step) if step.isdigit() else step for step in path.split(".")]
        place: Any = raw
        for step in way:
            place = place[step]
        if value is OUT:
            del place[last]
        else:
            place[last] = value
    return raw


def told(raw: Any) -> list[str]:
    with pytest.raises(CaseError) as caught:
        case_from_dict(raw, "four_rings.toml")
    lines = str(caught.value).split("\n")
    assert len(lines) == len(caught.value.problems)
    prefix = "four_rings.toml: "
    assert all(line.startswith(prefix) for line in lines)
    return [line.removeprefix(prefix) for line in lines]


FULL_TEXT = """
[case]
title = "every key that the demo leaves out"
side = "right"
body_mass_kg = 60
[bone]
proximal_end_mm = 180
distal_end_mm = -180
outer_mm = 28
inner_mm = 15
E_MPa = 18000
nu = 0.32
gap_mm = 3
[bone.contact]
friction = 0.4
points = 24
obliquity_deg = 30
obliquity_bearing_deg = 90
layer_mm = 2
[[ring]]
name = "A"
level_mm = 100
inner_diameter_mm = 150
width_mm = 15
thickness_mm = 6
hole_circle_mm = 164
centre_mm = [-10, 2]
section_factor = 0.9
material = "aluminium"
tilt_deg = 4
tilt_bearing_deg = 45
halves = "hinged"
split_bearing_deg = 80
joint_Nm_per_deg = 40
joint_play_deg = 0.2
yield_MPa = 250
[[ring]]
name = "B"
level_mm = -100
inner_diameter_mm = 150
width_mm = 15
thickness_mm = 6
arc_deg = 300
opening_bearing_deg = 180
E_MPa = 2e5
nu = 0.3
[[rod]]
name = "front"
rings = ["A", "B"]
bearings_deg = [10, 40]
thread = "M8"
axial_N_per_mm = 4000
ends = "conical washers"
end_Nm_per_deg = 3
yield_MPa = 600
[[rod]]
rings = ["A", "B"]
bearing_deg = 90
diameter_mm = 6
ends = "hinged"
E_MPa = 1e5
nu = 0.34
[[rod]]
rings = ["B", "A"]
bearing_deg = 270
thread = "M6"
material = "titanium"
[[wire]]
name = "a"
ring = "A"
bearing_deg = 70
face = "proximal"
diameter_mm = 1.5
tension_N = 900
end_tension_N = 960
tension_from = "both"
tilt_deg = 3
offset_mm = -2
bone_hold = "built in"
olive = "start"
grip_N = 20
order = 2
tensioner_drop_percent = 4
slip_N = 1500
post_diameter_mm = 9
free_share = 0.7
yield_MPa = 850
density_kg_per_m3 = 7000
E_MPa = 1.9e5
nu = 0.29
[[wire]]
name = "b"
ring = "B"
bearing_deg = 80
height_mm = -8
diameter_mm = 2
tension_kgf = 100
threaded = true
bolt_torque_Nm = 10
order = 1
material = "stainless steel"
[[pin]]
name = "p"
ring = "B"
bearing_deg = 350
height_mm = 15
diameter_mm = 5
offset_mm = 1
tilt_deg = -5
cortices = 1
post_diameter_mm = 10
yield_MPa = 800
material = "titanium"
[[pin]]
name = "q"
ring = "A"
bearing_deg = 20
face = "distal"
diameter_mm = 6
E_MPa = 2e5
nu = 0.3
[model]
bone_hold = "pivot"
pretension = "dialled"
wire_steel = "elastic-plastic"
tensioner_drop_percent = 6
load_steps = 20
[[nut_turn]]
name = "first"
rings = ["A", "B"]
bearings_deg = [10, -90]
turns = 1.5
when = "before tensioning"
[[nut_turn]]
name = "second"
rings = ["B", "A"]
lengthen_mm = -0.25
[[load]]
name = "walk"
body_weight = 1
offset_mm = [3, 4]
[[load]]
name = "stand"
axial_N = 300
[[load]]
name = "twist"
force_N = [0, 1, 2]
moment_Nm = [0, 0, 5]
at = "ankle"
[[history]]
load = "walk"
cycles = 100
[[history]]
load = "twist"
cycles = 2
[[target]]
quantity = "closing_mm"
load = "walk"
at_least = 0
at_most = 2
[[limb]]
level_mm = 120
widths_mm = [40, 45, 60, 48]
[[limb]]
level_mm = -120
girth_mm = 250
centre_mm = [-8, 1]
[[corridor]]
name = "c"
from_level_mm = -150
to_level_mm = 150
from_bearing_deg = 20
to_bearing_deg = 110
source = "an atlas"
[[wound]]
name = "w"
from_level_mm = 20
to_level_mm = 40
from_bearing_deg = 300
to_bearing_deg = 30
[room]
swelling_mm = 6
front_mm = 12
side_mm = 14
back_mm = 22
wire_end_mm = 9
parts_mm = 2
hole_spacing_mm = 11
crossing_deg = 40
[winding]
bolt_diameter_mm = 7
slack_mm = 0.5
slip_percent = 8
[[correction]]
name = "shift"
fragment = "distal"
towards = "medial"
by_mm = 2
soft_tissue_N_per_mm = 3
[[window]]
name = "mine"
measure = "shear_mm"
at_least = 0
at_most = 0.5
source = "me"
[healing]
week = [0, 10]
E_MPa = [1, 50]
every_weeks = 5
movement_at_most_mm = 0.8
strain_at_most_percent = 30
steps_per_day = 1500
[[activity]]
name = "hop"
times_body_weight = 4
source = "me"
[[endurance]]
material = "titanium"
yield_MPa = 800
ultimate_MPa = 900
cycles = [1e3, 1e7]
amplitude_MPa = [700, 450]
source = "me"
[[tolerance]]
path = "bone.gap_mm"
plus_minus_percent = 4
distribution = "triangular"
together = true
source = "me"
[[tolerance]]
paths = ["ring.*.level_mm", "bone.inner_mm"]
plus_minus = 1.5
[search]
least_wires_per_fragment = 3
most_wires = 7
tension_kgf = [80, 120]
tensions = "each"
bearing_step_deg = 15
crossing_deg = 50
diameters_mm = [1.5, 1.8]
"""
CALLUS_TEXT = (
    FULL_TEXT[: FULL_TEXT.index("[bone.contact]")]
    + """[bone.callus]
E_MPa = 50
nu = 0.35
outer_mm = 34
inner_mm = 14
thickness_mm = 4
"""
    + FULL_TEXT[FULL_TEXT.index("[[ring]]") :]
)
FULL: Raw = tomllib.loads(FULL_TEXT)
"""A right case that holds every key, together with `CALLUS`, which has callus for contact."""
for _one, _other in (
    ("swelling_mm = 6", "swelling_percent = 7"),
    ('towards = "medial"', "towards_bearing_deg = 80"),
    ("strain_at_most_percent = 30", "strain_by_week_percent = [100, 10]"),
):
    CALLUS_TEXT = CALLUS_TEXT.replace(_one, _other)  # keys that exclude each other
CALLUS: Raw = tomllib.loads(CALLUS_TEXT)
