"""Many designs at once: the same numbers as ``check`` gives each, whatever stands beside it.

Movements are compared against the size of the movement of the gap, 1e-9 of it: a sideways movement
that is a thousandth of the closing is the small difference of large ones.
"""

import copy
from collections.abc import Sequence

import numpy as np
import pytest

from fem import FemError
from frames import case_from_dict, check
from frames.bulk import evaluate, evaluating
from frames.bulk.asked import pared
from frames.bulk.group import ready
from frames.casefile import Case
from frames.outputs import OUTPUTS, Output, margin_percent, output_problem
from frames.quantities import QUANTITIES, STIFFNESSES
from frames.result import Result, quantity
from tests.frames.cases import Raw, axial, frame, wrench
from tests.frames.real_frame import pinned_frame, real_frame

LOADS = [axial("light", 60.0), axial("heavy", 150.0), wrench("twist", moment=(0.0, 0.0, 2.0))]
TARGETS = [
    {"quantity": "axial_N_per_mm", "at_least": 60.0, "at_most": 120.0},
    {"quantity": "closing_mm", "load": "heavy", "at_most": 8.0},
]
MOVEMENTS = ("closing_mm", "shear_mm")


def two_rings(**other: object) -> Raw:
    raw = frame(levels=(60.0, -60.0), loads=LOADS, **other)  # type: ignore[arg-type]
    return raw | {"target": TARGETS}


def every_output(case: Case) -> list[Output]:
    """All that can be asked of a case."""
    of_loads = [Output(q, load.name) for load in case.load for q in QUANTITIES]
    asked = [*(Output(q) for q in OUTPUTS), *of_loads]
    return [o for o in asked if output_problem(o, case) is None]


def value(result: Result, output: Output) -> float | None:
    try:
        return quantity(result, output.quantity, output.load)
    except KeyError:
        return None


def assert_as_checked(cases: Sequence[Case], outputs: Sequence[Output]) -> None:
    """Every row of ``evaluate`` holds what ``check`` says of its case."""
    rows = evaluate(cases, outputs)
    for case, row in zip(cases, rows, strict=True):
        result = check(pared(case, outputs))
        assert row.reason is None
        for output, found in zip(outputs, row.values, strict=True):
            if output.quantity not in QUANTITIES:
                continue
            expected = value(result, output)
            if expected is None or found is None:
                assert found is expected, output.name
                continue
            scale = abs(expected)
            if output.quantity in MOVEMENTS:
                scale = float(
                    np.linalg.norm(list(result.load(str(output.load)).gap_movement.values()))
                )
            assert found == pytest.approx(expected, rel=0, abs=1e-9 * scale), output.name


def varied(raw: Raw, draw: np.random.Generator) -> Case:
    """The same build with other numbers."""
    raw = copy.deepcopy(raw)
    for wire in raw["wire"]:
        wire.pop("tension_kgf", None)
        wire["tension_N"] = draw.uniform(500.0, 1275.0)
        wire["bearing_deg"] += draw.uniform(-6.0, 6.0)
        wire["diameter_mm"] = draw.choice([1.5, 1.8, 2.0])
    for ring in raw["ring"]:
        ring["level_mm"] += draw.uniform(-5.0, 5.0)
        ring["thickness_mm"] = draw.uniform(4.0, 7.0)
        ring["inner_diameter_mm"] = draw.choice([150.0, 160.0, 180.0])
    raw["bone"]["E_MPa"] = draw.uniform(12_000.0, 20_000.0)
    return case_from_dict(raw)


@pytest.mark.parametrize("side", ["left", "right"])
def test_as_check_says(side: str) -> None:
    draw = np.random.default_rng(5)
    cases = [varied(two_rings(side=side), draw) for _ in range(5)]
    assert_as_checked(cases, every_output(cases[0]))


def test_of_four_rings() -> None:
    draw = np.random.default_rng(6)
    raw = frame(loads=LOADS) | {"target": TARGETS}
    cases = [varied(raw, draw) for _ in range(2)]
    assert_as_checked(cases, every_output(cases[0]))


def test_builds_of_several_kinds_in_any_order() -> None:
    """A ring more, a wire less, other faces: each finds the group it belongs to."""
    draw = np.random.default_rng(7)
    fewer = two_rings()
    fewer["wire"] = fewer["wire"] + [
        dict(fewer["wire"][0], name="W9", bearing_deg=10.0, face=None, height_mm=9.0)
    ]
    fewer["wire"][-1].pop("face")
    kinds = [
        two_rings(),
        frame(levels=(70.0, 30.0, -60.0), loads=LOADS) | {"target": TARGETS},
        fewer,
    ]
    cases = [varied(kinds[i % 3], draw) for i in range(7)]
    outputs = [
        Output("axial_N_per_mm"),
        Output("closing_mm", "heavy"),
        Output("torsion_Nm_per_deg"),
    ]
    assert_as_checked(cases, outputs)
    rows = evaluate(cases, outputs)
    back = evaluate(cases[::-1], outputs)[::-1]
    for one, other in zip(rows, back, strict=True):
        np.testing.assert_allclose(one.values, other.values, rtol=1e-9)


