"""The answer to a tone in words: what it says for the theatre, and its file."""

import json
from dataclasses import replace as changed
from typing import Any

import pytest

from frames import case_from_dict
from frames.casefile import Case
from frames.caution import CAUTION
from frames.construct import construct
from frames.heard_tone import ToneAnswer, tone_answer
from frames.tone_tension import ToneError, heard_leg, leg_tone, tension_from_tone
from frames.tones import leg_tones
from tests.frames import cases


def case_of(**wires: Any) -> Case:
    return case_from_dict(cases.small(wires=wires))


def text(answer: ToneAnswer) -> str:
    return " ".join(" ".join(line.text for line in answer.lines()).split())


def test_the_tone_of_the_case_gives_its_tension() -> None:
    case = case_of()
    place = construct(case)
    tones = leg_tones(place, [w.wire.tension for w in place.wires])
    for i, w in enumerate(place.wires):
        for j, leg in enumerate(("start", "end")):
            answer = tone_answer(case, w.wire.name, leg, float(tones[i, j]))
            assert answer.tension_N == pytest.approx(110.0 * cases.KGF, rel=1e-9)
            assert answer.case_N == pytest.approx(110.0 * cases.KGF, rel=1e-12)
            assert answer.case_Hz == tones[i, j]
            assert answer.ring == w.wire.ring
            assert answer.leg_mm == w.legs[j]


def test_words_of_a_tension() -> None:
    answer = tone_answer(case_of(), "W1", "start", 2110.0)
    said = text(answer)
    assert said.startswith("Wire W1 on ring R1, start leg, heard at 2110 Hz Tension 1079 N ± ")
    assert "(110.0 ± " in said
    assert f"of this, from length ± 1 mm ± {answer.found.from_length_N:.0f} N" in said
    assert f"at their worst at once {answer.found.low_N:.0f} to {answer.found.high_N:.0f} N" in said
    assert "in the case file 1079 N, 2110 Hz" in said
    assert "free to sound 74.0 of 74.0 mm" in said
    assert "Keep it still with a finger" in said
    assert said.endswith(CAUTION)
    assert all(len(line.text) <= 80 for line in answer.lines())


def test_words_when_no_tension_fits() -> None:
    case = case_of()
    low = tone_answer(case, "W1", "start", 500.0)
    assert low.tension_N is None
    silent = f"sounds at {low.found.lowest_Hz:.0f} Hz without any tension"
    assert f"The start leg of wire W1 {silent}; 500 Hz is lower" in low.message
    assert "at most" not in low.message
    near = tone_answer(case, "W1", "start", 0.999 * low.found.lowest_Hz)
    assert f"there is at most {near.found.high_N:.0f} N" in near.message
    high = tone_answer(case, "W1", "start", 5000.0)
    assert high.tension_N is None
    assert "its steel yields at 2290 N" in high.message  # 900 MPa on 2.545 mm²
    for answer in (low, near, high):
        assert "Was it this leg, and its lowest tone?" in text(answer)
        assert "± " not in text(answer).replace(answer.message, "")


def test_options_reach_the_answer() -> None:
    case = case_of()
    options = {
        "listening_error_Hz": 10.0,
        "length_error_mm": 0.5,
        "diameter_error_mm": 0.0,
        "other_leg_N": 700.0,
    }
    answer = tone_answer(case, "W2", "end", 3500.0, free_share=0.7, **options)
    heard = heard_leg(construct(case), "W2", "end", 0.7)
    assert answer.found == tension_from_tone(heard, 3500.0, **options)
    assert (answer.free_share, answer.free_mm) == (0.7, heard.free_mm)
    assert answer.free_mm == pytest.approx(0.7 * answer.leg_mm, rel=1e-12)
    assert answer.case_Hz == leg_tone(heard, answer.case_N)


def test_share_of_the_case_file() -> None:
    asked = tone_answer(case_of(free_share=0.7), "W2", "end", 3500.0)
    assert asked == tone_answer(case_of(), "W2", "end", 3500.0, free_share=0.7)


def test_legs_with_tensions_of_their_own() -> None:
    case = case_of(tension_N=1100.0, end_tension_N=600.0, tension_from="both", grip_N=600.0)
    both = leg_tones(construct(case), [[1100.0, 600.0]] * 4)[0]
    for leg, own, other, hertz in (
        ("start", 1100.0, 600.0, both[0]),
        ("end", 600.0, 1100.0, both[1]),
    ):
        answer = tone_answer(case, "W1", leg, float(hertz), other_leg_N=other)
        assert answer.case_N == own
        assert answer.case_Hz == hertz
        assert answer.tension_N == pytest.approx(own, rel=1e-9)
        assert not answer.notes
        equal = tone_answer(case, "W1", leg, float(hertz))
        assert any("give the other leg's" in note for note in equal.notes)


@pytest.mark.parametrize("held", [{"olive": "start"}, {"grip_N": 50.0}, {"threaded": True}])
def test_a_wire_that_the_bone_holds_is_told(held: dict[str, Any]) -> None:
    notes = tone_answer(case_of(**held), "W1", "start", 2000.0).notes
    assert any("different tensions" in note for note in notes)
    assert not any(
        "different tensions" in note for note in tone_answer(case_of(), "W1", "start", 2000.0).notes
    )


@pytest.mark.parametrize("hertz", [500.0, 2109.0, 5000.0])
def test_file(hertz: float) -> None:
    answer = tone_answer(case_of(), "W1", "start", hertz)
    data = json.loads(json.dumps(answer.to_dict(), allow_nan=False))
    assert data["format"] == "tautring tone"
    assert data["tension_N"] == answer.tension_N
    assert data["uncertainty_N"] == answer.found.uncertainty_N
    assert data["verdict"] == answer.found.verdict
    assert data["message"] == answer.message
    assert data["caution"] == CAUTION
    assert {"heard_Hz", "leg_mm", "free_mm", "case_N", "lowest_Hz", "yield_Hz"} <= data.keys()


def test_answers_do_not_change() -> None:
    answer = tone_answer(case_of(), "W1", "start", 2000.0)
    with pytest.raises(AttributeError):
        answer.heard_Hz = 1.0  # type: ignore[misc]
    assert changed(answer, wire="W2").wire == "W2"


def test_wrong_wire_and_leg() -> None:
    with pytest.raises(ToneError, match='no wire is called "W7"'):
        tone_answer(case_of(), "W7", "start", 2000.0)
    with pytest.raises(ToneError, match="the leg must be"):
        tone_answer(case_of(), "W1", "medial", 2000.0)
