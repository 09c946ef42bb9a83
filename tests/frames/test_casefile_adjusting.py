"""Nut turns, histories, tables in tables; every key is written, changed by path, explained."""

import re
import tomllib

import pytest

from frames.casefile import (
    NutTurn,
    Rod,
    case_from_dict,
    case_from_text,
    case_to_toml,
    replace,
)
from frames.casefile.adjusting import turned_rods
from frames.casefile.problems import CaseError
from frames.casefile.tables import NESTED, REPEATED, SINGLE
from frames.demo import demo_text
from tests.frames.casefile_edits import CALLUS, DEMO, FULL, changed

LEVELS = {"R1": 140.0, "R2": 50.0, "R3": -50.0}


def _rod(*rings: str, at: float = 30.0, thread: str = "M6") -> Rod:
    return Rod(rings=rings, bearing_deg=at, thread=thread)


def test_rods_that_are_meant() -> None:
    rods = (
        _rod("R1", "R2"),
        _rod("R2", "R1", at=150),
        _rod("R3", "R1", "R2", at=270),
        _rod("R1", "R3"),
        Rod(rings=("R1", "R2"), bearings_deg=(60, 90), thread="M8"),
    )
    both = NutTurn(name="n", rings=("R2", "R1"), turns=1)
    assert turned_rods(both, rods, LEVELS) == (0, 1, 2, 4)
    assert turned_rods(NutTurn(name="n", rings=("R1", "R3"), turns=1), rods, LEVELS) == (3,)
    some = NutTurn(name="n", rings=("R1", "R2"), bearings_deg=(-330, 60, 90), turns=1)
    assert turned_rods(some, rods, LEVELS) == (0, 4)
    # the bearing of a strut counts in the ring that is named first
    other = NutTurn(name="n", rings=("R2", "R1"), bearings_deg=(90,), turns=1)
    assert turned_rods(other, rods, LEVELS) == (4,)


def test_how_much_longer_a_rod_becomes() -> None:
    """Coarse pitches: M6 1 mm, M8 1.25 mm, M10 1.5 mm."""
    turn = NutTurn(name="n", rings=("R1", "R2"), turns=-2)
    pitches = {"M6": 1.0, "M8": 1.25, "M10": 1.5}
    for thread, pitch in pitches.items():
        assert turn.lengthen(_rod("R1", "R2", thread=thread)) == -2 * pitch
    bare = Rod(rings=("R1", "R2"), bearing_deg=0, diameter_mm=5)
    with pytest.raises(ValueError, match='nut turn "n": rod R1-R2 at 0° has no thread'):
        turn.lengthen(bare)
    assert NutTurn(name="n", rings=("R1", "R2"), lengthen_mm=0.3).lengthen(bare) == 0.3
    assert turn.when == "after tensioning"


def test_turns_of_other_rods_need_no_thread() -> None:
    turn = {"name": "n", "rings": ["R1", "R2"], "turns": 1, "bearings_deg": [30]}
    rod = {"rings": ["R1", "R2"], "bearing_deg": 150, "diameter_mm": 5}
    case_from_dict(changed(("nut_turn", [turn]), ("rod.1", rod)))


def test_defaults_of_the_model() -> None:
    model = case_from_dict(DEMO).model
    assert (model.wire_steel, model.tensioner_drop_percent, model.load_steps) == ("elastic", 0, 10)
    contact = case_from_dict(changed(("bone.contact", {}))).bone.contact
    assert contact is not None
    assert (contact.friction, contact.points, contact.layer_mm) == (0.3, 12, 1.0)
    assert (contact.obliquity_deg, contact.obliquity_bearing_deg) == (0.0, 0.0)


ALL = SINGLE | REPEATED
INNER = {key: model for inside in NESTED.values() for key, model in inside.items()}


def test_every_key_is_in_the_full_cases() -> None:
    for kind, model in ALL.items():
        parts = [part for raw in (FULL, CALLUS) for part in _parts(raw, kind)]
        assert {key for part in parts for key in part} == set(model.model_fields), kind
    for key, model in INNER.items():
        found = (FULL | CALLUS if key == "callus" else FULL)["bone"][key]
        assert set(found) == set(model.model_fields)


def _parts(raw: dict, kind: str) -> list[dict]:
    return [raw[kind]] if kind in SINGLE else raw[kind]


def test_every_key_is_explained_in_the_demo() -> None:
    text = demo_text()
    for kind, model in (ALL | INNER).items():
        heading = f"[bone.{kind}]" if kind in INNER else f"[{kind}]" if kind in SINGLE else (
            f"[[{kind}]]")  # fmt: skip
        assert f"\n{heading}\n" in text or f"\n# {heading}\n" in text
        for key in model.model_fields:
            assert key in text, f"{kind}: {key}"


def _remarks() -> list[tuple[int, int]]:
    """First line of each key or table that stands in a remark of the demo, and the line after its
    last."""
    lines = [*demo_text().splitlines(), ""]
    found: list[tuple[int, int]] = []
    for number, line in enumerate(lines):
        if found and number < found[-1][1]:
            continue
        if re.match(r"# \[[\[\w.]+\]+$", line):
            end = next(n for n in range(number, len(lines)) if not lines[n].startswith("# "))
            found.append((number, end))
        elif re.match(r"# \w+ = ", line):
            found.append((number, number + 1))
    return found


