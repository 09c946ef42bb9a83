"""Whatever a case holds, the answer is a result of finite numbers, or a refusal in words.

The examples are the same in every run.
"""

import copy
import json
import math
import tomllib
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fem import FemError
from frames import (
    CaseError,
    Result,
    case_from_dict,
    case_from_text,
    case_to_toml,
    check_with_states,
)
from frames.printout import printout
from frames.scene_of import frame_scene
from tests.frames import cases
from tests.frames.cases import Raw, axial, edited, every, wrench
from tests.frames.comparing import numbers_in
from tests.frames.mutations import Draw, mutate

steady = settings(
    derandomize=True,
    database=None,
    deadline=None,
    suppress_health_check=list(HealthCheck),
)


def _open_ring() -> Raw:
    raw = cases.small(loads=[axial("a", 60.0)])
    raw["ring"][0].update(arc_deg=300.0, opening_bearing_deg=90.0, centre_mm=[-6.0, 3.0])
    raw["wire"][1].update(bearing_deg=150.0, offset_mm=4.0)
    return raw


BASES = [
    cases.small(loads=[axial("a", 60.0)]),
    cases.small(
        loads=[axial("a", 30.0), axial("b", 60.0), wrench("c", (2, 3, -9), (0.2, 0.1, 0.3))]
    ),
    _open_ring(),
    cases.small(side="left"),
]


def outcome(raw: Raw) -> Result | Exception:
    """The result, checked, or the refusal, checked; any other exception is let through."""
    try:
        answer = check_with_states(case_from_dict(raw))
    except (CaseError, FemError) as error:
        text = str(error)
        assert text.strip(), repr(error)
        assert "nan" not in text.split(), text
        assert "inf" not in text.split(), text
        return error
    result = answer.result
    assert all(math.isfinite(v) for v in numbers_in(json.loads(result.to_json())))
    assert result.to_csv().count("\n") > 6
    assert [line.text for line in printout(result)]
    assert min(result.stiffness.values()) > 0.0
    assert all(w.tension_N >= 0.0 for load in result.loads for w in load.wires)
    assert all(load.equilibrium_error < 1e-6 for load in result.loads)
    for w in result.warnings:
        assert (
            w.kind in ("tension range", "crossing angle", "gap closes", "large movement") or w.parts
        )
    for strand in frame_scene(answer).strands:
        assert np.isfinite(strand.moved).all()
    return result


@settings(steady, max_examples=600)
@given(st.data())
def test_mutated_frames(data: st.DataObject) -> None:
    outcome(mutate(data.draw(st.sampled_from(BASES)), data.draw))


@settings(steady, max_examples=30)
@given(st.data())
def test_mutated_demo(data: st.DataObject) -> None:
    outcome(mutate({"load": [], **cases.demo()}, data.draw))


def plausible(draw: Draw) -> Raw:
    """A frame that someone may build, lightly loaded (common practice, no source)."""
    real = st.floats
    levels = draw(
        st.sampled_from(
            [(140.0, 50.0, -50.0, -140.0), (120.0, 30.0, -40.0), (150.0, 20.0, -20.0, -150.0)]
        )
    )
    bearings = []
    for _ in levels:
        first, crossing = draw(real(0.0, 180.0)), draw(real(50.0, 90.0))
        third = [first + crossing + draw(real(30.0, 60.0))] if draw(st.booleans()) else []
        bearings.append([b % 360.0 for b in (first, first + crossing, *third)])
    start, count = draw(real(0.0, 90.0)), draw(st.sampled_from([3, 4]))
    raw = cases.frame(
        levels,
        bearings,
        rods=[(start + 360.0 * i / count) % 360.0 for i in range(count)],
        rings={
            "inner_diameter_mm": draw(st.sampled_from([140.0, 160.0, 180.0])),
            "material": draw(st.sampled_from(["stainless steel", "aluminium", "carbon composite"])),
            "centre_mm": [draw(real(-20.0, 5.0)), draw(real(-8.0, 8.0))],
        },
        side=draw(st.sampled_from(["left", "right"])),
        gap=draw(st.sampled_from([0.5, 2.0, 5.0])),
    )
    for w in raw["wire"]:
        del w["tension_kgf"]
        w["tension_N"] = draw(real(490.0, 1275.0))
        w["diameter_mm"] = draw(st.sampled_from([1.5, 1.8, 2.0]))
        w["offset_mm"] = draw(st.sampled_from([0.0, 5.0, -7.0]))
        w["bone_hold"] = draw(st.sampled_from(["pivot", "built in"]))
    aside = real(-10.0, 10.0)
    raw["load"] = [
        axial("light", draw(real(1e-3, 200.0)), offset_mm=[draw(aside), draw(aside)]),
        wrench("push", [draw(aside) for _ in range(3)], [draw(aside) / 5.0 for _ in range(3)]),
    ]
    return raw


@settings(steady, max_examples=150)
@given(st.data())
def test_frames_of_common_practice_are_always_solved(data: st.DataObject) -> None:
    """No false alarm of a mechanism, of instability, or of the checks made on every solution; with
    or without a wire that has lost its tension."""
    raw = plausible(data.draw)
    lost = data.draw(st.sampled_from([None, 0.0, 20.0]))
    if lost is not None:
        raw["wire"][0]["tension_N"] = lost
    result = outcome(raw)
    if isinstance(result, FemError):
        raise result
    assert isinstance(result, (Result, CaseError)), result


def _change(**keys: dict[str, Any]) -> Raw:
    """The small frame with keys of all parts of a kind set."""
    raw = cases.small(loads=[axial("a", 60.0)])
    for kind, values in keys.items():
        raw = every(raw, kind, **values)
    return raw


def _named(kind: str, name: str) -> Raw:
    return edited(cases.small(loads=[axial("a", 60.0)]), lambda r: r[kind][0].update(name=name))


FOUND = {
    # found by these tests, or on the way to them; each was answered wrongly once
    "energy and work at no tension": _change(wire={"tension_kgf": 0.0}),
    "energy and work of one loose wire": edited(
        cases.small(loads=[axial("a", 60.0)]), lambda r: r["wire"][1].update(tension_kgf=0.1)
    ),
    "a load that drowns in rounding": cases.small(loads=[axial("a", 1e-6)]),
    "a load of nothing": cases.small(loads=[axial("a", 0.0), wrench("b")]),
    "two loads of one size": cases.small(loads=[axial("a", 90.0), axial("b", 90.0)]),
    "one rod, start of an onset too far away": edited(
        cases.small(loads=[axial("a", 60.0)]), lambda r: r.update(rod=r["rod"][:1])
    ),
    "rod called like a ring": _named("rod", "ring spacer"),
    "rod called like a bone": _named("rod", "distal fragment rod"),
}


@pytest.mark.parametrize("raw", FOUND.values(), ids=FOUND.keys())
def test_cases_that_were_refused_without_need(raw: Raw) -> None:
    assert isinstance(outcome(raw), Result)


def test_rings_a_hair_apart() -> None:
    raw = cases.demo()
    raw["ring"][1]["level_mm"] = 140.000000001
    assert isinstance(outcome(raw), CaseError)


def test_the_file_says_the_same_as_the_dictionary() -> None:
    """Written as TOML and read back: the same answers to the last digit."""
    for raw in BASES:
        case = case_from_dict(copy.deepcopy(raw))
        again = case_from_text(case_to_toml(case))
        assert tomllib.loads(case_to_toml(case))["ring"][0]["name"] == "R1"
        first, second = (check_with_states(c).result.to_json() for c in (case, again))
        assert first == second
