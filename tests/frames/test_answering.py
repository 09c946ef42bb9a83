"""Answers as files; what was taken for granted."""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from frames.answering import to_csv, to_json
from frames.assumptions import assumed, assumption_lines
from frames.casefile import case_from_dict
from frames.lines import Line
from tests.frames.cases import edited, small


@dataclass(frozen=True)
class Told:
    """An answer with every kind of value."""

    content: dict[str, Any]

    def to_dict(self) -> dict[str, Any]:
        return self.content

    def lines(self) -> Iterator[Line]:
        yield Line("told")


ANSWER = Told(
    {
        "format": "tautring told",
        "version": 1,
        "fits": True,
        "loads": [{"name": "standing", "gap_mm": [1.0, 2.5]}, {"turn_deg": -0.25, "left": None}],
        "limits": {"yield_MPa": 900, "from": "somewhere"},
    }
)


def test_every_number_is_a_row_with_its_place() -> None:
    rows = list(csv.reader(io.StringIO(to_csv(ANSWER))))
    assert rows == [
        ["where", "quantity", "value"],
        ["", "fits", "true"],
        ["loads/standing", "gap_mm_1", "1.0"],
        ["loads/standing", "gap_mm_2", "2.5"],
        ["loads/2", "turn_deg", "-0.25"],
        ["limits", "yield_MPa", "900"],
    ]
    assert to_json(ANSWER).startswith('{\n  "format": "tautring told"')


def test_defaults_left_alone_are_told_once_with_their_number_and_source() -> None:
    case = case_from_dict(small())
    found = {a.key: a for a in assumed(case, "wire", "bone", "pin")}
    assert found["wire.yield_MPa"].parts == len(case.wire) == 4
    assert found["wire.yield_MPa"].value == "900"
    assert found["bone.nu"].source.endswith("from memory")
    assert "bone.contact.friction" not in found


def test_what_the_case_says_is_no_assumption() -> None:
    def own(raw: dict[str, Any]) -> None:
        raw["wire"][0]["yield_MPa"] = 900.0
        raw["bone"]["contact"] = {"points": 12}

    found = {a.key: a for a in assumed(case_from_dict(edited(small(), own)), "wire", "bone")}
    assert found["wire.yield_MPa"].parts == 3
    assert "bone.contact.friction" in found


def test_assumptions_as_text() -> None:
    lines = [line.text for line in assumption_lines(assumed(case_from_dict(small()), "wire"))]
    assert lines[-1].startswith("  wire.yield_MPa = 900 (for 4 parts): cold-drawn")
    assert not list(assumption_lines(()))