def test_remarks_are_found() -> None:
    assert len(_remarks()) > 35


@pytest.mark.parametrize(("first", "last"), _remarks())
def test_every_remark_with_a_key_may_be_used(first: int, last: int) -> None:
    """Taken in, it makes a right case, or one that says what else has to change with it."""
    lines = demo_text().splitlines()
    lines[first:last] = [line.removeprefix("# ") for line in lines[first:last]]
    try:
        case_from_text("\n".join(lines))
    except CaseError as error:
        for problem in error.problems:
            assert re.search(
                "exclude each other|goes with|differs from the tension|there is no hole there",
                problem.message,
            ), problem


@pytest.mark.parametrize("raw", [FULL, CALLUS], ids=["contact", "callus"])
def test_written_case_reads_back_equal(raw: dict) -> None:
    case = case_from_dict(raw)
    text = case_to_toml(case)
    assert case_from_text(text) == case
    assert hash(case_from_text(text)) == hash(case)
    written = tomllib.loads(text)
    assert written == raw
    assert type(written["wire"][0]["order"]) is int and written["wire"][1]["threaded"] is True


CHANGES = {
    "bone.contact.friction": 0.1,
    "bone.contact.points": 16,
    "model.load_steps": 3,
    "wire.*.order": 5,
    "wire.b.threaded": False,
    "pin.*.cortices": 2,
    "pin.p.E_MPa": 1e5,
    "wire.a.bolt_torque_Nm": 12,
    "rod.front.bearing_deg": 20,
    "rod.2.bearings_deg": [80, 100],
    "nut_turn.first.lengthen_mm": 0.5,
    "nut_turn.first.bearings_deg": None,
    "history.walk.cycles": 7,
    "history.2.load": "stand",
    "ring.A.halves": "bolted",
}


def test_changes_by_path() -> None:
    new = replace(case_from_dict(FULL), CHANGES)
    assert new.bone.contact is not None
    assert (new.bone.contact.friction, new.bone.contact.points) == (0.1, 16)
    assert new.bone.contact.obliquity_deg == 30.0
    assert [wire.order for wire in new.wire] == [5, 5] and not new.wire[1].threaded
    assert [pin.cortices for pin in new.pin] == [2, 2] and new.pin[0].elastic == (1e5, 0.34)
    assert (new.wire[0].slip_N, new.wire[0].slip) == (None, 1350.0)
    assert (new.rod[0].bearings_deg, new.rod[0].bearing_deg) == (None, 20.0)
    assert (new.rod[1].bearings_deg, new.rod[1].bearing_deg) == ((80.0, 100.0), None)
    assert (new.nut_turn[0].turns, new.nut_turn[0].lengthen_mm) == (None, 0.5)
    assert [(h.load, h.cycles) for h in new.history] == [("walk", 7), ("stand", 2)]
    assert new.ring[0].halves == "bolted"


def test_tables_inside_come_and_go() -> None:
    case = case_from_dict(DEMO)
    touching = replace(case, {"bone.contact": {}})
    assert touching.bone.contact is not None and touching.bone.contact.friction == 0.3
    rough = replace(touching, {"bone.contact.friction": 0.6, "bone.contact.layer_mm": None})
    assert rough.bone.contact is not None and rough.bone.contact.friction == 0.6
    healed = replace(rough, {"bone.callus.E_MPa": 100})
    assert healed.bone.contact is None and healed.bone.callus is not None
    assert replace(healed, {"bone.callus": None}) == case
    assert replace(case, {"bone.callus.nu": None}) == case
    mine = {"E_MPa": 5}
    replace(case, {"bone.callus": mine, "bone.callus.nu": 0.4})
    assert mine == {"E_MPa": 5}


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        ("bone.contact.rough", 1, "bone.contact.rough: unknown key; known here: friction, points, "
         "obliquity_deg, obliquity_bearing_deg, layer_mm"),
        ("bone.gap.friction", 1, "bone.gap.friction: must read like"),
        ("bone.contact.friction.x", 1, "bone.contact.friction.x: must read like"),
        ("model.contact.friction", 1, "model.contact.friction: must read like"),
        ("bone.callus.nu", 0.3, "bone.callus, E_MPa: is missing"),
        ("bone.contact", 3, "bone.contact: must be a table, headed [bone.contact] (got 3)"),
        ("pin.P.order", 3, "pin.P.order: unknown key"),
        ("pin.P.tilt_deg", 3, "pin.P.tilt_deg: there is no pin \"P\""),
        ("wire.W1.order", 1.5, 'wire "W1", order: must be a whole number (got 1.5)'),
    ],
)  # fmt: skip
def test_changes_that_are_refused(path: str, value: object, words: str) -> None:
    with pytest.raises(CaseError) as caught:
        replace(case_from_dict(DEMO), {path: value})
    (line,) = str(caught.value).split("\n")
    assert line.startswith(f"changed case: {words}")