def test_how_many_together_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    draw = np.random.default_rng(8)
    cases = [varied(two_rings(), draw) for _ in range(5)]
    outputs = [Output("axial_N_per_mm"), Output("wire_peak_stress_MPa", "heavy")]
    whole = evaluate(cases, outputs)
    monkeypatch.setattr(evaluating, "TOGETHER", 2)
    for one, other in zip(whole, evaluate(cases, outputs), strict=True):
        np.testing.assert_allclose(one.values, other.values, rtol=1e-9)


def failing() -> dict[str, Case]:
    """Frames that cannot be solved, each for another reason."""
    bending_away = two_rings()
    bending_away["load"] = [*LOADS[:1], axial("heavy", 20_000.0), LOADS[2]]
    loose = two_rings()
    loose["rod"] = []
    one_wire = two_rings()
    one_wire["wire"] = one_wire["wire"][:3]
    raws = {"loads": bending_away, "loose": loose, "mechanism": one_wire}
    return {name: case_from_dict(raw) for name, raw in raws.items()}


def test_what_cannot_be_solved_is_a_row_with_the_reason_of_check() -> None:
    draw = np.random.default_rng(9)
    bad = failing()
    cases = [varied(two_rings(), draw), *bad.values(), varied(two_rings(), draw)]
    outputs = [Output("axial_N_per_mm"), Output("closing_mm", "heavy")]
    rows = evaluate(cases, outputs)
    assert rows[0].reason is None and rows[-1].reason is None
    for case, row in zip(bad.values(), rows[1:-1], strict=True):
        with pytest.raises(FemError) as caught:
            check(case)
        assert row.reason == " ".join(str(caught.value).split())
        assert set(row.values) == {None}
    assert_as_checked([cases[0], cases[-1]], outputs)


def test_a_load_that_nobody_asks_for_is_not_solved() -> None:
    row = evaluate([failing()["loads"]], [Output("axial_N_per_mm"), Output("closing_mm", "light")])[
        0
    ]
    assert row.reason is None and None not in row.values


def test_outputs_of_design_and_targets() -> None:
    case = case_from_dict(two_rings())
    result = check(case)
    asked = [Output(q) for q in ("wires", "pins", "worst_margin_percent", "meets_targets")]
    row = evaluate([case], asked)[0]
    margins = [margin_percent(t) for t in result.targets]
    assert row.values[:2] == (4.0, 0.0)
    assert row.values[2] == pytest.approx(min(margins), abs=1e-7)
    assert row.values[3] == float(result.meets)


def test_frames_that_go_in_no_group() -> None:
    """Grip, contact, nuts turned and half-pins: by themselves, beside ideal ones."""
    pinned, gripped = pinned_frame(), two_rings()
    for wire in gripped["wire"]:
        wire["grip_N"] = 50.0
    cases = [case_from_dict(raw) for raw in (two_rings(), gripped, two_rings())]
    outputs = [Output("axial_N_per_mm"), Output("closing_mm", "light")]
    assert_as_checked(cases, outputs)
    case = case_from_dict(pinned)
    load = case.load[0].name
    assert_as_checked([case], [Output("axial_N_per_mm"), Output("pin_peak_stress_MPa", load)])


def test_callus_and_rings_in_halves_go_together() -> None:
    """Parts that ideal frames may have besides: as ``check`` says, and solved in a group."""
    draw = np.random.default_rng(10)
    bridged = two_rings()
    bridged["bone"]["callus"] = {"E_MPa": 5.0}
    halved = two_rings()
    for ring in halved["ring"]:
        ring |= {"halves": "bolted", "split_bearing_deg": 75.0, "joint_play_deg": 0.2}
    for raw in (bridged, halved):
        cases = [varied(raw, draw) for _ in range(3)]
        assert all(ready(case) is not None for case in cases)
        outputs = [*(Output(q) for q in STIFFNESSES), Output("closing_mm", "heavy")]
        outputs += [Output("axial_N_per_mm", "heavy"), Output("wire_tension_min_N", "light")]
        assert_as_checked(cases, outputs)


def test_bone_ends_that_touch_are_not_left_out() -> None:
    touching = two_rings(gap=0.05)
    touching["bone"]["contact"] = {"friction": 0.0}
    case = case_from_dict(touching)
    assert ready(case) is None
    assert_as_checked([case], [Output("closing_mm", "heavy")])


def test_a_frame_with_every_part() -> None:
    case = case_from_dict(real_frame())
    load = case.load[0].name
    assert_as_checked(
        [case], [*(Output(q) for q in STIFFNESSES), Output("bone_share_percent", load)]
    )


def test_mass_by_hand() -> None:
    """Two rings, a rod of 10 mm between them, a wire: from the sizes, steel of 7900 kg/m³."""
    raw = two_rings(rods=(30.0,))
    raw["rod"] = [{"rings": ["R1", "R2"], "bearing_deg": 30.0, "diameter_mm": 10.0}]
    raw["wire"] = raw["wire"][:1]
    ring = 14.0 * 5.0 * np.pi * 174.0
    rod = np.pi * 10.0**2 / 4.0 * (120.0 + 5.0 + 2 * 8.0)
    wire = np.pi * 1.8**2 / 4.0 * 174.0
    row = evaluate([case_from_dict(raw)], [Output("mass_g")])[0]
    assert row.values[0] == pytest.approx(7900e-6 * (2 * ring + rod + wire), rel=1e-9)
